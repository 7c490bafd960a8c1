/** As soon as somebody has a passphrase, every device signs in. */

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { noneWaits, waits } from "../../lib/queue.js";
import { addForm, enter, entries, openCar, typeLook } from "../../lib/shop.js";
import { shoot, sideways } from "../../lib/shots.js";
import { start } from "../../lib/server.js";

const PASSPHRASE = "four words that differ, invented";
let browser, server, page, car;

before(async () => {
  [browser, server] = await Promise.all([launch(), start()]);
  page = await open(browser, { serviceWorkers: "block" });
  await enter(page, server.url, "Bench A", "bench");
  await enter(page, server.url, "Lead", "lead");
  car = await openCar(page, server.url, "Car behind a door, invented");
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

async function signIn(passphrase) {
  await page.locator("input[type=password]").fill(passphrase);
  await page.getByRole("button", { name: "Sign in" }).click();
}

test("a page typed before waits at the door, and goes after signing in", async () => {
  const form = await addForm(page, server.url, car, "Z01.L", "looked", "look");
  await typeLook(form, { result: "clear", note: "Typed before the door was shut." });
  const before = await entries(page, server.url, car);
  const lead = await open(browser, { serviceWorkers: "block" });
  await lead.goto(`${server.url}/people`);
  await lead.locator("summary", { hasText: "Lead" }).click();
  const own = lead.locator("details[open] form");
  await own.locator("input[name=passphrase]").fill(PASSPHRASE);
  await own.getByRole("button", { name: "Keep" }).click();
  await lead.waitForURL("**/sign-in**");
  await lead.context().close();

  // With no session the form cannot be kept, and a native post would lose it: it has to wait here.
  await form.getByRole("button", { name: "Keep this" }).click();
  await waits(page, 1);
  await page.goto(`${server.url}${car}`);
  await page.waitForURL("**/sign-in**");
  assert.deepEqual(await sideways(page), []);
  await shoot(page, "sign-in", () => accessible(page));
  await signIn("not this one at all");
  await page.getByRole("alert").waitFor();
  await signIn(PASSPHRASE);
  await page.getByRole("heading", { name: "Shell" }).waitFor();
  await noneWaits(page);
  assert.equal(await entries(page, server.url, car), before + 1);
});

test("signing out shuts the door", async () => {
  await page.goto(server.url);
  await page.getByRole("button", { name: "Sign out" }).click();
  await page.waitForURL("**/sign-in**");
  await page.goto(`${server.url}${car}`);
  await page.waitForURL("**/sign-in**");
  assert.equal((await page.request.get(`${server.url}${car}/record`, { maxRedirects: 0 })).status(), 303);
});
