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

/** Both drawings of the first panel on the page, pixel by pixel: the canvas, and the picture it stands for. */
async function both() {
  await sight.locator("canvas.panel-canvas[data-ready]").first().waitFor();
  return sight.evaluate(async () => {
    const canvas = document.querySelector("canvas.panel-canvas");
    const sheet = new OffscreenCanvas(canvas.width, canvas.height).getContext("2d", { willReadFrequently: true });
    sheet.drawImage(canvas, 0, 0);
    const drawn = sheet.getImageData(0, 0, canvas.width, canvas.height).data;
    const sent = await fetch(document.querySelector("figure.panel img").src);
    const picture = await createImageBitmap(await sent.blob(), { colorSpaceConversion: "none" });
    sheet.drawImage(picture, 0, 0);
    const got = sheet.getImageData(0, 0, canvas.width, canvas.height).data;
    const size = [canvas.width, canvas.height];
    return { size, same: [picture.width, picture.height], drawn: [...drawn], got: [...got] };
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
    const { size, same, drawn, got } = await both();
    assert.deepEqual(size, same);
    const [width, height] = size;
    const at = (all, x, y) => all.slice(4 * (y * width + x), 4 * (y * width + x) + 3);
    const grey = (codes) => codes.every((code) => code === 0x77);
    let [pixels, largest, sum] = [0, 0, 0];
    for (let y = 2; y < height - 2; y += 2) {
      for (let x = 2; x < width - 2; x += 2) {
        // Over the panel, away from its outline.
        const around = [[0, 0], [2, 0], [-2, 0], [0, 2], [0, -2]].map(([i, j]) => at(got, x + i, y + j));
        if (around.some(grey)) continue;
        const off = apart(at(drawn, x, y), at(got, x, y));
        largest = Math.max(largest, off);
        sum += off;
        pixels += 1;
      }
    }
    t.diagnostic(`${pixels} pixels, CIEDE2000 ${(sum / pixels).toFixed(3)} on average, ${largest.toFixed(2)} at most`);
    assert.ok(pixels > 20_000, `${pixels} pixels of the panel`);
    assert.ok(largest <= 1, `${largest}`);
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
