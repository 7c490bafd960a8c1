/**
 * A measured paint on the turning panel: the browser's own drawing against the picture that the shop's
 * computer sends, and the page where the browser cannot draw or scripts are off.
 */

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { fileURLToPath } from "node:url";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { apart, ciede2000 } from "../../lib/difference.js";
import { smallTargets } from "../../lib/look.js";
import { start } from "../../lib/server.js";
import { enter, openCar, pick } from "../../lib/shop.js";
import { shoot, sideways } from "../../lib/shots.js";

const LIGHTS = ["sun", "overcast", "lamp", "tube"];

let browser, server, sight, plain, car, seq;

before(async () => {
  [browser, server] = await Promise.all([launch(), start()]);
  sight = await open(browser, { viewport: { width: 1440, height: 900 }, serviceWorkers: "block" });
  plain = await open(browser, { viewport: { width: 390, height: 844 }, javaScriptEnabled: false, hasTouch: true, isMobile: true });
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/**
 * Both drawings of the first panel on the page at points strewn over it, away from its outline: codes of the canvas,
 * then those of the picture it stands for.
 */
async function both() {
  await sight.locator("canvas.panel-canvas[data-ready]").first().waitFor();
  return sight.evaluate(async () => {
    const canvas = document.querySelector("canvas.panel-canvas");
    const { width, height } = canvas;
    const read = (image) => {
      const sheet = new OffscreenCanvas(width, height).getContext("2d", { willReadFrequently: true });
      sheet.drawImage(image, 0, 0);
      return sheet.getImageData(0, 0, width, height).data;
    };
    const answer = await fetch(document.querySelector("figure.panel img").src);
    const picture = await createImageBitmap(await answer.blob(), { colorSpaceConversion: "none" });
    const [drawn, sent] = [read(canvas), read(picture)];
    const at = (all, x, y) => [...all.slice(4 * (y * width + x), 4 * (y * width + x) + 3)];
    const beside = (x, y) => at(sent, x, y).every((code) => code === 0x77);
    const pairs = [];
    for (let y = 2; y < height - 2; y += 5) {
      for (let x = 2; x < width - 2; x += 5) {
        if ([[0, 0], [2, 0], [-2, 0], [0, 2], [0, -2]].some(([i, j]) => beside(x + i, y + j))) continue;
        pairs.push([at(drawn, x, y), at(sent, x, y)]);
      }
    }
    return { size: [width, height], same: [picture.width, picture.height], pairs };
  });
}

/** Sharma, Wu and Dalal 2005: the first pair of their test data, and one whose hue lies across 0. */
test("the difference used here is CIEDE2000", () => {
  assert.ok(Math.abs(ciede2000([50, 2.6772, -79.7751], [50, 0, -82.7485]) - 2.0425) < 1e-4);
  assert.ok(Math.abs(ciede2000([50, 2.5, 0], [61, -5, 29]) - 22.8977) < 1e-4);
  assert.equal(apart([12, 200, 33], [12, 200, 33]), 0);
});

test("a paint is measured", async () => {
  await enter(sight, server.url, "Lead", "lead");
  car = await openCar(sight, server.url, "Car with a colour, invented");
  await sight.goto(`${server.url}${car}/colour`);
  const form = sight.locator("#import form");
  await form.locator("input[type=file]").setInputFiles(fileURLToPath(new URL("../../../demo/colour/donor.csv", import.meta.url)));
  await form.locator("input[name=name]").fill("Donor, invented");
  await pick(form, "Lead");
  await form.getByRole("button", { name: "Import" }).click();
  await sight.locator(".light .swatch").first().waitFor();
  const csv = await sight.locator('a[href$=".csv"]').first().getAttribute("href");
  seq = /(\d+)\.csv$/.exec(csv)[1];
});

for (const light of LIGHTS) {
  test(`the browser draws what the shop's computer sends: ${light}`, async (t) => {
    await sight.goto(`${server.url}${car}/colour/panel?what=m${seq}&light=${light}&turn=20&tilt=5`);
    const { size, same, pairs } = await both();
    assert.deepEqual(size, same);
    assert.ok(pairs.length > 5_000, `${pairs.length} points of the panel`);
    const off = pairs.map(([drawn, sent]) => apart(drawn, sent));
    const steps = pairs.map(([drawn, sent]) => Math.max(...drawn.map((code, c) => Math.abs(code - sent[c]))));
    const mean = off.reduce((sum, one) => sum + one) / off.length;
    t.diagnostic(`${off.length} points, CIEDE2000 ${mean.toFixed(3)} on average, ${Math.max(...off).toFixed(2)} at most`);
    // In the darkest places one step of one of the 255 codes, which is a rounding, can be more than 1 by itself.
    for (const [n, one] of off.entries()) assert.ok(one <= 1 || steps[n] <= 1, `${pairs[n].join(" and ")}: ${one}`);
    assert.ok(mean < 0.2, `${mean}`);
  });
}

test("it turns, and says what it is not", async () => {
  await sight.goto(`${server.url}${car}/colour/panel?what=m${seq}&light=sun&turn=0`);
  const canvas = sight.locator("canvas.panel-canvas");
  await canvas.first().waitFor();
  await canvas.first().focus();
  await sight.keyboard.press("ArrowRight");
  await sight.locator("canvas.panel-canvas[data-ready]").first().waitFor();
  assert.equal(await sight.locator("#turn").inputValue(), "5");
  await sight.getByText("Not a proof: spray a card").first().waitFor();
  await shoot(sight, "panel", async (width) => {
    assert.deepEqual(await sideways(sight), [], `panel at ${width}`);
    await accessible(sight, `panel at ${width}`);
    assert.deepEqual(await smallTargets(sight), [], `panel at ${width}: targets under 48 px`);
  });
});

test("without scripts the same form draws another picture", async () => {
  await plain.goto(`${server.url}${car}/colour/panel?what=m${seq}&light=sun&turn=0`);
  const picture = plain.locator("figure.panel img").first();
  const before = await picture.getAttribute("src");
  await plain.goto(`${server.url}${car}/colour/panel?what=m${seq}&light=lamp&turn=30`);
  const later = await picture.getAttribute("src");
  assert.notEqual(before, later);
  const answer = await plain.request.get(new URL(later, server.url).href);
  assert.equal(answer.headers()["content-type"], "image/png");
  assert.deepEqual([...(await answer.body()).subarray(1, 4)], [...Buffer.from("PNG")]);
  assert.deepEqual(await sideways(plain), []);
});
