/** The unsent queue in the real Chromium, against a stand-in that keeps the contract. */

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { after, afterEach, before, beforeEach, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { idle, noneWaits, sender, waiting, waits } from "../../lib/queue.js";
import { addPage, sheet, standIn } from "../../lib/stand_in.js";
import { until } from "../../lib/until.js";

const PAGES = { "/add": addPage, "/kept": sheet("Shell", "<h1>Shell</h1>") };
/** A photograph as far as the queue is concerned: any bytes. */
const PICTURE = { name: "sill.jpg", mimeType: "image/jpeg", buffer: Buffer.alloc(150_000, 7) };

let browser, server, page;

before(async () => (browser = await launch()));
after(() => browser.close());
beforeEach(async () => {
  server = await standIn(PAGES);
  // Over plain http, as a phone has it: no service worker, no randomUUID, no Web Locks.
  page = await open(browser, { acceptDownloads: true });
  await page.goto(`${server.plainUrl}/add`);
  await idle(page); // every page begins with a run of sending
});
afterEach(async () => {
  await page.context().close();
  await server.stop();
  assert.deepEqual(page.wrongs, []);
});

const keepLook = (note) => page.locator("#look textarea").fill(note).then(() => page.locator("#look button").click());
const keepPhoto = () => page.locator("#photo").getByRole("button", { name: "Keep this" }).click();
const notes = () => server.kept.map(({ note }) => note);
const signal = (on) => page.context().setOffline(!on);
/** Resolves once the server has had so many posts, kept or not. */
const posted = (count) => until(`${count} posts have arrived`, () => server.posts.length >= count);
/** A press of "Try now", and the whole of what comes of it. */
async function tryNow() {
  await idle(page);
  const before = server.posts.length;
  await page.getByRole("button", { name: "Try now" }).click();
  await posted(before + 1);
  await idle(page);
}

test("the page is one where phones stand: plain http", async () => {
  assert.equal(await page.evaluate(() => isSecureContext), false);
});

test("a kept entry leads on", async () => {
  await keepLook("dry");
  await page.waitForURL("**/kept");
  assert.deepEqual(notes(), ["dry"]);
  const [{ then, noted, entry }] = server.kept;
  assert.equal(then, "stay", "the pressed button is part of the form");
  assert.ok(Math.abs(Date.parse(noted) - Date.now()) < 60_000);
  assert.match(entry, /^[0-9a-f-]{36}$/);
});

test("with no signal an entry waits, and goes once when the signal is back", async () => {
  await signal(false);
  await page.locator("#look input[value=bad]").check();
  const before = await page.locator("#look input[name=entry]").inputValue();
  await keepLook("skin moves under the thumb");
  await waits(page, 1);
  await page.locator("#unsent li", { hasText: "Look, outer sill skin left: bad" }).waitFor();
  await page.locator('[data-unsent=count]', { hasText: "1, kept here" }).waitFor();
  assert.equal(await page.locator("#look textarea").inputValue(), "", "the form is empty for the next one");
  const after = await page.locator("#look input[name=entry]").inputValue();
  assert.notEqual(after, before);
  assert.match(after, /^[0-9a-f]{8}-[0-9a-f]{4}-4[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  await accessible(page);
  await signal(true);
  await noneWaits(page);
  assert.deepEqual(notes(), ["skin moves under the thumb"]);
  assert.equal(server.kept[0].entry, before);
  assert.equal(server.kept[0].result, "bad");
  await page.locator("#unsent", { hasText: "One entry has gone from here" }).waitFor();
});

test("several go in order, with their photograph whole, after the page was closed", async () => {
  await signal(false);
  await keepLook("first");
  await waits(page, 1);
  await keepLook("second");
  await waits(page, 2);
  await page.locator("#file").setInputFiles(PICTURE);
  await keepPhoto();
  await waits(page, 3);
  await page.locator("#unsent li", { hasText: /Photograph.*150 kB/ }).waitFor();
  const context = page.context();
  await page.close();
  await signal(true);
  page = Object.assign(await context.newPage(), { wrongs: page.wrongs });
  await page.goto(`${server.plainUrl}/kept`);
  await noneWaits(page);
  await page.locator("#unsent", { hasText: "3 entries have gone" }).waitFor();
  assert.deepEqual(notes(), ["first", "second", undefined]);
  const sent = Buffer.from(await server.kept[2].photo.arrayBuffer());
  assert.ok(sent.equals(PICTURE.buffer));
  assert.equal(server.kept[2].photo.name, "sill.jpg");
  assert.equal(server.kept[2].photo.type, "image/jpeg");
});

test("an answer that got lost is asked for again, and kept once", async () => {
  server.answer = () => "lose";
  await keepLook("once");
  await waits(page, 1);
  assert.deepEqual(notes(), ["once"], "it is kept, only nobody here knows");
  server.answer = undefined;
  await tryNow();
  await noneWaits(page);
  assert.deepEqual(notes(), ["once"]);
});

test("a page of a guest network is not taken for the server's answer", async () => {
  server.answer = () => ({ status: 200, json: "<!doctype html><title>Welcome guest</title>" });
  await keepLook("guest");
  await waits(page, 1);
  await tryNow();
  assert.deepEqual((await waiting(page)).map(({ refused }) => refused), [undefined], "it waits still, and was not refused");
  server.answer = undefined;
  await tryNow();
  await noneWaits(page);
  assert.deepEqual(notes(), ["guest"]);
});

test("a server in trouble loses nothing and is not hammered", async () => {
  server.answer = () => ({ status: 503, json: { say: "The disk is full." } });
  await keepLook("one");
  await waits(page, 1);
  await keepLook("two");
  await waits(page, 2);
  const before = server.posts.length;
  await tryNow();
  assert.equal(server.posts.length, before + 1, "the second is not tried when the first meets a 503");
  server.answer = undefined;
  await tryNow();
  await noneWaits(page);
  assert.deepEqual(notes(), ["one", "two"]);
});

test("no answer within the time limit counts as no signal", async () => {
  await page.clock.install();
  server.answer = () => "hang";
  await keepLook("slow");
  await page.locator("#look [data-said]", { hasText: "Sending" }).waitFor();
  await page.clock.fastForward(25_000);
  await waits(page, 1);
  server.answer = undefined;
});

test("a refused entry is drawn by the server with everything still typed", async () => {
  server.answer = (_, asked) => asked && { status: 422, json: { say: "Not kept yet.", errors: [] } };
  await keepLook("52 mm");
  await page.locator("#typed", { hasText: "52 mm" }).waitFor();
  assert.equal(server.natives.length, 1);
  assert.equal(server.natives[0].then, "stay");
  assert.ok(server.natives[0].noted);
});

test("an entry refused for good says so in the form, and nothing is cleared", async () => {
  server.answer = () => ({ status: 403, json: { say: "That is for the lead to do." } });
  await keepLook("not mine to say");
  await page.locator("#look [data-said]", { hasText: "That is for the lead to do. Nothing was cleared." }).waitFor();
  assert.equal(await page.locator("#look textarea").inputValue(), "not mine to say");
  assert.equal(server.natives.length, 0);
});

test("an entry typed before signing in waits until that is done", async () => {
  server.answer = () => ({ status: 401, json: { say: "This device is not signed in." } });
  await keepLook("at the door");
  await waits(page, 1);
  await page.locator("#unsent .refused", { hasText: "not signed in" }).waitFor();
  assert.equal(server.natives.length, 0);
  server.answer = undefined;
  await page.reload();
  await noneWaits(page);
  assert.deepEqual(notes(), ["at the door"]);
});

test("a waiting entry that is refused stays, says why, holds nobody up, and opens as a form", async () => {
  await signal(false);
  await keepLook("clash");
  await waits(page, 1);
  await keepLook("fine");
  await waits(page, 2);
  server.answer = ({ note }, asked) => asked && note === "clash" && { status: 409, json: { say: "Bench B changed this zone.", theirs: "", yours: "" } };
  await signal(true);
  await waits(page, 1);
  const refused = page.locator("#unsent .refused");
  await refused.getByText("Bench B changed this zone.").waitFor();
  await idle(page);
  assert.deepEqual(notes(), ["fine"]);
  await accessible(page);
  const posts = server.posts.length;
  await page.reload();
  await refused.waitFor(); // drawn by the run of sending that a new page begins with, or after it
  await idle(page);
  assert.equal(server.posts.length, posts, "a refused entry is not sent again by itself");
  await refused.getByRole("button", { name: "Open it and put it right" }).click();
  await page.locator("#typed", { hasText: "clash" }).waitFor();
});

test("a refused entry put right leaves the queue; another can be dropped, after a second press", async () => {
  await signal(false);
  await keepLook("a");
  await waits(page, 1);
  server.answer = (_, asked) => asked && { status: 422, json: { say: "No." } };
  await signal(true);
  await page.locator("#unsent .refused").waitFor();
  await idle(page);
  server.answer = undefined;
  const entry = server.posts.at(-1).entry;
  await page.locator("#look input[name=entry]").evaluate((input, value) => (input.value = value), entry);
  await keepLook("a, put right");
  await page.waitForURL("**/kept");
  await noneWaits(page);
  assert.deepEqual(server.kept.map(({ entry, note }) => [entry, note]), [[entry, "a, put right"]]);

  await page.goto(`${server.plainUrl}/add`);
  await signal(false);
  await keepLook("b");
  await waits(page, 1);
  server.answer = () => ({ status: 422, json: { say: "No." } });
  await signal(true);
  await page.getByRole("button", { name: "Drop it" }).click();
  const surely = page.getByRole("button", { name: "Press again" });
  await surely.waitFor();
  assert.equal((await waiting(page)).length, 1, "the first press drops nothing");
  await surely.click();
  await noneWaits(page);
});

test("after signing in, what was refused for that goes by itself", async () => {
  await signal(false);
  await keepLook("one");
  await waits(page, 1);
  await keepLook("two");
  await waits(page, 2);
  server.answer = () => ({ status: 401, json: { say: "Sign in first." } });
  await signal(true);
  await page.locator("#unsent .refused").waitFor();
  await idle(page);
  assert.deepEqual((await waiting(page)).map(({ refused }) => refused?.status), [401, undefined], "the rest is not tried");
  server.answer = undefined;
  await page.goto(`${server.plainUrl}/kept`);
  await noneWaits(page);
  assert.deepEqual(notes(), ["one", "two"]);
});

test("the buttons stand still while something is sent", async () => {
  await signal(false);
  await keepLook("under the thumb");
  await waits(page, 1);
  const places = () => page.locator("#unsent button").evaluateAll((all) => all.map((one) => one.offsetTop));
  const before = await places();
  let letThrough;
  server.answer = () => new Promise((resolve) => (letThrough = resolve));
  await signal(true);
  await posted(1);
  await page.locator("#unsent", { hasText: "Sending 1 of 1" }).locator("progress").waitFor();
  assert.equal(before.length, 2);
  assert.deepEqual(await places(), before);
  await accessible(page);
  letThrough();
  await noneWaits(page);
});

test("an old form from the Back button does not pass for a repeat", async () => {
  await keepLook("first words");
  await page.waitForURL("**/kept");
  const [{ entry }] = server.kept;
  await page.goto(`${server.plainUrl}/add`);
  await page.locator("#look input[name=entry]").evaluate((input, value) => (input.value = value), entry);
  await keepLook("other words");
  await page.waitForURL("**/kept");
  assert.deepEqual(notes(), ["first words", "other words"]);
});

test("two tabs do not send the same entry at once", async () => {
  const second = await page.context().newPage();
  await second.goto(`${server.plainUrl}/kept`);
  await signal(false);
  await keepLook("shared");
  await waits(page, 1);
  await second.locator("#queue-strip", { hasText: "1 not sent yet" }).waitFor();
  let letThrough;
  server.answer = () => new Promise((resolve) => (letThrough = resolve));
  await signal(true); // both tabs hear it
  await posted(1);
  const first = await sender(page);
  assert.ok(first);
  // Whichever of them is not at it hears it once more, while the entry is on its way.
  for (const tab of [page, second]) {
    await tab.evaluate(() => dispatchEvent(new Event("online")));
    assert.equal(await sender(tab), first, "the other tab may not send");
  }
  letThrough();
  await noneWaits(page);
  await noneWaits(second);
  await idle(page);
  assert.equal(server.posts.length, 1);
  assert.deepEqual(notes(), ["shared"]);
});

test("a page that is left while it sends hands over to the next at once", async () => {
  await signal(false);
  await keepLook("on the way");
  await waits(page, 1);
  // The clock stands still, so that the right to send never runs out by itself.
  await page.clock.setFixedTime(Date.now());
  server.answer = () => new Promise(() => {});
  await signal(true);
  await posted(1);
  server.answer = undefined;
  await page.goto(`${server.plainUrl}/kept`);
  await noneWaits(page);
  assert.deepEqual(notes(), ["on the way"]);
});

test("an entry too big for the way does not hold up the rest for ever", async () => {
  await signal(false);
  await keepLook("cannot");
  await waits(page, 1);
  await keepLook("can");
  await waits(page, 2);
  server.answer = ({ note }) => note === "cannot" && "drop";
  await signal(true);
  await waits(page, 1);
  assert.deepEqual(notes(), ["can"]);
  for (let press = 0; press < 2; press++) await tryNow();
  await page.locator("#unsent .refused", { hasText: "did not get through 3 times" }).waitFor();
});

test("a full queue says so and clears nothing", async () => {
  await page.evaluate(async () => {
    const database = await new Promise((resolve) => {
      const request = indexedDB.open("guidecoat", 1);
      request.onsuccess = () => resolve(request.result);
    });
    const heads = database.transaction("waiting", "readwrite").objectStore("waiting");
    for (let index = 0; index < 200; index++) {
      heads.add({ entry: `e${index}`, action: "/x", label: "Look", made: new Date().toISOString(), bytes: 10, tries: 0, refused: { status: 409, say: "" } });
    }
    await new Promise((resolve) => (heads.transaction.oncomplete = resolve));
    database.close();
  });
  await signal(false);
  await keepLook("one too many");
  const said = page.locator("#look [data-said]", { hasText: "200 entries wait already" });
  await said.waitFor();
  assert.match(await said.textContent(), /Nothing you typed has been cleared/);
  assert.equal(await page.locator("#look textarea").inputValue(), "one too many");
});

test("where nothing can be stored, nothing typed is cleared", async () => {
  await page.addInitScript(() => {
    IDBFactory.prototype.open = () => {
      throw new DOMException("no", "SecurityError");
    };
  });
  await page.reload();
  await signal(false);
  await keepLook("precious");
  await page.locator("#look [data-said]", { hasText: "lets nothing be kept" }).waitFor();
  assert.equal(await page.locator("#look textarea").inputValue(), "precious");
});

test("a photograph past the server's limit is refused in words before it is sent", async () => {
  await page.locator("#file").evaluate((input) => (input.dataset.maxBytes = "100000"));
  await page.locator("#file").setInputFiles(PICTURE);
  await keepPhoto();
  await page.locator("#photo [data-said]", { hasText: "150 kB; at most 100 kB" }).waitFor();
  assert.equal(server.posts.length, 0);
  assert.equal(await page.locator("#file").evaluate((input) => input.files.length), 1);
});

test("what waits can be saved to a file", async () => {
  await signal(false);
  await keepLook("on paper");
  await waits(page, 1);
  await page.locator("#file").setInputFiles(PICTURE);
  await keepPhoto();
  await waits(page, 2);
  const [download] = await Promise.all([page.waitForEvent("download"), page.getByRole("button", { name: "Save to a file" }).click()]);
  assert.match(download.suggestedFilename(), /^guidecoat-unsent-[\d-]+\.jsonl$/);
  const lines = (await readFile(await download.path(), "utf8")).trimEnd().split("\n").map((line) => JSON.parse(line));
  assert.equal(lines.length, 3);
  assert.deepEqual([lines[0].format, lines[0].version, lines[0].entries], ["guidecoat unsent entries", 1, 2]);
  assert.equal(lines[1].fields.find(({ name }) => name === "note").value, "on paper");
  assert.equal(lines[1].action, "/cars/1/entries");
  const photo = lines[2].fields.find(({ name }) => name === "photo");
  assert.ok(Buffer.from(photo.base64, "base64").equals(PICTURE.buffer));
});
