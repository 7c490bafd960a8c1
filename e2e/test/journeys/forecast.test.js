/**
 * From a guess to what the shop learned: a look at one sill, what it says of the other, which look is
 * worth most, what would follow from it and what does, the hours, and what the next car has of it. On a
 * tablet, with a phone beside it whose scripts are off.
 */

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { overlaid, smallTargets } from "../../lib/look.js";
import { addForm, enter, entries, openCar, pick, typeLook } from "../../lib/shop.js";
import { shoot, sideways } from "../../lib/shots.js";
import { start } from "../../lib/server.js";

const TABLET = { viewport: { width: 820, height: 1180 }, hasTouch: true, serviceWorkers: "block" };
const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, javaScriptEnabled: false };
const AGREED_H = 700;
/** The wall between the two halves of the sill, and the one opposite. */
const SEEN = "Z03.L";
const OPPOSITE = "Z03.R";
/** The parts of the job while the car is on the first stage. */
const PARTS = ["Opening", "Metal", "Fit and gaps", "Lead, fill, block", "Coats", "Colour", "Assembly and wax", "Everything else"];
/** A chance as every sheet says it. */
const CHANCE = /^(very unlikely|unlikely|may|likely|very likely)( to)? need metal, .* in 10$/;
/** An address of a What if of a look at one zone: how, and which. */
const SINGLE = /[?]what=([a-z_]+)[.](Z\d\d[^&]*)$/;

let browser, server, tablet, phone, car, guessed;

before(async () => {
  [browser, server] = await Promise.all([launch(), start()]);
  tablet = await open(browser, TABLET);
  phone = await open(browser, PHONE);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** What holds of every sheet on a tablet and on a phone; axe is slow on the long ones, and sees more on the tablet. */
async function sound(name) {
  const check = async (width) => {
    assert.deepEqual(await sideways(tablet), [], `${name} at ${width}`);
    assert.deepEqual(await smallTargets(tablet), [], `${name} at ${width}`);
    assert.deepEqual(await overlaid(tablet), [], `${name} at ${width}`);
    if (width === 820) await accessible(tablet, name);
  };
  await shoot(tablet, name, check, [820, 390]);
  assert.deepEqual(tablet.wrongs.splice(0), [], name);
}

const go = (page, path) => page.goto(`${server.url}${path}`);
const says = (page) => page.locator("main .says").textContent();
/** The words of each, without line ends. */
const texts = async (locator) => (await locator.allInnerTexts()).map((text) => text.replace(/\s+/g, " ").trim());

/** Hours as the sheets write them. */
function hours(words) {
  const found = /^(?:\+|\u2212)?([\d.]+) (min|h)$/.exec(words.trim());
  assert.ok(found, `no hours in "${words}"`);
  return Number(found[1]) / (found[2] === "min" ? 60 : 1);
}

/** Sends a form of the bench, and waits for the zone's sheet that says it is kept. */
async function keep(form) {
  await form.getByRole("button", { name: "Keep this" }).tap();
  await form.page().waitForURL("**/zones/*?kept=*");
  return form.page().locator(".flash", { hasText: "Kept as entry" }).textContent();
}

/** Keeps a look at a zone. */
async function look(page, zone, seen) {
  const form = await addForm(page, server.url, car, zone, "looked", "look");
  await typeLook(form, { who: "Lead", ...seen });
  return keep(form);
}

/** A zone not known, among all by their chances. */
const guess = (page, zone) => page.locator("#chances .guess").filter({ has: page.locator(`a[href*="zone=${zone}&"]`) });
/** What is said of its chance, once. */
const chance = (page, zone) => guess(page, zone).locator("> summary .soft").textContent();

/** The first look of the sheet: the same words and figures wherever it stands. */
async function first(page) {
  const look = page.locator("#looks li.look").first();
  return { say: await look.locator("h3").innerText(), figures: await texts(look.locator("dl.facts dd")), look };
}

/** One answer of a What if: by how much it moves the hours, and the chances then. */
async function answer(page, heading) {
  const card = page.locator("section.opt", { has: page.getByRole("heading", { name: heading }) });
  const [mean] = await texts(card.locator("p", { hasText: "Mean hours of metal:" }));
  const [, now, then] = /: (.+) now, (.+) then/.exec(mean) ?? assert.fail(mean);
  const zones = await card.locator("li.moves").evaluateAll((all) =>
    all.map((row) => {
      const [, now, then] = /now (.* in 10[^,]*), then (.* in 10.*)$/.exec(row.querySelector(".soft.small:last-child").textContent) ?? [];
      return { zone: decodeURIComponent(row.querySelector("a").pathname.split("/zones/")[1]), now, then };
    }),
  );
  return { now: hours(now), then: hours(then), zones, next: (await texts(card.locator("p", { hasText: /^Then / })))[0] };
}

/** The rows of a table's body. */
const rows = (table) => table.locator("tbody tr").evaluateAll((all) => all.map((row) => [...row.cells].map((cell) => cell.textContent.trim())));

/** The picture of the hours, with the table beside it. */
async function figures() {
  const beside = tablet.locator("main figure .beside");
  const table = new Map(await rows(beside.locator("table")));
  const p = ["P10", "P50", "P80", "P95"].map((name) => hours([...table].find(([row]) => row.startsWith(`${name}, `))[1]));
  return { drawn: beside.locator("svg.chart"), p, worked: table.get("Of those, worked and done with") };
}

test("a car is opened, and Next look says in one sentence where to look", async () => {
  await enter(tablet, server.url, "Lead", "lead");
  const agreed = { budget_h: String(AGREED_H), currency: "EUR", rate_bench: "60", rate_painter: "70", rate_materials: "10" };
  car = await openCar(tablet, server.url, "Car to be foretold, invented", "Lead", agreed);
  await go(tablet, `${car}/next`);
  const { say } = await first(tablet);
  const sentence = await says(tablet);
  assert.match(sentence, /\. About [\d.]+ (hours?|minutes) decides? about \d+ hours of work\.$/);
  assert.ok(sentence.startsWith(`${say}. `), `"${sentence}" is of "${say}"`);
  guessed = await chance(tablet, OPPOSITE);
  assert.match(guessed, CHANCE);
  assert.equal(await chance(tablet, SEEN), guessed, "nothing yet tells the sides apart");
  await tablet.locator("#looks", { hasText: "All of this is a starting guess until the shop's own figures replace it." }).waitFor();
});

test("one sill is seen holed: it is known, and the one opposite is likelier, and says why", async () => {
  await look(tablet, SEEN, { result: "bad", severity: "holed", how: "scope_there" });
  await go(tablet, `${car}/next?view=section`);
  await tablet.locator("#known", { hasText: "seen: holed (entry 2)" }).waitFor();
  assert.equal(await guess(tablet, SEEN).count(), 0, "and is guessed no more");
  const now = await chance(tablet, OPPOSITE);
  assert.match(now, CHANCE);
  assert.notEqual(now, guessed);
  const because = guess(tablet, OPPOSITE).locator("li", { hasText: /^rotten opposite: .*entry 2/ });
  assert.match(await because.textContent(), /, (strongly |weakly )?for$/);
  const drawn = (zone) => tablet.locator(`.map a.z[data-zone="${zone}"]`).first();
  assert.match(await drawn(SEEN).getAttribute("class"), /\bbad\b/, "what was seen is hatched");
  assert.match(await drawn(OPPOSITE).getAttribute("class"), /\bmay\b/, "what is guessed is stippled");
  assert.ok((await drawn(OPPOSITE).getAttribute("aria-label")).endsWith(now), "the outline says the same");
});

test("the looks are ranked by what is left after their hours, and two are best together", async () => {
  await go(tablet, `${car}/next`);
  const looks = await tablet.locator("#looks li.look dl.facts").evaluateAll((all) => all.map((one) => [...one.querySelectorAll("dd")].map((dd) => dd.textContent)));
  assert.equal(looks.length, 6);
  const left = looks.map(([, , , worth]) => hours(worth));
  assert.deepEqual(left, left.toSorted((a, b) => b - a));
  for (const [, stake, saves, worth] of looks) assert.ok(0 < hours(worth) && hours(worth) <= hours(saves) && hours(saves) <= hours(stake));
  const both = /expected to save (.+); (.+) are left after their hours/.exec(await tablet.locator("#pair").innerText()) ?? [];
  assert.ok(hours(both[2]) >= left[0], "the best two together are worth no less than the best one");
  assert.equal(await tablet.locator("#contradictions").count(), 0);
  await tablet.locator("#known summary").tap();
  await sound("forecast-next");
});

test("What if of the first look: both answers, and nothing is kept", async () => {
  const { say, figures, look } = await first(tablet);
  const before = await entries(tablet, server.url, car);
  await look.getByRole("link", { name: "What if?" }).tap();
  await tablet.waitForURL("**/next?what=*");
  assert.ok((await says(tablet)).startsWith(`${say}. `));
  assert.deepEqual(await texts(tablet.locator("main dl.facts").first().locator("dd")), figures);
  const clear = await answer(tablet, "If it shows clear");
  const bad = await answer(tablet, "If it shows bad");
  assert.ok(clear.then < clear.now && bad.then > bad.now && clear.now === bad.now, JSON.stringify([clear, bad]));
  for (const { zones, next } of [clear, bad]) {
    assert.ok(zones.length > 0 && zones.length <= 8);
    for (const { now, then } of zones) assert.match(`${now}; ${then}`, /^.*\d in 10.*; .*\d in 10/);
    assert.match(next, /^Then look next: .+\.$|^Then no other look is worth its hours\.$/);
  }
  await sound("forecast-what-if");
  assert.equal(await entries(tablet, server.url, car), before);
});

test("the form of that look is one tap away, and a clear look is kept with it", async () => {
  await tablet.locator("main").getByRole("link", { name: "Add the look" }).tap();
  await tablet.waitForURL("**/add?zone=*");
  const form = tablet.locator("#form-looked");
  assert.ok(await form.isVisible(), "the form stands open");
  const zone = await form.locator("select[name=zone]").inputValue();
  assert.equal(zone, new URL(tablet.url()).searchParams.get("zone"));
  await typeLook(form, { result: "clear", how: "scope_there", who: "Lead" });
  await keep(form);
  await go(tablet, `${car}/next`);
  await guess(tablet, zone).locator("li", { hasText: /entry 3.*against$/ }).waitFor({ state: "attached" });
});

test("what What if said would follow is what follows", async () => {
  const links = tablet.locator("#looks table a");
  const address = (await links.evaluateAll((all) => all.map((one) => one.href))).find((href) => SINGLE.test(href));
  const [, how, zone] = SINGLE.exec(address);
  await tablet.goto(address);
  const { then, zones, next } = await answer(tablet, "If it shows clear");
  await tablet.locator("main").getByRole("link", { name: "Add the look" }).tap();
  await tablet.waitForURL(`**/add?zone=${zone}&*`);
  const form = tablet.locator("#form-looked");
  await typeLook(form, { result: "clear", how, who: "Lead" });
  await keep(form);
  await go(tablet, `${car}/next`);
  const { say } = await first(tablet);
  assert.equal(next.toLowerCase(), `then look next: ${say.toLowerCase()}.`);
  for (const { zone, then } of zones) assert.ok((await chance(tablet, zone)).endsWith(`, ${then}`), `${zone}: ${await chance(tablet, zone)}, not ${then}`);
  await go(tablet, `${car}/range`);
  const [mean] = await texts(tablet.locator("#moved p", { hasText: "The mean went from" }));
  assert.equal(hours(/ to (.+)\.$/.exec(mean)[1]), then);
});

test("Range: the hours drawn with what was agreed, in a table, by parts, and as they moved", async () => {
  await go(tablet, `${car}/range`);
  const { drawn, p } = await figures();
  const [, least, most, likely, agreed] = /^(\d+) to (\d+) hours still to do, likely (\d+)\. .+ of passing the (\d+) agreed\.$/.exec(await says(tablet)) ?? [];
  assert.deepEqual([least, likely, most, agreed].map(Number), [p[0], p[1], p[3], AGREED_H]);
  assert.deepEqual(p, p.toSorted((a, b) => a - b));
  assert.match(await drawn.getAttribute("aria-label"), new RegExp(`${p.map((h) => `\\b${h} hours`).join(".*")}.*agreed ${AGREED_H}`));
  await drawn.locator("text", { hasText: `agreed ${AGREED_H} h` }).waitFor();
  assert.equal(await drawn.locator('path[fill="url(#past)"]').count(), 1, "what lies past it is hatched upright");
  const parts = await rows(tablet.locator("#parts table").first());
  assert.deepEqual(parts.map(([part]) => part), [...PARTS, "The whole"]);
  const likelies = parts.map((row) => hours(row[2]));
  assert.ok(likelies.at(-1) > Math.max(...likelies.slice(0, -1)), "the whole is more than each part");
  const [[, ...money]] = await rows(tablet.locator("#money"));
  assert.ok(Number(money[0]) > 50 * likelies.at(-1) * 0.5 && Number(money[0]) < Number(money[3]), money.join());
  const entered = await rows(tablet.locator("#narrowed table"));
  assert.deepEqual(entered.map(([entry]) => /^Entry (\d+)/.exec(entry)[1]), ["4", "3", "2", "1"], "the opening and each look, the latest first");
  assert.equal(await tablet.locator("#narrowed svg circle").count(), entered.length, "and each is in the picture");
  const ends = entered[0].slice(1).map(hours);
  [p[0], p[1], p[3]].forEach((h, n) => assert.ok(Math.abs(ends[n] / h - 1) < 0.01, `it ends where the range is: ${ends}, ${p}`));
  for (const fold of ["#narrowed", "#books"]) await tablet.locator(`${fold} summary`).tap();
  const books = await rows(tablet.locator("#books table"));
  assert.ok(books.length > 0 && books.every(([, own, operations]) => hours(own) > 0 && hours(operations) > 0), JSON.stringify(books));
  await sound("forecast-range");
});

test("made good, and the hours it took, put down on the Add page", async () => {
  const good = await addForm(tablet, server.url, car, SEEN, "made_good", "made-good");
  await good.locator("textarea[name=note]").fill("1.0 mm let in, invented.");
  await pick(good, "Lead");
  await keep(good);
  await go(tablet, `${car}/range`);
  await tablet.locator("#worked").getByRole("link", { name: "Put down hours" }).tap();
  await tablet.waitForURL("**/add?kind=worked*");
  const form = tablet.locator("#form-worked");
  await form.locator("select[name=zone]").selectOption(SEEN);
  await form.locator("input[name=part][value=metal]").check();
  await form.locator("input[name=hours]").fill("31 and a half");
  await form.locator("textarea[name=note]").fill("With the drain.");
  await pick(form, "Lead");
  await form.getByRole("button", { name: "Keep this" }).tap();
  await tablet.getByRole("alert").waitFor();
  await form.locator(".field.err", { hasText: '"31 and a half" was typed for the hours.' }).waitFor();
  assert.equal(await form.locator("textarea[name=note]").inputValue(), "With the drain.", "what was typed is still there");
  assert.equal(await form.locator("select[name=zone]").inputValue(), SEEN);
  await form.locator("input[name=hours]").fill("31.5");
  assert.match(await keep(form), /31\.5 h: Metal/);
  await go(tablet, `${car}/range`);
  assert.deepEqual(await rows(tablet.locator("#worked table")), [["Metal", "32 h"], ["Together", "32 h"]]);
  const { drawn, worked } = await figures();
  assert.equal(worked, "32 h", "of what was agreed");
  await drawn.locator("text", { hasText: /^agreed 700 h, 66[89] left$/ }).waitFor();
  await sound("forecast-worked");
});

test("what this car taught is told, and the next car begins with it", async () => {
  await go(tablet, "/learned");
  assert.equal(await says(tablet), "1 zone became known of 1 car: 1 needed metal, 0 did not.");
  const rate = tablet.locator("#zones details.guess");
  assert.equal(await rate.count(), 1);
  for (const fold of [rate, tablet.locator("#hours")]) await fold.locator("summary").tap();
  assert.match(await rate.innerText(), /1 known, 1 bad\. Guess about \d in 10, now/);
  const teacher = rate.locator("li", { hasText: "Car to be foretold, invented, sill membrane, left: bad" });
  assert.equal(new URL(await teacher.getByRole("link", { name: "entry 2" }).evaluate((one) => one.href)).pathname, `${car}/entries/2`);
  await tablet.locator("#hours p", { hasText: /From 1 finished zone: .*this shop takes .* more; the factor is/ }).waitFor();
  await sound("forecast-learned");
  await go(tablet, `${car}/next`);
  await tablet.locator("#looks", { hasText: "All of this is a starting guess" }).waitFor();
  const next = await openCar(tablet, server.url, "The next car, invented");
  await go(tablet, `${next}/next`);
  const learned = "The chances begin with what this shop has learned from 1 opened zone of 1 other car";
  await tablet.locator("#looks", { hasText: learned }).waitFor();
  assert.notEqual(await chance(tablet, OPPOSITE), guessed, "a zone like it is likelier on the next car");
  await go(tablet, `${next}/range`);
  await tablet.locator("#how", { hasText: /factor on hours/ }).waitFor();
  assert.ok(!(await tablet.locator("#how").innerText()).includes("The shop's own factor on hours is a starting guess"));
});

test("scripts off, on a phone: two looks that cannot both be right are told, and What if answers", async () => {
  await look(phone, OPPOSITE, { result: "clear", how: "tap_and_probe" });
  await look(phone, OPPOSITE, { result: "bad", severity: "thin", how: "scope_there" });
  await go(phone, `${car}/next`);
  const note = phone.locator("#contradictions");
  await note.getByRole("heading", { name: "Two entries cannot both be right" }).waitFor();
  assert.match((await texts(note))[0], /Sill membrane, right ?: entry 7: tap and probe: clear; entry 8: scope, existing hole: thin\. The later one counts/);
  assert.deepEqual(await note.getByRole("link", { name: /^entry/ }).evaluateAll((all) => all.map((one) => one.pathname)), [7, 8].map((seq) => `${car}/entries/${seq}`));
  assert.deepEqual(await sideways(phone), []);
  const { say, figures, look: best } = await first(phone);
  await best.getByRole("link", { name: "What if?" }).tap();
  await phone.waitForURL("**/next?what=*");
  assert.ok((await says(phone)).startsWith(`${say}. `));
  assert.deepEqual(await texts(phone.locator("main dl.facts").first().locator("dd")), figures);
  const [clear, bad] = [await answer(phone, "If it shows clear"), await answer(phone, "If it shows bad")];
  assert.ok(clear.then < clear.now && bad.then > bad.now);
  assert.deepEqual(await sideways(phone), []);
  assert.deepEqual(await smallTargets(phone), []);
  await phone.locator("main").getByRole("link", { name: "Add the look" }).tap();
  await phone.waitForURL("**/add?zone=*");
  assert.ok(await phone.locator("#form-looked").isVisible());
  for (const path of [`${car}/range`, "/learned", `${car}/next?view=section`]) {
    assert.equal((await go(phone, path)).status(), 200);
    assert.deepEqual(await sideways(phone), [], path);
  }
  assert.equal((await go(phone, `${car}/next?what=tap_and_probe.Z99`)).status(), 404, "of nothing, nothing follows");
});
