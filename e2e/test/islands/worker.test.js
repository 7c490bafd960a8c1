/** The service worker, on an address where one is allowed. */

import assert from "node:assert/strict";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { addPage, sheet, standIn } from "../../lib/stand_in.js";

const NUMBERED = Object.fromEntries(Array.from({ length: 65 }, (_, n) => [`/page/${n}`, sheet(`${n}`, `<h1>Sheet ${n}</h1>`)]));

let browser, server, page;

before(async () => (browser = await launch()));
after(() => browser.close());
beforeEach(async () => {
  server = await standIn({ "/add": addPage, "/kept": sheet("Shell", "<h1>Shell</h1>"), "/sign-in": sheet("Sign in", `<h1>Sign in</h1><form method="post" action="/sign-in" enctype="multipart/form-data"><button>In</button></form>`), ...NUMBERED });
  page = await open(browser);
  await page.goto(`${server.url}/kept`);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.waitForFunction(() => navigator.serviceWorker.controller);
});
afterEach(async () => {
  assert.deepEqual(page.wrongs, []);
  await page.context().close();
  await server.stop();
});

/** Resolves once the worker has put that page away. */
const held = (path) =>
  page.waitForFunction(async (path) => !!(await (await caches.open("pages-1")).match(path)), path);
const count = () => page.evaluate(async () => (await (await caches.open("pages-1")).keys()).length);

test("a seen page comes back without a signal, and says from when it is", async () => {
  await page.goto(`${server.url}/add`);
  await held("/add");
  await page.goto(`${server.url}/kept`);
  await page.context().setOffline(true);
  await page.goto(`${server.url}/add`);
  await page.locator("main > .flash", { hasText: /^Kept copy from \d\d:\d\d, no signal\.$/ }).waitFor();
  assert.match(await page.evaluate(() => getComputedStyle(document.body).fontFamily), /Sheet/, "the stylesheet is kept too");
  await accessible(page);
  // And the form on it works as on any page.
  await page.locator("#look").getByRole("button", { name: "Keep this" }).click();
  await page.locator("#queue-strip").waitFor();
  await page.context().setOffline(false);
  await page.locator("#queue-strip").waitFor({ state: "hidden" });
  assert.equal(server.kept.length, 1);
  await page.goto(`${server.url}/add`);
  assert.equal(await page.locator("main > .flash").count(), 0, "with a signal the page is new");
});

test("a page never seen says so", async () => {
  await page.context().setOffline(true);
  await page.goto(`${server.url}/page/1`);
  await page.getByRole("heading", { name: "No signal" }).waitFor();
  await accessible(page);
});

test("a page that does not come is shown from the kept copy", async () => {
  await page.goto(`${server.url}/page/1`);
  await held("/page/1");
  await page.goto(`${server.url}/kept`);
  server.pages["/page/1"] = undefined;
  let let_go;
  server.hold = new Promise((resolve) => (let_go = resolve));
  await page.goto(`${server.url}/page/1`);
  await page.locator("main > .flash", { hasText: "no answer yet" }).waitFor();
  let_go();
});

test("only the last sixty pages are held", async () => {
  for (let n = 0; n < 65; n++) {
    await page.goto(`${server.url}/page/${n}`);
    await held(`/page/${n}`);
  }
  await page.waitForFunction(async () => (await (await caches.open("pages-1")).keys()).length <= 60);
  assert.equal(await count(), 60);
  const first = await page.evaluate(async () => !!(await (await caches.open("pages-1")).match("/page/0")));
  assert.equal(first, false);
});

test("signing in forgets the pages of whoever was there before", async () => {
  await held("/kept");
  await page.goto(`${server.url}/sign-in`);
  await held("/sign-in");
  await page.getByRole("button", { name: "In" }).click();
  await page.waitForFunction(async () => !(await (await caches.open("pages-1")).match("/kept")));
});

test("what was posted, refused or marked no-store is not kept", async () => {
  await page.goto(`${server.url}/nowhere`);
  await page.goto(`${server.url}/page/2?secret`);
  await held("/page/2?secret");
  const keys = await page.evaluate(async () => (await (await caches.open("pages-1")).keys()).map(({ url }) => new URL(url).pathname));
  assert.ok(keys.includes("/page/2"));
  assert.ok(!keys.includes("/nowhere"));
  server.noStore = true;
  await page.goto(`${server.url}/page/3`);
  server.noStore = false;
  await page.goto(`${server.url}/page/4`);
  await held("/page/4");
  assert.equal(await page.evaluate(async () => !!(await (await caches.open("pages-1")).match("/page/3"))), false);
});
