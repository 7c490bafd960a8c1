/** The islands of a page other than the queue: who, outline, mark and picture. */

import assert from "node:assert/strict";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { waits } from "../../lib/queue.js";
import { addPage, sheet, standIn } from "../../lib/stand_in.js";
import { until } from "../../lib/until.js";

/** Two large zones with a thin one between them, as doors and sill are. */
const SHELL = sheet(
  "Shell",
  `<h1>Shell</h1><figure class="map"><svg viewBox="0 0 872 300" role="group" aria-label="Left side">
<a class="z none" href="/zone/door" aria-label="door, left: not looked"><path d="M300 100H520V220H300Z"/></a>
<a class="z bad" href="/zone/sill" aria-label="sill, left: bad"><path d="M258 222H560V236H258Z" fill="url(#x)"/></a>
<a class="z clear" href="/zone/wing" aria-label="wing, left: clear"><path d="M40 100H290V220H40Z"/></a>
<a class="z clear on" href="/zone/quarter" aria-label="quarter, left: clear"><path d="M600 100H840V220H600Z"/></a>
<path class="d" d="M20 90H860V240H20Z"/></svg></figure>`,
);
const ZONES = Object.fromEntries(["door", "sill", "wing", "quarter"].map((zone) => [`/zone/${zone}`, sheet(zone, `<h1>${zone}</h1>`)]));

let browser, server, page;

before(async () => (browser = await launch()));
after(() => browser.close());
beforeEach(async () => {
  server = await standIn({ "/add": addPage, "/shell": SHELL, "/kept": sheet("Shell", "<h1>Shell</h1>"), ...ZONES });
  page = await open(browser, { hasTouch: true, isMobile: true });
});
afterEach(async () => {
  await page.context().close();
  await server.stop();
  assert.deepEqual(page.wrongs, []);
});

/** A place of the drawing, in its own coordinates, on the screen; panned into view first. */
async function place(x, y) {
  await page.evaluate(() => document.fonts.ready.then(() => undefined)); // nothing above it grows any more
  return page.locator(".map svg").first().evaluate(
    (svg, [x, y]) => {
      const pan = svg.closest(".map");
      const at = () => new DOMPoint(x, y).matrixTransform(svg.getScreenCTM());
      pan.scrollLeft += at().x - innerWidth / 2;
      scrollBy(0, at().y - innerHeight / 2);
      return { x: at().x, y: at().y };
    },
    [x, y],
  );
}

test("who is writing is remembered on the device, in every form, and after a form was emptied", async () => {
  await page.goto(`${server.plainUrl}/add`);
  await page.locator("#look").getByText("Bench B").click();
  const picked = () => page.locator("input[name=who]:checked").evaluateAll((all) => all.map(({ value }) => value));
  assert.deepEqual(await picked(), ["p2", "p2"]);
  await page.reload();
  assert.deepEqual(await picked(), ["p2", "p2"]);
  await page.context().setOffline(true);
  await page.locator("#look").getByRole("button", { name: "Keep this" }).click();
  await waits(page, 1);
  // The form was emptied before the strip was drawn; the person comes back right after.
  await until("the person is picked again in both forms", async () => (await picked()).join() === "p2,p2");
});

test("a touch beside a small zone means that zone; inside a large one it means the large one", async () => {
  for (const [x, y, zone] of [[400, 250, "sill"], [400, 215, "sill"], [400, 150, "door"], [700, 215, "quarter"]]) {
    await page.goto(`${server.plainUrl}/shell`);
    const at = await place(x, y);
    await page.touchscreen.tap(at.x, at.y);
    await page.waitForURL(`**/zone/${zone}`);
  }
});

test("a mouse is taken at its point", async () => {
  await page.goto(`${server.plainUrl}/shell`);
  const at = await place(400, 215);
  await page.mouse.click(at.x, at.y);
  await page.waitForURL("**/zone/door");
});

test("arrow keys go from zone to zone", async () => {
  await page.goto(`${server.plainUrl}/shell`);
  await page.locator("a.z").first().focus();
  const focused = () => page.evaluate(() => document.activeElement.getAttribute("href"));
  for (const [key, zone] of [["ArrowLeft", "wing"], ["ArrowRight", "door"], ["ArrowDown", "sill"], ["ArrowUp", "door"], ["ArrowRight", "quarter"], ["ArrowRight", "quarter"]]) {
    await page.keyboard.press(key);
    assert.equal(await focused(), `/zone/${zone}`, key);
  }
  await page.keyboard.press("Enter");
  await page.waitForURL("**/zone/quarter");
});

test("on a phone the drawing begins where the chosen zone is", async () => {
  await page.goto(`${server.plainUrl}/shell`);
  const box = await page.locator("a.z.on").boundingBox();
  assert.ok(box.x >= 0 && box.x + box.width <= 390, `the chosen zone stands from ${box.x} to ${box.x + box.width}`);
});

test("the outline in the photograph form takes a mark by touch, and gives it up again", async () => {
  await page.goto(`${server.plainUrl}/add`);
  const values = () => page.evaluate(() => ["mark_view", "mark_u", "mark_v"].map((name) => document.querySelector(`[name=${name}]`).value));
  const at = await place(400, 200);
  await page.touchscreen.tap(at.x, at.y);
  await page.locator("g > .place").waitFor();
  const [view, u, v] = await values();
  assert.equal(view, "left");
  // u = u0 + x * mm per px, v = v1 - y * mm per px; a touch is whole pixels, so within one of them.
  assert.ok(Math.abs(Number(u) - (-900 + 400 * 5)) <= 5, u);
  assert.ok(Math.abs(Number(v) - (1500 - 200 * 5)) <= 5, v);
  await page.getByRole("button", { name: "Take the mark away" }).click();
  assert.deepEqual(await values(), ["", "", ""]);
  assert.equal(await page.locator(".place").count(), 0);
});

test("the mark can be set and moved from the keyboard, and stays on the drawing", async () => {
  await page.goto(`${server.plainUrl}/add`);
  const values = () => page.evaluate(() => ["mark_u", "mark_v"].map((name) => Number(document.querySelector(`[name=${name}]`).value)));
  await page.locator(".map svg").focus();
  await page.keyboard.press("Enter");
  assert.deepEqual(await values(), [-900 + 436 * 5, 1500 - 150 * 5]);
  await page.keyboard.press("ArrowRight");
  await page.keyboard.press("Shift+ArrowUp");
  assert.deepEqual(await values(), [-900 + 436 * 5 + 20, 1500 - 150 * 5 + 100]);
  for (let step = 0; step < 30; step++) await page.keyboard.press("Shift+ArrowUp");
  assert.deepEqual((await values())[1], 1500);
  await accessible(page);
});

test("a chosen photograph is shown at once, without blob addresses", async () => {
  await page.goto(`${server.plainUrl}/add`);
  const buffer = Buffer.from(
    await page.evaluate(() => {
      const canvas = Object.assign(document.createElement("canvas"), { width: 40, height: 30 });
      canvas.getContext("2d").fillRect(0, 0, 20, 30);
      return canvas.toDataURL("image/png").split(",")[1];
    }),
    "base64",
  );
  await page.locator("#file").setInputFiles({ name: "a.png", mimeType: "image/png", buffer });
  await page.locator("figure.photo canvas").waitFor();
  const [left, right] = await page.locator("figure.photo canvas").evaluate((canvas) => {
    const alpha = (x) => canvas.getContext("2d").getImageData(x, 10, 1, 1).data[3];
    return [alpha(10), alpha(canvas.width - 10)];
  });
  assert.deepEqual([left, right], [255, 0]);
  await page.locator("#file").setInputFiles({ name: "a.heic", mimeType: "image/heic", buffer: Buffer.from("no picture") });
  await page.locator("figure.photo", { hasText: "cannot show it" }).waitFor();
});
