/** Everything of the bench with scripts off. */

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { launch, open } from "../../lib/browser.js";
import { addForm, enter, entries, openCar, pick, picture, typeLook } from "../../lib/shop.js";
import { start } from "../../lib/server.js";

let browser, server, page, drawing, car;

before(async () => {
  [browser, server] = await Promise.all([launch(), start()]);
  page = await open(browser, { javaScriptEnabled: false });
  drawing = await open(browser); // only to draw a picture to send
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const keep = (form) => form.getByRole("button", { name: "Keep this" }).click();

test("people and a car", async () => {
  await enter(page, server.url, "Lead", "lead");
  await enter(page, server.url, "Bench A", "bench");
  car = await openCar(page, server.url, "Car without scripts, invented");
});

test("a look, a reading, a photograph, opened, made good", async () => {
  let form = await addForm(page, server.url, car, "Z01.R", "looked", "look");
  await typeLook(form, { result: "clear", note: "Dry." });
  await keep(form);
  await page.locator(".flash", { hasText: "Kept as" }).waitFor();

  form = await addForm(page, server.url, car, "Z01.R", "read", "reading");
  await form.locator("input[name=quantity]").first().check();
  await form.locator("input[name=value]").fill("0.61");
  await form.locator("select[name=instrument]").selectOption("wall_ultrasonic");
  await pick(form, "Bench A");
  await keep(form);
  await page.locator(".flash", { hasText: "0.61" }).waitFor();

  form = await addForm(page, server.url, car, "Z01.R", "photographed", "photograph");
  await form.locator("input[type=file]").setInputFiles(await picture(drawing));
  await form.locator("input[name=caption]").fill("Right sill");
  await pick(form, "Bench A");
  await keep(form);
  await page.locator(".thumbs img").waitFor();

  form = await addForm(page, server.url, car, "Z02.R", "opened", "opened");
  await form.locator("input[name=found][value=holed]").check();
  await form.locator("input[name=through]").fill("Outer skin off");
  await pick(form, "Bench A");
  await keep(form);
  await page.locator(".flash", { hasText: "Kept as" }).waitFor();

  form = await addForm(page, server.url, car, "Z02.R", "made_good", "made-good");
  await form.locator("textarea[name=note]").fill("0.9 mm let in.");
  await pick(form, "Bench A");
  await keep(form);
  await page.locator(".flash", { hasText: "Kept as" }).waitFor();
  assert.equal(await entries(page, server.url, car), 6);
});

test("what was wrong is said, and everything typed is still there", async () => {
  const form = await addForm(page, server.url, car, "Z03.R", "looked", "look");
  await form.locator("textarea[name=note]").fill("No choice made.");
  await form.locator("input[name=how][value=eye]").check();
  await pick(form, "Bench A");
  await keep(form);
  await page.getByRole("alert").waitFor();
  assert.equal(await page.locator("#form-looked textarea[name=note]").inputValue(), "No choice made.");
  assert.ok(await page.locator("#form-looked input[name=how][value=eye]").isChecked());
  assert.equal(await page.locator("#form-looked select[name=zone]").inputValue(), "Z03.R");
});

test("a mark is moved by pressing on the outline", async () => {
  await page.goto(`${server.url}${car}/record`);
  await page.locator(".entry", { hasText: "Right sill" }).locator("a").first().click();
  await page.getByRole("link", { name: "Move the mark" }).click();
  await page.waitForURL("**/entries/*/mark");
  await pick(page.locator("main form"), "Bench A");
  await page.locator("input[type=image]").click({ position: { x: 150, y: 90 } });
  await page.waitForURL("**/entries/*");
  assert.equal(await entries(page, server.url, car), 7);
});
