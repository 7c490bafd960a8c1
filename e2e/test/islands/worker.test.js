/** The service worker, on an address where one is allowed. */

import assert from "node:assert/strict";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { guarded, held, heldPages } from "../../lib/held.js";
import { noneWaits, waits } from "../../lib/queue.js";
import { addPage, sheet, standIn } from "../../lib/stand_in.js";
import { until } from "../../lib/until.js";

const NUMBERED = Object.fromEntries(Array.from({ length: 65 }, (_, n) => [`/page/${n}`, sheet(`${n}`, `<h1>Sheet ${n}</h1>`)]));

let browser, server, page;

before(async () => (browser = await launch()));
after(() => browser.close());
beforeEach(async () => {
  server = await standIn({ "/add": addPage, "/kept": sheet("Shell", "<h1>Shell</h1>"), "/sign-in": sheet("Sign in", `<h1>Sign in</h1><form method="post" action="/sign-in" enctype="multipart/form-data"><button>In</button></form>`), ...NUMBERED });
  page = await open(browser);
  await page.goto(`${server.url}/kept`);
  await guarded(page);
});
afterEach(async () => {
  await page.context().close();
  await server.stop();
  assert.deepEqual(page.wrongs, []);
});

test("a seen page comes back without a signal, and says from when it is", async () => {
  await page.goto(`${server.url}/add`);
  await held(page, "/add");
  await page.goto(`${server.url}/kept`);
  await page.context().setOffline(true);
  await page.goto(`${server.url}/add`);
  await page.locator("main > .flash", { hasText: /^Kept copy from \d\d:\d\d, no signal\.$/ }).waitFor();
  assert.match(await page.evaluate(() => getComputedStyle(document.body).fontFamily), /Sheet/, "the stylesheet is kept too");
  await accessible(page);
  // And the form on it works as on any page.
  await page.locator("#look").getByRole("button", { name: "Keep this" }).click();
  await waits(page, 1);
  await page.context().setOffline(false);
  await noneWaits(page);
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
  await held(page, "/page/1");
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
    await held(page, `/page/${n}`);
  }
  // The sixty-fifth was put away before the oldest was dropped for it.
  await until("no more than sixty are held", async () => (await heldPages(page)).length <= 60);
  assert.deepEqual(await heldPages(page), Array.from({ length: 60 }, (_, n) => `/page/${n + 5}`));
});

test("signing in forgets the pages of whoever was there before", async () => {
  await page.goto(`${server.url}/kept`);
  await held(page, "/kept");
  await page.goto(`${server.url}/sign-in`);
  await held(page, "/sign-in");
  await page.getByRole("button", { name: "In" }).click();
  await page.getByRole("heading", { name: "Put right" }).waitFor();
  await until("every page is forgotten", async () => (await heldPages(page)).length === 0);
});

test("what was posted, refused or marked no-store is not kept", async () => {
  await page.goto(`${server.url}/nowhere`);
  await page.goto(`${server.url}/page/2?secret`);
  await held(page, "/page/2?secret");
  assert.deepEqual(await heldPages(page), ["/page/2?secret"]);
  server.noStore = true;
  await page.goto(`${server.url}/page/3`);
  server.noStore = false;
  await page.goto(`${server.url}/page/4`);
  await held(page, "/page/4");
  assert.deepEqual(await heldPages(page), ["/page/2?secret", "/page/4"]);
});
