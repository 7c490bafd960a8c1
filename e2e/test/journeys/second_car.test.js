/** An empty shop and a car nobody has looked at, through every page, with the islands at work. */

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { addForm, enter, entries, openCar, pick, picture, typeLook, VIEWS } from "../../lib/shop.js";
import { shoot, sideways } from "../../lib/shots.js";
import { start } from "../../lib/server.js";

let browser, server, page, car;

before(async () => {
  [browser, server] = await Promise.all([launch(), start()]);
  page = await open(browser, { viewport: { width: 1440, height: 900 }, serviceWorkers: "block" });
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** What holds for every page: axe content, nothing off the side, nothing wrong in the console. */
async function sound(name) {
  await page.waitForLoadState();
  await shoot(page, name, async (width) => {
    assert.deepEqual(await sideways(page), [], `${name} at ${width}`);
    await accessible(page, `${name} at ${width}`);
  });
  assert.deepEqual(page.wrongs.splice(0), [], name);
}

test("an empty shop says what to do first", async () => {
  await page.goto(server.url);
  await sound("cars-empty");
  await page.getByRole("link", { name: "First enter the people" }).click();
  await page.waitForURL("**/people");
  await sound("people-empty");
  await enter(page, server.url, "Lead", "lead");
  await enter(page, server.url, "Bench A", "bench");
  await enter(page, server.url, "Bench B", "bench");
  await sound("people");
});

test("a car is opened, and what is wrong with its details is said at the field", async () => {
  await page.goto(`${server.url}/cars/new`);
  await sound("car-new");
  await page.locator("input[name=title]").fill("Second car, invented");
  await page.locator("input[name=year]").fill("nineteen");
  await pick(page.locator("main"), "Lead");
  await page.getByRole("button", { name: "Open this car" }).click();
  await page.locator("#f-year.err").waitFor();
  assert.equal(await page.locator("input[name=title]").inputValue(), "Second car, invented", "what was typed is still there");
  await sound("car-new-wrong");
  car = await openCar(page, server.url, "Second car, invented");
  assert.equal(await entries(page, server.url, car), 1);
});

test("every zone can be reached in some view, and in the list", async () => {
  const drawn = new Set();
  for (const view of VIEWS) {
    await page.goto(`${server.url}${car}?view=${view}`);
    const zones = await page.$$eval(".map a.z", (all) => all.map((one) => decodeURIComponent(one.href.baseVal.split("/zones/")[1])));
    assert.ok(zones.length > 0, `no zone in ${view}`);
    zones.forEach((zone) => drawn.add(zone));
    await sound(`shell-${view}`);
  }
  await page.goto(`${server.url}${car}?view=left&list=all`);
  const listed = await page.$$eval("#list tbody th a", (all) => all.map((one) => decodeURIComponent(new URL(one.href).pathname.split("/zones/")[1])));
  assert.ok(listed.length > 50, `${listed.length} zones listed`);
  assert.equal(new Set(listed).size, listed.length);
  assert.deepEqual(listed.filter((zone) => !drawn.has(zone)), [], "listed but in no view");
  assert.deepEqual([...drawn].filter((zone) => !listed.includes(zone)), [], "drawn but not listed");
});

test("from the outline to a kept look, and the outline is hatched", async () => {
  await page.goto(`${server.url}${car}?view=left`);
  await page.locator("#list tbody th a").first().click();
  await page.waitForURL("**/zones/*");
  await sound("zone-empty");
  const zone = decodeURIComponent(new URL(page.url()).pathname.split("/zones/")[1]);
  await page.getByRole("link", { name: "Add a look" }).click();
  await page.waitForURL("**/add?**");
  const form = page.locator("#form-looked");
  await sound("add");
  assert.equal(await form.locator("select[name=zone]").inputValue(), zone);
  await typeLook(form, { result: "bad", severity: "thin", note: "Moves under the thumb." });
  await form.getByRole("button", { name: "Keep this" }).click();
  await page.locator(".flash", { hasText: "Kept as" }).waitFor();
  await page.locator(".entry", { hasText: "Moves under the thumb." }).waitFor();
  await sound("zone");
  await page.goto(`${server.url}${car}?view=left`);
  await page.locator(`.map a.z.bad[data-zone="${zone}"]`).first().waitFor();
  assert.equal(await entries(page, server.url, car), 2);
});

test("a reading ten times too thick is questioned, and taken right with one press", async () => {
  const form = await addForm(page, server.url, car, "Z01.L", "read", "reading");
  await form.locator("input[name=quantity]").first().check();
  await form.locator("input[name=value]").fill("52");
  await form.locator("select[name=instrument]").selectOption("wall_ultrasonic");
  await form.locator("input[name=place]").fill("640 mm back");
  await pick(form, "Bench A");
  await form.getByRole("button", { name: "Keep this" }).click();
  await page.getByRole("alert").waitFor();
  assert.equal(await page.locator("input[name=value]").inputValue(), "52");
  assert.equal(await page.locator("input[name=place]").inputValue(), "640 mm back");
  await sound("reading-wrong");
  await page.getByRole("button", { name: "Take 0.52" }).click();
  await page.locator(".flash", { hasText: "0.52" }).waitFor();
});

test("a photograph with its place on the outline", async () => {
  const form = await addForm(page, server.url, car, "Z01.L", "photographed", "photograph");
  await form.locator("input[type=file]").setInputFiles(await picture(page));
  await form.locator("figure.photo canvas").waitFor();
  await form.locator("input[name=caption]").fill("Sill front end, splash plate off");
  await form.locator(".map svg").click({ position: { x: 200, y: 150 } });
  await form.locator(".place").waitFor();
  await pick(form, "Bench A");
  await form.getByRole("button", { name: "Keep this" }).click();
  await page.locator(".thumbs img").waitFor();
  assert.ok(await page.locator(".thumbs img").evaluate((image) => image.decode().then(() => image.naturalWidth > 0)));
  await sound("zone-photograph");
});

test("two who change one zone are both heard", async () => {
  const mine = await addForm(page, server.url, car, "Z02.L", "looked", "look");
  await typeLook(mine, { result: "bad", severity: "holed", note: "Mine, typed first.", who: "Bench A" });
  const other = await open(browser, { serviceWorkers: "block" });
  const theirs = await addForm(other, server.url, car, "Z02.L", "looked", "look");
  await typeLook(theirs, { result: "clear", note: "Theirs, kept first.", who: "Bench B" });
  await theirs.getByRole("button", { name: "Keep this" }).click();
  await other.locator(".flash", { hasText: "Kept as" }).waitFor();
  await other.context().close();
  await mine.getByRole("button", { name: "Keep this" }).click();
  await page.getByRole("heading", { name: "Somebody else wrote first" }).waitFor();
  await page.getByText("Theirs, kept first.").waitFor();
  await page.getByText("Mine, typed first.").waitFor();
  await sound("clash");
  await page.locator("main").getByRole("button", { name: "Keep both" }).click();
  await page.locator(".entry", { hasText: "Mine, typed first." }).waitFor();
  await page.locator(".entry", { hasText: "Theirs, kept first." }).waitFor();
});

test("a mistake is superseded, never rubbed out", async () => {
  await page.goto(`${server.url}${car}/zones/Z02.L`);
  const wrong = page.locator(".entry", { hasText: "Theirs, kept first." });
  const seq = (await wrong.locator("a b").first().textContent()).trim();
  await page.goto(`${server.url}${car}/add?corrects=${seq}`);
  const form = page.locator("form[data-queue]");
  await form.locator("textarea[name=note]").fill("Theirs, corrected.");
  await pick(form, "Bench B");
  await sound("correct");
  await form.getByRole("button", { name: "Keep this" }).click();
  await page.locator(".entry.gone", { hasText: "Theirs, kept first." }).waitFor();
  await page.locator(".entry:not(.gone)", { hasText: "Theirs, corrected." }).waitFor();
});

test("coats: not yet, and why", async () => {
  await page.goto(`${server.url}${car}/coats`);
  await sound("coats-empty");
  await page.locator("#climate input[name=air]").fill("18");
  await page.locator("#climate input[name=rh]").fill("70");
  await page.locator("#climate input[name=panel]").fill("15");
  await page.locator("#climate").getByRole("button", { name: /^Ask/ }).click();
  // Dew point 12.4 at 18 and 70 %, so 2.6 above: under the 3 that are needed.
  await page.locator(".yes", { hasText: "Not yet" }).waitFor();
  await sound("coats");
});

test("colour: a measurement comes in and is shown by angle under three lights", async () => {
  await page.goto(`${server.url}${car}/colour`);
  await sound("colour-empty");
  const waves = Array.from({ length: 31 }, (_, n) => 400 + 10 * n);
  const row = (geometry, level) => [geometry, ...waves.map((nm) => (level * (1 + 0.4 * Math.exp(-(((nm - 460) / 40) ** 2)))).toFixed(5))].join(",");
  const csv = [["geometry", ...waves].join(","), row("45as15", 0.5), row("45as25", 0.35), row("45as45", 0.15), row("45as75", 0.08), row("45as110", 0.06)].join("\n");
  const form = page.locator("#import form");
  await form.locator("input[type=file]").setInputFiles({ name: "invented.csv", mimeType: "text/csv", buffer: Buffer.from(csv) });
  await form.locator("input[name=name]").fill("Invented blue");
  await form.locator("input[name=instrument]").fill("multi-angle instrument");
  await pick(form, "Lead");
  await form.getByRole("button", { name: "Import" }).click();
  await page.locator(".light .swatch").first().waitFor();
  await page.waitForLoadState();
  assert.equal(await page.locator(".light").count(), 3);
  assert.equal(await page.locator(".light .swatch").count(), 15);
  await sound("colour");
});

test("the record tells all of it, can be narrowed, and is intact", async () => {
  await page.goto(`${server.url}${car}/record`);
  await sound("record");
  const all = await page.locator(".entry").count();
  await page.locator("select[name=kind]").selectOption("photographed");
  await page.locator(".filters").getByRole("button", { name: "Show" }).click();
  await page.waitForURL("**/record?**kind=photographed**");
  assert.equal(await page.locator(".entry").count(), 1);
  assert.ok(all > 5);
  assert.equal(await page.locator("select[name=who]").inputValue(), "", "the remembered person is no filter");
  await page.goto(`${server.url}${car}/verify`);
  await page.locator("main", { hasText: /intact/i }).waitFor();
  await sound("verify");
  await page.goto(server.url);
  await sound("cars");
});

test("the printed sheet has neither bar nor buttons", async () => {
  await page.goto(`${server.url}${car}?view=left`);
  await page.emulateMedia({ media: "print" });
  for (const hidden of [".bar", ".views", ".top"]) assert.equal(await page.locator(hidden).isVisible(), false, hidden);
  assert.equal(await page.locator(".map svg").isVisible(), true);
  await page.emulateMedia({ media: "screen" });
});
