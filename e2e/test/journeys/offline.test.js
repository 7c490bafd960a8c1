/** A phone that loses the signal: nothing is lost, and the record gets each entry once. */

import assert from "node:assert/strict";
import { after, before, beforeEach, afterEach, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { guarded, held } from "../../lib/held.js";
import { noneWaits, waits } from "../../lib/queue.js";
import { addForm, enter, entries, openCar, pick, picture, typeLook } from "../../lib/shop.js";
import { shoot } from "../../lib/shots.js";
import { start } from "../../lib/server.js";

let browser, server, page, car;

before(async () => {
  [browser, server] = await Promise.all([launch(), start()]);
  const first = await open(browser);
  await enter(first, server.url, "Lead", "lead");
  await enter(first, server.url, "Bench A", "bench");
  await enter(first, server.url, "Bench B", "bench");
  car = await openCar(first, server.url, "Car without signal, invented");
  await first.context().close();
});
after(async () => {
  await browser?.close();
  await server?.stop();
});
beforeEach(async () => (page = await open(browser, { serviceWorkers: "block" })));
afterEach(() => page.context().close());

const keep = (form) => form.getByRole("button", { name: "Keep this" }).click();

test("two looks and a photograph of one zone wait on the open page, and go once, in order", async () => {
  const before = await entries(page, server.url, car);
  const form = await addForm(page, server.url, car, "Z01.L", "looked", "look");
  const shot = await picture(page);
  await page.context().setOffline(true);
  await typeLook(form, { result: "clear", note: "First, by eye.", how: "eye" });
  await keep(form);
  await waits(page, 1);
  await typeLook(form, { result: "bad", severity: "thin", note: "Second, with the probe." });
  await keep(form);
  await waits(page, 2);
  const photo = page.locator("#form-photographed");
  if (!(await photo.isVisible())) await page.locator("#photograph > summary").click();
  await photo.locator("select[name=zone]").selectOption("Z01.L");
  await photo.locator("input[type=file]").setInputFiles(shot);
  await photo.locator("input[name=caption]").fill("No signal here");
  await photo.locator("input[name=side]").first().check();
  await pick(photo, "Bench A");
  await keep(photo);
  await waits(page, 3);
  assert.equal(await page.locator("#unsent li", { hasText: "outer sill" }).count(), 3, "each says its zone");
  await accessible(page);
  await shoot(page, "unsent");
  await page.context().setOffline(false);
  await noneWaits(page);
  assert.equal(await page.locator("#unsent .refused").count(), 0, "one's own entries do not clash with each other");
  assert.equal(await entries(page, server.url, car), before + 3);
  await page.goto(`${server.url}${car}/zones/Z01.L`);
  const written = await page.locator("ol .entry").allTextContents();
  const at = (words) => written.findIndex((text) => text.includes(words));
  assert.ok(at("Second, with the probe.") < at("First, by eye."), "latest first, so the second stands above the first");
  await page.locator(".thumbs img").waitFor();
});

test("an answer that got lost does not make a second entry", async () => {
  const before = await entries(page, server.url, car);
  const form = await addForm(page, server.url, car, "Z02.L", "looked", "look");
  await typeLook(form, { result: "clear", note: "Sent, unheard." });
  let lost = 0;
  await page.route("**/entries", async (route) => {
    await route.fetch(); // it arrives and is kept
    lost += 1;
    await route.abort("connectionreset"); // but the answer never comes back
  });
  await keep(form);
  await waits(page, 1);
  assert.ok(lost > 0);
  await page.unroute("**/entries");
  await page.getByRole("button", { name: "Try now" }).click();
  await noneWaits(page);
  assert.equal(await entries(page, server.url, car), before + 1);
});

test("what somebody else changed meanwhile is shown, and both are kept", async () => {
  const form = await addForm(page, server.url, car, "Z03.L", "looked", "look");
  await page.context().setOffline(true);
  await typeLook(form, { result: "bad", severity: "holed", note: "Typed without a signal." });
  await keep(form);
  await waits(page, 1);
  const other = await open(browser, { serviceWorkers: "block" });
  const theirs = await addForm(other, server.url, car, "Z03.L", "looked", "look");
  await typeLook(theirs, { result: "clear", note: "Kept meanwhile.", who: "Bench B" });
  await keep(theirs);
  await other.locator(".flash", { hasText: "Kept as" }).waitFor();
  await other.context().close();
  await page.context().setOffline(false);
  await page.locator("#unsent .refused", { hasText: "Bench B" }).waitFor();
  await page.getByRole("button", { name: "Open it and put it right" }).click();
  await page.getByRole("heading", { name: "Somebody else wrote first" }).waitFor();
  await page.locator("main").getByRole("button", { name: "Keep both" }).click();
  await page.locator(".entry", { hasText: "Typed without a signal." }).waitFor();
  await noneWaits(page);
});

test("where the address allows it, a seen page comes back without a signal", async () => {
  const phone = await open(browser);
  await phone.goto(`${server.url}${car}`);
  await guarded(phone);
  await phone.goto(`${server.url}${car}`);
  await held(phone, car);
  await phone.goto(`${server.url}/`);
  await phone.context().setOffline(true);
  await phone.goto(`${server.url}${car}`);
  await phone.locator("main > .flash", { hasText: "Kept copy from" }).waitFor();
  await phone.locator(".map svg").waitFor();
  await phone.context().close();
});
