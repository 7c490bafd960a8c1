/** The turning panel: every pixel is the written look-up, and where it cannot turn the picture stays. */

import assert from "node:assert/strict";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { smallTargets, tinted } from "../../lib/look.js";
import { lit, meshBytes, patch, picture, sphereBytes } from "../../lib/panel.js";
import { shoot, sideways } from "../../lib/shots.js";
import { sheet, standIn } from "../../lib/stand_in.js";
import { until } from "../../lib/until.js";

const [WIDTH, HEIGHT] = [960, 540];
/** Of 255: what is rounded to whole codes may fall either way, and the browser works in single precision. */
const ONE_LEVEL = 1;
const POINTS = 50;
/** Over so many frames their rate is taken. */
const COUNTED = 120;

const MESH = patch();
const GLINTS = [
  { toward: [0.3, 0.5, 0.8], sharpness: 3000, rgb: [9, 8, 7] },
  { toward: [-0.6, 0.1, 0.7], sharpness: 20, rgb: [6, 4, 5] },
  // From behind the panel's right edge, where Fresnel's share has begun to rise.
  { toward: [0.9, 0.1, -0.4], sharpness: 10, rgb: [5, 5, 4] },
];
const LIGHTS = {
  soft: lit(),
  sun: lit({ phase: 1.3, glints: GLINTS }),
  past: lit({ phase: 0.4, excess: 0.6 }),
};

const figure = ({ sphere = "sun", right, turn = 20, tilt = 0, more = "", width = WIDTH, height = HEIGHT } = {}) =>
  `<figure class="panel" data-panel data-mesh="/cars/1/colour/panel/mesh.bin" data-sphere="/sphere.bin?what=${sphere}"${right ? ` data-sphere-right="/sphere.bin?what=${right}"` : ""}
data-turn="${turn}" data-tilt="${tilt}"${more}><img src="/panel.png" width="${width}" height="${height}" alt="Invented paint on a curved panel">
<figcaption>Invented. Not a proof: spray a card. Texture is not shown.</figcaption></figure>`;

const CONTROLS = `<form class="panel-controls tray" data-panel-controls action="/panels"><input type="hidden" name="what" value="m1">
<div class="field"><label for="turn">Turn</label><output for="turn">20° to the right</output><input id="turn" type="range" name="turn" min="-70" max="70" value="20"
data-low-word="to the left" data-high-word="to the right" data-none-word="straight on" data-unit="°"></div>
<div class="field"><label for="tilt">Tilt</label><output for="tilt">level</output><input id="tilt" type="range" name="tilt" min="-25" max="25" value="0"
data-low-word="up" data-high-word="down" data-none-word="level" data-unit="°"></div>
<label class="pick"><input type="checkbox" name="mark" value="1"><span><b>Mark what this screen cannot show</b></span></label>
<p class="row"><button type="button" data-panel-spin hidden>Turn slowly by itself</button><button data-panel-still>Show</button></p></form>`;

const grey = (main) => sheet("Panel", `<h1>On a panel</h1>${main}<p id="below">Below.</p>`, { ground: "grey" });
const PAGES = {
  "/lone": grey(figure()),
  "/lone-held": grey(figure({ turn: -15, tilt: 8 })),
  "/split": grey(figure({ sphere: "soft", right: "sun" })),
  "/marked": grey(figure({ sphere: "past", more: " data-mark" })),
  "/panels": grey(`<div class="panels">${figure()}${figure({ sphere: "soft" })}${figure({ sphere: "past" })}${figure({ sphere: "soft", right: "past" })}</div>${CONTROLS}`),
  "/one": grey(`<div class="panels">${figure({ sphere: "past" })}</div>${CONTROLS}`),
  "/small": grey(`<div class="panels">${figure({ width: 640, height: 360 })}</div>${CONTROLS}`),
  "/broken": grey(`${figure({ sphere: "broken" })}${CONTROLS}`),
  "/none": grey("<p>No panel here.</p>"),
};

let browser, server, page, fetched;

before(async () => {
  browser = await launch();
  server = await standIn(PAGES);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});
beforeEach(() => begin());
afterEach(async () => {
  assert.deepEqual(page.wrongs, []);
  await page.context().close();
});

/** A page with the panel's data behind it, which the stand-in has not. */
async function begin(options = {}) {
  await page?.context().close();
  page = await open(browser, { viewport: { width: 1440, height: 900 }, ...options });
  fetched = [];
  page.on("request", (request) => fetched.push(new URL(request.url()).pathname));
  const answer = (route, body) => route.fulfill({ body, contentType: "application/octet-stream" });
  await page.route(/mesh\.bin/, (route) => answer(route, meshBytes(MESH)));
  const blank = `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${WIDTH} ${HEIGHT}"></svg>`;
  await page.route(/panel\.png/, (route) => route.fulfill({ body: blank, contentType: "image/svg+xml" }));
  await page.route(/sphere\.bin/, (route) => {
    const what = new URL(route.request().url()).searchParams.get("what");
    return answer(route, what === "broken" ? sphereBytes(LIGHTS.soft).subarray(0, 900) : sphereBytes(LIGHTS[what]));
  });
}

const canvas = (at = 0) => page.locator("figure.panel canvas").nth(at);

/** Opens a page and waits until every panel is drawn. */
async function drawn(path) {
  await page.goto(server.plainUrl + path);
  await ready();
}

async function ready() {
  const all = await page.locator("figure.panel").count();
  await until("all panels are drawn", async () => (await page.locator("figure.panel canvas[data-ready]").count()) === all);
}

/** The codes of pixels, each `[column, row]`. */
const codes = (points, at = 0) =>
  canvas(at).evaluate(
    (shown, points) => {
      const copy = Object.assign(document.createElement("canvas"), { width: shown.width, height: shown.height });
      const ink = copy.getContext("2d", { willReadFrequently: true });
      ink.drawImage(shown, 0, 0);
      return points.map(([x, y]) => [...ink.getImageData(x, y, 1, 1).data.slice(0, 3)]);
    },
    points,
  );

/** Pixels strewn evenly (the golden ratio's steps) over the panel, away from its edges. */
function strewn(wanted, { width = WIDTH, height = HEIGHT, when = () => true, count = POINTS } = {}) {
  const points = [];
  for (let n = 0; points.length < count && n < 100_000; n++) {
    const point = [Math.floor(width * ((n * 0.754877666) % 1)), Math.floor(height * ((n * 0.569840296) % 1))];
    if (when(...point) && wanted.inside(...point)) points.push(point);
  }
  assert.equal(points.length, count, "too little of the panel is in the picture");
  return points;
}

async function same(wanted, points, at = 0) {
  let worst = 0;
  for (const [n, seen] of (await codes(points, at)).entries()) {
    const { codes: want } = wanted.pixel(...points[n]);
    const off = Math.max(...want.map((one, c) => Math.abs(one - seen[c])));
    assert.ok(off <= ONE_LEVEL, `at ${points[n]}: ${seen} is shown, ${want.map((one) => one.toFixed(2))} is right`);
    worst = Math.max(worst, off);
  }
  return worst;
}

/** Two ways of holding it, each with how many pixels are wanted in the mirror image of each lamp. */
for (const [path, turn, tilt, counts] of [["/lone", 20, 0, [15, POINTS, POINTS]], ["/lone-held", -15, 8, [15, POINTS, 0]]]) {
  test(`${POINTS} pixels at turn ${turn}, tilt ${tilt} are the look-up worked out here from the same numbers`, async (t) => {
    await drawn(path);
    assert.deepEqual(await canvas().evaluate(({ width, height }) => [width, height]), [WIDTH, HEIGHT]);
    const wanted = picture(MESH, LIGHTS.sun, { turn, tilt, width: WIDTH, height: HEIGHT });
    t.diagnostic(`largest difference: ${(await same(wanted, strewn(wanted))).toFixed(2)} levels of 255`);
    // Where each mirror image stands: without it this would not be the same look-up.
    for (const [lamp, count] of counts.entries()) {
      const lamps = LIGHTS.sun.lamps.filter((_, n) => n !== lamp);
      const without = picture(MESH, { ...LIGHTS.sun, lamps }, { turn, tilt, width: WIDTH, height: HEIGHT });
      const plain = (x, y) => wanted.pixel(x, y).codes.every((one, c) => one - without.pixel(x, y).codes[c] < 10);
      await same(wanted, strewn(wanted, { when: (x, y) => !plain(x, y), count }));
    }
    assert.deepEqual(await codes([[0, 0], [WIDTH - 1, HEIGHT - 1]]), [[0x77, 0x77, 0x77], [0x77, 0x77, 0x77]]);
  });
}

test("split down the middle: either half its own paint, and the seam touches", async () => {
  await drawn("/split");
  const wanted = picture(MESH, LIGHTS.soft, { right: LIGHTS.sun, turn: 20, width: WIDTH, height: HEIGHT });
  await same(wanted, strewn(wanted, { when: (x) => x < WIDTH / 2 }));
  await same(wanted, strewn(wanted, { when: (x) => x >= WIDTH / 2 }));
  const rows = [150, 200, 260, 300, 340].filter((row) => wanted.inside(WIDTH / 2, row));
  assert.ok(rows.length >= 3);
  const seam = rows.flatMap((row) => [[WIDTH / 2 - 1, row], [WIDTH / 2, row]]);
  await same(wanted, seam);
});

test("what the screen cannot show is a fine checker, by request", async () => {
  await drawn("/marked");
  const wanted = picture(MESH, LIGHTS.past, { turn: 20, width: WIDTH, height: HEIGHT });
  const near = (x, y) => [[0, 0], [1, 0], [-1, 0], [0, 1], [0, -1]].map(([i, j]) => wanted.pixel(x + i, y + j).shown);
  const past = strewn(wanted, { when: (x, y) => near(x, y).every((one) => !one) });
  for (const [n, seen] of (await codes(past)).entries()) {
    const [x, y] = past[n];
    const tone = (Math.floor(x / 2) + Math.floor(y / 2)) % 2 ? 255 : 0;
    assert.deepEqual(seen, [tone, tone, tone], `at ${x}, ${y}`);
  }
  await same(wanted, strewn(wanted, { when: (x, y) => near(x, y).every((one) => one) }));
});

test("the mark is set and taken away with its box, on every panel", async () => {
  await drawn("/one");
  const wanted = picture(MESH, LIGHTS.past, { turn: 20, width: WIDTH, height: HEIGHT });
  const past = strewn(wanted, { when: (x, y) => !wanted.pixel(x, y).shown });
  await same(wanted, past); // unmarked: clamped
  await page.getByLabel("Mark what this screen cannot show").check();
  await ready();
  const tones = new Set((await codes(past)).flat());
  assert.deepEqual([...tones].sort(), [0, 255]);
  await page.getByLabel("Mark what this screen cannot show").uncheck();
  await ready();
  await same(wanted, past);
});

test("arrow keys turn and tilt, and stop at the ends of the sliders, which follow in words", async () => {
  await drawn("/panels");
  await canvas().focus();
  for (const key of ["ArrowRight", "ArrowRight", "ArrowUp", "ArrowLeft"]) await page.keyboard.press(key);
  await ready();
  const values = () => page.$$eval("#turn, #tilt", (all) => all.map(({ value }) => value));
  assert.deepEqual(await values(), ["25", "-5"]);
  assert.deepEqual(await page.locator("output").allTextContents(), ["25° to the right", "5° up"]);
  assert.equal(await page.locator("#turn").getAttribute("aria-valuetext"), "25° to the right");
  assert.equal(await canvas().getAttribute("aria-label"), "Invented paint on a curved panel, turned 25° to the right, 5° up");
  for (const [at, light] of [[0, LIGHTS.sun], [1, LIGHTS.soft], [2, LIGHTS.past]]) {
    const wanted = picture(MESH, light, { turn: 25, tilt: -5, width: WIDTH, height: HEIGHT });
    await same(wanted, strewn(wanted), at);
  }
  for (let press = 0; press < 20; press++) await page.keyboard.press("ArrowRight");
  await ready();
  assert.deepEqual(await values(), ["70", "-5"]);
});

test("a slider turns every panel; a drag turns them and the sliders follow", async () => {
  await drawn("/panels");
  await page.locator("#turn").fill("-40");
  await ready();
  const wanted = picture(MESH, LIGHTS.soft, { turn: -40, width: WIDTH, height: HEIGHT });
  await same(wanted, strewn(wanted), 1);
  await canvas().scrollIntoViewIfNeeded();
  const box = await canvas().boundingBox();
  const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
  await page.mouse.move(x, y);
  await page.mouse.down();
  await page.mouse.move(x + box.width / 4, y, { steps: 5 });
  await page.mouse.up();
  await page.mouse.move(x, y); // no longer held
  await ready();
  // A quarter of the width is 35 degrees.
  assert.equal(await page.locator("#turn").inputValue(), "-5");
  assert.equal(await page.locator("output").first().textContent(), "5° to the left");
});

test("a finger across turns the panel; a finger down scrolls the page", async () => {
  await begin({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
  await drawn("/panels");
  const fingers = await page.context().newCDPSession(page);
  const box = await canvas().boundingBox();
  const swipe = async (byX, byY) => {
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    const touch = (type, at) => fingers.send("Input.dispatchTouchEvent", { type, touchPoints: at ? [{ x: at[0], y: at[1] }] : [] });
    await touch("touchStart", [x, y]);
    for (let step = 1; step <= 8; step++) await touch("touchMove", [x + (byX * step) / 8, y + (byY * step) / 8]);
    await touch("touchEnd");
  };
  await swipe(-120, 0);
  await until("the panel has turned", async () => Number(await page.locator("#turn").inputValue()) < -5);
  assert.equal(await page.evaluate(() => scrollY), 0);
  const before = await page.locator("#turn").inputValue();
  await swipe(0, -160);
  await until("the page has scrolled", () => page.evaluate(() => scrollY > 60));
  assert.equal(await page.locator("#turn").inputValue(), before);
});

test("the canvas takes the picture's place without a jump", async () => {
  let go;
  const held = new Promise((resolve) => (go = resolve));
  await page.route(/mesh\.bin/, async (route) => {
    await held;
    await route.fallback();
  });
  await page.goto(`${server.plainUrl}/panels`);
  const below = () => page.locator("#below").boundingBox();
  await page.evaluate(() => document.fonts.ready.then(() => undefined));
  await page.locator("[data-panel-spin]").waitFor(); // the island is there, its data is not
  const picture = [await page.locator("figure.panel img").first().boundingBox(), await below()];
  go();
  await ready();
  assert.deepEqual([await canvas().boundingBox(), await below()], picture);
});

test("it turns by itself only when asked, until told to hold still or out of sight", async (t) => {
  await drawn("/small");
  const frames = async () => Number(await canvas().getAttribute("data-frames"));
  const button = page.locator("[data-panel-spin]");
  // At rest nothing is drawn: two frames of the browser pass without one of the panel.
  const two = () => page.evaluate(() => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go))));
  const rest = await frames();
  await two();
  assert.equal(await frames(), rest);
  await button.click();
  assert.equal(await button.textContent(), "Hold still");
  const [start, from] = [Date.now(), await frames()];
  await until("it turns", async () => (await frames()) - from >= COUNTED);
  const rate = ((await frames()) - from) / ((Date.now() - start) / 1000);
  t.diagnostic(`${rate.toFixed(1)} frames a second at 640 x 360, drawn in software`);
  await button.click();
  await ready();
  assert.equal(await button.textContent(), "Turn slowly by itself");
  const still = await frames();
  await two();
  assert.equal(await frames(), still);
  const held = Number(await page.locator("#turn").inputValue());
  assert.notEqual(held, 20, "it has not turned");
  // At whole degrees again, so that a sent picture of the same angle is the same.
  const wanted = picture(MESH, LIGHTS.sun, { turn: held, width: 640, height: 360 });
  await same(wanted, strewn(wanted, { width: 640, height: 360 }));
  await button.click();
  await page.setViewportSize({ width: 1440, height: 200 });
  await page.evaluate(() => scrollTo(0, document.documentElement.scrollHeight));
  await until("it holds still out of sight", async () => (await button.textContent()) === "Turn slowly by itself");
});

test("a finer screen is given more pixels where it shows more, and at most twice", async () => {
  await begin({ deviceScaleFactor: 3 });
  await drawn("/lone");
  assert.deepEqual(await canvas().evaluate(({ width, height }) => [width, height]), [1920, 1080]);
  const wanted = picture(MESH, LIGHTS.sun, { turn: 20, width: 1920, height: 1080 });
  await same(wanted, strewn(wanted, { width: 1920, height: 1080 }));
});

test("a browser without WebGL keeps the picture, says so, and the form goes on working", async () => {
  await page.addInitScript(() => {
    const given = OffscreenCanvas.prototype.getContext;
    OffscreenCanvas.prototype.getContext = function (kind, ...more) {
      return kind.startsWith("webgl") ? null : given.call(this, kind, ...more);
    };
  });
  await page.goto(`${server.plainUrl}/panels`);
  await page.getByText("This browser cannot turn the panel; the picture is drawn by the shop's computer.").waitFor();
  assert.equal(await page.locator(".panel-says").count(), 1);
  assert.equal(await page.locator("figure.panel img:visible").count(), 4);
  assert.equal(await page.locator("figure.panel canvas, [data-panel-spin]:visible").count(), 0);
  assert.ok(!fetched.includes("/ui/turning.js"), "what draws was fetched in vain");
  await page.locator("#turn").fill("-15");
  assert.equal(await page.locator("output").first().textContent(), "15° to the left");
  await page.getByLabel("Mark what this screen cannot show").check();
  await page.getByRole("button", { name: "Show" }).click();
  await page.waitForURL("**/panels?what=m1&turn=-15&tilt=0&mark=1");
  await accessible(page);
});

test("when the graphics are taken away the pictures come back, and the form", async () => {
  await page.addInitScript(() => {
    const given = OffscreenCanvas.prototype.getContext;
    OffscreenCanvas.prototype.getContext = function (kind, ...more) {
      const context = given.call(this, kind, ...more);
      if (kind === "webgl2") globalThis.drawing = context;
      return context;
    };
  });
  await drawn("/panels");
  assert.equal(await page.locator("figure.panel img:visible").count(), 0);
  assert.equal(await page.getByRole("button", { name: "Show", exact: true }).count(), 0);
  await page.evaluate(() => globalThis.drawing.getExtension("WEBGL_lose_context").loseContext());
  await page.getByText("This browser cannot turn the panel").waitFor();
  assert.equal(await page.locator("figure.panel img:visible").count(), 4);
  assert.equal(await page.locator("figure.panel canvas, [data-panel-spin]:visible").count(), 0);
  await page.getByRole("button", { name: "Show", exact: true }).click();
  await page.waitForURL("**/panels?what=m1&turn=20&tilt=0");
});

test("data that is not as agreed, or does not come: the picture stays and the page says so", async () => {
  await page.goto(`${server.plainUrl}/broken`);
  await page.getByText("A panel could not be fetched for turning; the picture is drawn by the shop's computer.").waitFor();
  assert.equal(await page.locator("figure.panel img:visible").count(), 1);
  // The form draws the picture anew; nothing is there that could turn.
  await page.getByRole("button", { name: "Show", exact: true }).waitFor();
  assert.equal(await page.locator("[data-panel-spin]:visible").count(), 0);
  await page.route(/mesh\.bin/, (route) => route.fulfill({ status: 404, body: "" }));
  await page.goto(`${server.plainUrl}/lone`);
  await page.getByText("A panel could not be fetched for turning").waitFor();
  assert.equal(await page.locator("figure.panel img:visible").count(), 1);
});

test("only a page with a panel fetches what draws it, and each thing once", async () => {
  await page.goto(`${server.plainUrl}/none`);
  await page.waitForLoadState("networkidle");
  assert.ok(fetched.includes("/ui/guidecoat.js") && !fetched.includes("/ui/turning.js"));
  fetched.length = 0;
  await drawn("/panels");
  assert.equal(fetched.filter((path) => path === "/ui/turning.js").length, 1);
  assert.equal(fetched.filter((path) => path.endsWith("mesh.bin")).length, 1);
  assert.equal(fetched.filter((path) => path.endsWith("sphere.bin")).length, 3);
});

test("the page is sound at every width: axe, targets, nothing sideways, no hue", async () => {
  await drawn("/panels");
  await shoot(page, "panels", async (width) => {
    assert.deepEqual(await sideways(page), [], `at ${width}`);
    await accessible(page, `panels at ${width}`);
    assert.deepEqual(await smallTargets(page), [], `at ${width}`);
    const columns = await page.$eval(".panels", (grid) => getComputedStyle(grid).gridTemplateColumns.split(" ").length);
    assert.equal(columns, { 390: 1, 820: 2, 1440: 3 }[width], `columns at ${width}`);
  });
  assert.deepEqual(await tinted(page), []);
});
