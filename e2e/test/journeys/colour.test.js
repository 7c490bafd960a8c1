/**
 * A painter from sprayed panels to a batch: on a phone with scripts off, at the scale with a tablet. What the
 * painter sees is opened again in `sight`, with scripts on, because axe is a script.
 */

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fileURLToPath } from "node:url";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { smallTargets, tinted } from "../../lib/look.js";
import { enter, openCar, pick } from "../../lib/shop.js";
import { shoot, sideways } from "../../lib/shots.js";
import { start } from "../../lib/server.js";

const PLAIN = { hasTouch: true, isMobile: true, javaScriptEnabled: false };
const PHONE = { ...PLAIN, viewport: { width: 390, height: 844 } };
const TABLET = { ...PLAIN, viewport: { width: 820, height: 1180 } };
const FILES = ["toners", "panels", "measurements", "substrate"];
/** Toners are learned, and recipes found, by a machine of CI that does other things besides. */
const PATIENCE = { timeout: 300_000 };
/** The add figure of a step: px high on a tablet and on a phone, as the look wants it. */
const FIGURE_PX = [[TABLET.viewport, 176], [PHONE.viewport, 101]];
/** The least height of what wet gloves touch, in px. */
const GLOVE_PX = 80;
const RECIPE = "Donor without violet, invented";

let browser, server, phone, tablet, sight, car, recipe, pourPage;

before(async () => {
  [browser, server] = await Promise.all([launch(), start()]);
  phone = await open(browser, PHONE);
  tablet = await open(browser, TABLET);
  sight = await open(browser, { viewport: { width: 1440, height: 900 }, serviceWorkers: "block" });
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

const demo = (path) => fileURLToPath(new URL(`../../../demo/${path}`, import.meta.url));

/** What holds for every page of colour, as `sight` has it open at every width. */
async function seen(name) {
  await sight.waitForLoadState();
  await shoot(sight, name, async (width) => {
    assert.deepEqual(await sideways(sight), [], `${name} at ${width}`);
    await accessible(sight, `${name} at ${width}`);
    assert.deepEqual(await smallTargets(sight), [], `${name} at ${width}: targets under 48 px`);
  });
  assert.deepEqual(await tinted(sight), [], `${name}: nothing has a hue but its swatches`);
  assert.deepEqual(sight.wrongs.splice(0), [], name);
}

/** The page on which the painter is, soundly drawn. */
async function sound(page, name) {
  assert.deepEqual(await sideways(page), [], `${name} as the painter has it`);
  await sight.goto(page.url());
  await seen(name);
}

const heading = (page, name) => page.getByRole("heading", { level: 1, name, exact: true });

/** The two large figures of a step: what to add, and what the scale will read. */
const figures = async (page) => (await page.locator(".nums .big").allTextContents()).map((text) => Number(/^[\d.]+/.exec(text)[0]));

/** Where the painter is in the pour: "Step 2 of 7". */
const place = (page) => page.locator(".row.between b").textContent();

/** Presses a link of a step, and resolves once the next screen of the pour is there. */
async function press(page, words) {
  const from = page.url();
  await page.getByRole("link", { name: words, exact: true }).click();
  await page.waitForURL((url) => url.href !== from);
}

test("four files become toners, on a page that leads on by itself, with scripts and without", async () => {
  await enter(sight, server.url, "Lead", "lead");
  await enter(sight, server.url, "Painter", "painter");
  car = await openCar(sight, server.url, "Car to be painted, invented");
  await phone.goto(`${server.url}${car}/colour/toners`);
  await sound(phone, "toners-empty");
  for (const name of FILES) await phone.locator(`#learn input[name=${name}]`).setInputFiles(demo(`toners/${name}.csv`));
  let loads = 0;
  phone.on("response", (response) => (loads += /\/work\/[^/]+$/.test(response.url()) && response.request().method() === "GET" ? 1 : 0));
  await phone.getByRole("button", { name: "Learn the toners" }).tap();
  await phone.waitForURL("**/colour/work/*");
  await sight.goto(phone.url());
  await heading(sight, "Learning the toners").waitFor();
  // Without a signal it stays as it is for as long as it is looked at.
  await sight.context().setOffline(true);
  await seen("work");
  await sight.context().setOffline(false);
  await heading(phone, "Toners, not kept yet").waitFor(PATIENCE);
  assert.ok(loads > 1, "the phone asked again by itself");
  await heading(sight, "Toners, not kept yet").waitFor(PATIENCE);
  await phone.locator(".says", { hasText: "16 toners learned from 90 panels" }).waitFor();
  assert.equal(await phone.locator(".toners .swatch").count(), 16);
  await sound(phone, "toners-learned");
});

test("the shelf is kept, once somebody says who keeps it", async () => {
  const form = phone.locator("#keep form");
  await form.locator("input[name=name]").fill("Toners of this winter");
  await pick(form, "Painter");
  await form.getByRole("button", { name: "Keep these toners" }).tap();
  await phone.waitForURL("**/colour/toners?kept=*");
  await phone.locator(".flash", { hasText: "Kept as" }).waitFor();
  await phone.locator(".facts", { hasText: "Toners of this winter" }).waitFor();
  await sound(phone, "toners");
});

test("a target is imported and changed, and its search can be held still", async () => {
  await phone.goto(`${server.url}${car}/colour`);
  const form = phone.locator("#import form");
  await form.locator("input[type=file]").setInputFiles(demo("colour/donor.csv"));
  await form.locator("input[name=name]").fill("Donor, invented");
  await pick(form, "Painter");
  await form.getByRole("button", { name: "Import" }).tap();
  await phone.locator(".light .swatch").first().waitFor();
  await phone.getByRole("link", { name: "Look for a recipe" }).tap();
  await phone.waitForURL("**/colour/recipes?target=*");
  await phone.locator("summary", { hasText: "Wanted other than measured" }).tap();
  await phone.locator("[name=dh_75]").fill("50");
  await phone.locator("[name=dh_110]").fill("78");
  await sound(phone, "recipes-ask");
  await phone.locator("#search").getByRole("button", { name: "Look for recipes" }).tap();
  await phone.waitForURL("**/colour/work/*");
  await sight.goto(`${phone.url()}?still=1`);
  assert.equal(await sight.locator("[data-again]").count(), 0);
});

test("recipes are found, each as split pairs with its numbers", async () => {
  await heading(phone, "Recipes, not kept yet").waitFor(PATIENCE);
  const found = phone.locator(".recipes > div");
  assert.ok((await found.count()) > 1, "more than one to choose from");
  const pairs = found.first().locator(".light").first().locator(".pair > li");
  assert.equal(await pairs.count(), 6, "the target was measured at six angles");
  for (const pair of await pairs.all()) {
    assert.equal(await pair.locator("svg rect").count(), 2);
    const shown = await pair.locator("b").textContent();
    assert.match(shown, /^\d+\.\d$/);
    assert.ok((await pair.locator("svg").getAttribute("aria-label")).endsWith(`difference ${shown}`));
  }
  assert.equal(await found.first().locator(".light").count(), 3);
  await found.first().locator("table", { hasText: "binder" }).waitFor();
  await sound(phone, "recipes-found");
});

test("one is kept, and has its own page", async () => {
  const form = phone.locator("#keep form");
  assert.ok(await form.locator("input[name=recipe][value='0']").isChecked(), "the nearest stands ready");
  await form.locator("input[name=name]").fill(RECIPE);
  await pick(form, "Painter");
  await form.getByRole("button", { name: "Keep this recipe" }).tap();
  await phone.waitForURL("**/colour/recipes/*?kept=*");
  recipe = new URL(phone.url()).pathname;
  await heading(phone, RECIPE).waitFor();
  await sound(phone, "recipe");
  await phone.goto(`${server.url}${car}/colour/recipes`);
  await phone.locator(".rows li", { hasText: RECIPE }).waitFor();
  await sound(phone, "recipes");
});

test("it is worked out for the scale", async () => {
  await tablet.goto(`${server.url}${recipe}`);
  await tablet.getByRole("link", { name: "Pour it" }).tap();
  await tablet.waitForURL("**/colour/pour?recipe=*");
  await sound(tablet, "pour-ask");
  await tablet.locator("input[name=amount]").fill("500");
  await tablet.locator("input[name=holds]").fill("1500");
  await tablet.locator("#weigh").getByRole("button", { name: "Work it out" }).tap();
  await tablet.waitForURL("**amount=500**");
  assert.match(await tablet.locator(".says").textContent(), /: (500\.\d|499\.\d) g in \d+ steps\./);
  await sound(tablet, "pour-sheet");
});

test("one step a screen, read from two metres, pressed with wet gloves", async () => {
  await tablet.getByRole("link", { name: "Begin, one step a screen" }).tap();
  await tablet.waitForURL("**at=step**");
  pourPage = tablet.url();
  await sight.goto(pourPage);
  for (const [viewport, least] of FIGURE_PX) {
    await sight.setViewportSize(viewport);
    await sight.evaluate(() => document.fonts.ready.then(() => undefined));
    const shown = await sight.evaluate(() => ({
      figure: parseFloat(getComputedStyle(document.querySelector(".nums .big")).fontSize),
      page: document.documentElement.scrollHeight,
      gloves: [...document.querySelectorAll(".go > *")].map((one) => one.getBoundingClientRect().height),
    }));
    const where = `at ${viewport.width} by ${viewport.height}`;
    assert.ok(shown.figure >= least, `the figure is ${shown.figure} px ${where}`);
    assert.ok(shown.page <= viewport.height, `one step is ${shown.page} px high ${where}`);
    assert.equal(shown.gloves.length, 3);
    for (const height of shown.gloves) assert.ok(height >= GLOVE_PX, `${height} px are little for gloves ${where}`);
  }
  await seen("pour-step");
  await press(sight, "Dark");
  await seen("pour-step-dark");
});

test("poured as told, the next step counts on from it", async () => {
  const [first, shows] = await figures(tablet);
  assert.equal(first, shows, "the first step begins at zero");
  await press(tablet, "Poured");
  assert.match(await place(tablet), /^Step 2 of /);
  const [second, total] = await figures(tablet);
  assert.ok(Math.abs(total - first - second) < 0.06, `${first} and ${second} make ${total}`);
});

test("too much goes in, and is brought back", async () => {
  const [add, total] = await figures(tablet);
  await press(tablet, "Too much went in");
  await sound(tablet, "pour-over");
  await tablet.locator("input[name=reads]").fill((total - add - 1).toFixed(1));
  await tablet.getByRole("button", { name: "How to bring it back" }).tap();
  await tablet.locator(".field.err", { hasText: "The scale cannot read" }).waitFor();
  await tablet.locator("input[name=reads]").fill((total + add / 2).toFixed(1));
  await tablet.getByRole("button", { name: "How to bring it back" }).tap();
  await heading(tablet, "It can be brought back").waitFor();
  assert.ok((await tablet.locator(".weigh tr").count()) > 0);
  await sound(tablet, "pour-remedy");
  await press(tablet, "Bring it back");
  await tablet.getByText("To bring it back.").waitFor();
});

test("all is in, and the batch is kept", async () => {
  let steps = 2;
  for (; await tablet.locator(".nums").count(); steps++) {
    assert.ok(steps < 40, "the pour never ends");
    await press(tablet, "Poured");
  }
  await heading(tablet, "All is in").waitFor();
  assert.equal(await tablet.locator(".weigh tbody tr").count(), steps);
  await sound(tablet, "pour-done");
  const form = tablet.locator("form#keep");
  await form.locator("input[name=part][value=bonnet]").check();
  await form.locator("input[name=retained]").fill("Shelf 2 by the scale");
  await pick(form, "Painter");
  await form.getByRole("button", { name: "Keep this batch" }).tap();
  await tablet.waitForURL("**/colour/batches?kept=*");
  const batch = tablet.locator("section", { has: tablet.getByRole("heading", { name: "Batch 1", exact: true }) });
  await batch.getByText("Shelf 2 by the scale").waitFor();
  await batch.getByText("No card was sprayed from it.").waitFor();
  await sound(tablet, "batches-first");
});

test("two cards of the batch are imported", async () => {
  await phone.goto(`${server.url}${recipe}`);
  await phone.getByRole("link", { name: "Its cards" }).tap();
  await phone.waitForURL("**/colour/cards?recipe=*");
  await sound(phone, "cards-empty");
  for (const n of [1, 2]) {
    const form = phone.locator("#card-form");
    await form.locator("input[type=file]").setInputFiles(demo(`colour/card-${n}.csv`));
    await form.locator("select[name=batch]").selectOption({ index: 1 });
    await form.locator("input[name=name]").fill(`Card ${n}`);
    await form.locator("input[name=film_um]").fill("26,5");
    await form.locator("input[name=gun]").fill("1.3 tip, 1.8 bar, 180 mm");
    await pick(form, "Painter");
    await form.getByRole("button", { name: "Import" }).tap();
    await phone.locator("section > h2", { hasText: `Card ${n}` }).waitFor();
  }
  assert.match(await phone.locator(".says").textContent(), /2 cards, the nearest \(Card \d\) \d+\.\d from what is wanted\./);
  const card = phone.locator("section", { has: phone.getByRole("heading", { name: "Card 1", exact: true }) });
  assert.equal(await card.locator(".light").first().locator(".pair svg").count(), 6);
  await card.getByRole("link", { name: "batch 1" }).waitFor();
  await sound(phone, "cards");
});

test("the correction is shown: first the gun, then the toners, then what goes into the pot", async () => {
  const form = phone.locator("#ask-form");
  assert.equal(await form.locator("input[name=card]:checked").count(), 2);
  await form.locator("input[name=pot]").fill("400");
  await form.getByRole("button", { name: "Work out the correction" }).tap();
  await phone.getByRole("heading", { name: "What the cards say" }).waitFor(PATIENCE);
  for (const part of ["First the gun", "Then the toners", "Into the pot"]) await phone.getByRole("heading", { name: part }).waitFor();
  await phone.locator("#correction").getByText("is to be expected, if the gun does what it did.").waitFor();
  await sound(phone, "cards-correction");
});

test("the corrected recipe is kept after the first, and goes on to the same pot", async () => {
  const form = phone.locator("form#keep");
  await pick(form, "Painter");
  await form.getByRole("button", { name: "Keep the corrected recipe" }).tap();
  await phone.waitForURL("**/colour/pour?recipe=*");
  await phone.locator(".flash", { hasText: "Kept as" }).waitFor();
  assert.match(await phone.locator(".says").first().textContent(), /into the pot of batch 1\./);
  assert.equal(await phone.locator("input[name=amount]").inputValue(), "400");
  await sound(phone, "pour-pot");
  await phone.goto(`${server.url}${recipe}`);
  await phone.locator("ol.rows li", { hasText: `${RECIPE}, corrected` }).waitFor();
});

test("batches say what went where, with its cards", async () => {
  await phone.goto(`${server.url}${car}/colour/batches`);
  await phone.locator("tr", { hasText: "Bonnet" }).getByRole("link", { name: "batch 1" }).waitFor();
  const batch = phone.locator("section", { has: phone.getByRole("heading", { name: "Batch 1", exact: true }) });
  for (const name of ["Card 1", "Card 2"]) await batch.locator(".entry", { hasText: name }).waitFor();
  await sound(phone, "batches");
  assert.deepEqual([...phone.wrongs, ...tablet.wrongs], []);
});
