/** The brief's sliders: their value in words, and what they do shown when one is let go. */

import assert from "node:assert/strict";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { smallTargets } from "../../lib/look.js";
import { lit, meshBytes, patch, sphereBytes } from "../../lib/panel.js";
import { sideways } from "../../lib/shots.js";
import { sheet, standIn } from "../../lib/stand_in.js";
import { until } from "../../lib/until.js";

let browser, server, page, asked, hold, working;

const query = (href) => new URL(href).searchParams;

/** The page as the shop's computer would write it for an address. */
function brief(href) {
  const fields = query(href);
  const light = Number(fields.get("light") ?? 0);
  const words = light ? `${Math.abs(light)} ${light < 0 ? "darker" : "lighter"}` : "as the donor";
  const form = `<form data-brief action="/brief" class="stack"><input type="hidden" name="donor" value="m3">
<div class="field"><label for="l75">Lightness</label><output for="l75">${words}</output>
<input id="l75" type="range" name="light" min="-20" max="20" step="1" value="${light}" data-low-word="darker" data-high-word="lighter" data-none-word="as the donor"></div>
<div class="field"><label for="h75">Hue</label><output for="h75">0%</output>
<input id="h75" type="range" name="hue" min="0" max="1" step="0.01" value="${fields.get("hue") ?? 0}" data-none-word="none of it" data-high-word="of it" data-unit="%" data-factor="100"></div>
<label class="pick"><input type="checkbox" name="keep" value="face"${fields.has("keep") ? " checked" : ""}><span><b>Keep the face</b></span></label>
<div class="field"><label for="why">Why</label><textarea id="why" name="why"></textarea></div><button>Show it</button></form>`;
  const reach = working > 0 ? `<div data-again="0.05"><p id="reach">At work, ${working--} to go.</p></div>` : `<p id="reach">Worked out.</p>`;
  const panel = `<figure class="panel" data-panel data-mesh="/mesh.bin" data-sphere="/sphere.bin?light=${light}" data-turn="0" data-tilt="0"><img src="/ui/mark.svg" width="96" height="54" alt="The wish"></figure>`;
  const shown = `<div data-brief-shown><p id="shown">Lightness ${light}, ${fields.get("why") || "no reason"}</p><p data-brief-said>The wish is ${words}.</p>
<a id="inside" class="touch" href="/brief">From the start</a>${reach}${panel}</div>`;
  return sheet("Brief", `<h1>Brief</h1>${form}${shown}`, { ground: "grey" });
}

before(async () => {
  browser = await launch();
  server = await standIn({ "/brief": brief });
});
after(async () => {
  await browser?.close();
  await server?.stop();
});
beforeEach(async () => {
  working = 0;
  asked = [];
  hold = undefined;
  page = await open(browser);
  await page.route(/mesh\.bin/, (route) => route.fulfill({ body: meshBytes(patch(9, 7)) }));
  await page.route(/sphere\.bin/, (route) => route.fulfill({ body: sphereBytes(lit()) }));
  await page.route(/\/brief\?/, async (route) => {
    const href = route.request().url();
    asked.push(Object.fromEntries(query(href)));
    await hold?.(href);
    await route.fallback().catch(() => {}); // it was given up in the meantime
  });
  await page.goto(`${server.plainUrl}/brief`);
});
afterEach(async () => {
  assert.deepEqual(page.wrongs, []);
  await page.context().close();
});

/** Sets a slider as a hand does: many inputs, then one change. */
async function slide(id, ...values) {
  await page.locator(id).evaluate((input, values) => {
    for (const value of values) {
      input.value = value;
      input.dispatchEvent(new Event("input", { bubbles: true }));
    }
    input.dispatchEvent(new Event("change", { bubbles: true }));
  }, values);
}

const shown = (text) => page.locator("#shown", { hasText: text }).waitFor();
const said = (id) => page.locator(`output[for=${id}]`).textContent();

test("a slider says its value in words while it moves", async () => {
  assert.equal(await said("h75"), "none of it");
  await page.locator("#l75").focus();
  for (const [key, words] of [["ArrowRight", "1 lighter"], ["ArrowLeft", "as the donor"], ["ArrowLeft", "1 darker"]]) {
    await page.keyboard.press(key);
    assert.equal(await said("l75"), words);
    assert.equal(await page.locator("#l75").getAttribute("aria-valuetext"), words);
  }
  await slide("#h75", 0.07);
  assert.equal(await said("h75"), "7% of it");
  await accessible(page);
  assert.deepEqual(await smallTargets(page), []);
  assert.deepEqual(await sideways(page), []);
});

test("let go, it is shown in place: the form's own question, the focus kept, the address too, said politely", async () => {
  await page.locator("#why").fill("too violet");
  await page.locator("#l75").focus();
  await page.evaluate(() => (globalThis.same = true));
  await slide("#l75", 3, 7, 12);
  await shown("Lightness 12, too violet");
  assert.deepEqual(asked, [{ donor: "m3", light: "12", hue: "0", why: "too violet" }], "one question for one letting go");
  assert.equal(await page.evaluate(() => document.activeElement.id), "l75");
  assert.equal(new URL(page.url()).search, "?donor=m3&light=12&hue=0&why=too+violet");
  assert.ok(await page.evaluate(() => globalThis.same), "the page was loaded anew");
  assert.equal(await page.locator("[data-brief-says][role=status]").textContent(), "The wish is 12 lighter.");
  assert.equal(await page.locator("[data-brief-shown]").getAttribute("aria-busy"), null);
  // A box is let go of too; typing is not.
  await page.getByLabel("Keep the face").check();
  await until("the box is asked for", () => asked.at(-1).keep === "face");
  // A panel in the new part turns as one that was there from the start.
  await page.locator("[data-brief-shown] canvas[data-ready]").waitFor();
});

test("of several answers the last question's is shown, however they come", async () => {
  let go;
  const slow = new Promise((resolve) => (go = resolve));
  hold = (href) => (query(href).get("light") === "5" ? slow : undefined);
  await slide("#l75", 5);
  await until("the first is asked", () => asked.length === 1);
  await slide("#l75", -8);
  await shown("Lightness -8");
  go();
  await slide("#h75", 0.5); // one more round, after which the slow answer would have come
  await until("all three are asked", () => asked.length === 3);
  await page.locator("[data-brief-says]", { hasText: "The wish is 8 darker." }).waitFor();
  await shown("Lightness -8");
  assert.equal(query(page.url()).get("hue"), "0.5");
});

test("focus inside what is replaced comes back to the same place", async () => {
  await page.locator("#inside").focus();
  await slide("#l75", 4);
  await shown("Lightness 4");
  assert.equal(await page.evaluate(() => document.activeElement.id), "inside");
});

test("work in the new part is followed in its place until it is done, without a load", async () => {
  await page.evaluate(() => (globalThis.same = true));
  working = 3;
  await slide("#l75", 6);
  await shown("Lightness 6");
  await page.locator("#reach", { hasText: "Worked out." }).waitFor();
  assert.ok(await page.evaluate(() => globalThis.same), "the page was loaded anew");
  assert.ok(asked.length >= 4 && asked.every(({ light }) => light === "6"));
  assert.equal(await page.locator("#l75").inputValue(), "6");
});

test("no answer: said where it is read, nothing lost, and the button still asks", async () => {
  await page.route(/\/brief\?/, (route) => route.abort());
  await slide("#l75", 9);
  await page.locator("[data-brief-says]", { hasText: "did not answer" }).waitFor();
  assert.equal(await said("l75"), "9 lighter");
  await page.unroute(/\/brief\?/);
  await page.getByRole("button", { name: "Show it" }).click();
  await shown("Lightness 9");
});

test("an answer that is another page, as after signing out, is opened as one", async () => {
  await page.route(/\/brief\?/, (route) => route.fulfill({ body: sheet("Sign in", "<h1>Sign in first</h1>"), contentType: "text/html" }));
  await slide("#l75", 2);
  await page.getByRole("heading", { name: "Sign in first" }).waitFor();
});

test("without scripts the form's button shows it", async () => {
  const plain = await open(browser, { javaScriptEnabled: false });
  await plain.goto(`${server.plainUrl}/brief`);
  await plain.locator("#l75").focus();
  await plain.keyboard.press("ArrowRight");
  await plain.getByRole("button", { name: "Show it" }).click();
  await plain.locator("#shown", { hasText: "Lightness 1," }).waitFor();
  await plain.context().close();
});
