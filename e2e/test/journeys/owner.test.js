/**
 * From a finding to the owner's answer: the lead on a shop computer, the owner on a phone with scripts
 * off. What the owner sees is opened again in `sight`, with scripts on, because axe is a script.
 */

import assert from "node:assert/strict";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { addForm, enter, openCar, pick, picture } from "../../lib/shop.js";
import { shoot, sideways } from "../../lib/shots.js";
import { start } from "../../lib/server.js";

const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, javaScriptEnabled: false };
const ZONE = "Z03.L";
const ASK = "How far shall we go inside the left sill?";
/** A moment as the pages write it. */
const MOMENT = /\d{1,2} \w{3,4} \d{4}, \d\d:\d\d/;
/** The smallest side of what a finger has to hit on the owner's page, in px. */
const TOUCH_PX = 48;

let browser, server, plain, lead, owner, sight, car, place, link, low, titles, earlier;

before(async () => {
  [browser, server] = await Promise.all([launch(), start({ host: "shop.test" })]);
  // As a phone in the shop's network has it: plain http, where browsers say less of where a form comes from.
  plain = `http://shop.test:${new URL(server.url).port}`;
  lead = await open(browser, { viewport: { width: 1440, height: 900 }, serviceWorkers: "block" });
  owner = await open(browser, PHONE);
  sight = await open(browser);
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** What holds for every page: axe content, nothing off the side, nothing wrong in the console. */
async function sound(page, name) {
  await page.waitForLoadState();
  await shoot(page, name, async (width) => {
    assert.deepEqual(await sideways(page), [], `${name} at ${width}`);
    await accessible(page, `${name} at ${width}`);
  });
  assert.deepEqual(page.wrongs.splice(0), [], name);
}

/** The page on which the owner is, soundly drawn. */
async function ownersSound(name) {
  assert.deepEqual(await sideways(owner), [], `${name} on the phone`);
  await sight.goto(owner.url());
  await sound(sight, name);
}

/** Everything that a form holds, as it would be sent. */
const typed = (form) =>
  form.evaluate((form) => [...new FormData(form)].map(([name, value]) => `${name}: ${value}`));

/** The figures of the Range sheet, in hours. */
async function figures() {
  await lead.goto(`${server.url}${car}/range`);
  const says = await lead.locator("main .says").textContent();
  const found = /^(\d+) to (\d+) hours still to do, likely (\d+)\./.exec(says);
  assert.ok(found, `no range in "${says}"`);
  return found.slice(1).map(Number);
}

/** Whether every picture there was loaded and decoded. */
const drawn = (pictures) => pictures.evaluateAll((all) => all.length > 0 && all.every((one) => one.complete && one.naturalWidth > 0));

/** Chooses an option on the phone, and gives the answer. */
async function answer(option, button) {
  await owner.locator("#q1 label.pick", { hasText: option }).tap();
  await owner.getByRole("button", { name: button, exact: true }).tap();
  await owner.getByRole("heading", { name: "Thank you. Your answer is kept." }).waitFor();
}

test("the lead enters the people and a car with what was agreed", async () => {
  await enter(lead, server.url, "Lead", "lead");
  await enter(lead, server.url, "Owner", "owner");
  const agreed = { budget_h: "900", ask_over_h: "8", currency: "EUR", rate_bench: "60", rate_painter: "70" };
  car = await openCar(lead, server.url, "Car with an owner, invented", "Lead", agreed);
});

test("a zone is opened, and found holed", async () => {
  const opened = await addForm(lead, server.url, car, ZONE, "opened", "opened");
  await opened.locator("input[name=found][value=holed]").check();
  await opened.locator("input[name=through]").fill("Outer skin off");
  await opened.locator("input[name=length_mm]").fill("310");
  await opened.locator("input[name=width_mm]").fill("45");
  await pick(opened, "Lead");
  await opened.getByRole("button", { name: "Keep this" }).click();
  await lead.waitForURL("**/zones/*?kept=*");
  const photo = await addForm(lead, server.url, car, ZONE, "photographed", "photograph");
  await photo.locator("input[type=file]").setInputFiles(await picture(lead));
  await photo.locator("input[name=caption]").fill("Left sill from outside, skin off");
  await pick(photo, "Lead");
  await photo.getByRole("button", { name: "Keep this" }).click();
  await lead.locator(".thumbs img").waitFor();
  place = (await lead.getByRole("heading", { level: 1 }).textContent()).trim();
});

test("Next look: that zone is known, and the others have a chance in words", async () => {
  await lead.goto(`${server.url}${car}/next`);
  const known = lead.locator("#known");
  assert.equal(await known.locator(`a[href$="/zones/${ZONE}"]`).count(), 1, "what was opened is known");
  await known.locator("a", { hasText: "entry" }).first().waitFor({ state: "attached" });
  const chances = await lead.locator("#chances .guess > summary .soft").allTextContents();
  assert.ok(chances.length > 50, `${chances.length} zones with a chance`);
  for (const chance of chances) assert.match(chance, /^(very )?(un)?likely to need metal, .*in 10|^may need metal, .*in 10/);
  assert.equal(await lead.locator("#chances .guess b", { hasText: place }).count(), 0, "and no longer guessed");
  await sound(lead, "next");
});

test("Range: the hours, and the finding past the limit", async () => {
  const [least, most, likely] = await figures();
  assert.ok(least < likely && likely < most, `${least}, ${likely}, ${most}`);
  earlier = [least, most, likely];
  await lead.locator("main .says", { hasText: "of passing the 900 agreed" }).waitFor();
  const stop = lead.locator(".note.stop", { has: lead.getByRole("heading", { name: "Stop and ask" }) });
  await stop.getByText("over the 8 h for a single finding").waitFor();
  await sound(lead, "range");
  await stop.locator("tr", { hasText: place }).getByRole("link", { name: "Draft the question" }).click();
  await lead.waitForURL(`**/questions/new?zone=${ZONE}`);
});

test("the question is drafted, and a wrong figure is said at its field", async () => {
  const form = lead.locator("#question-form");
  assert.match(await form.locator("textarea[name=found]").inputValue(), /rusted through over 310 by 45 mm/);
  assert.ok(await form.locator("input[name=photographs]").isChecked(), "the photograph of it goes with it");
  await sound(lead, "question-new");
  await form.locator("textarea[name=ask]").fill(ASK);
  await form.locator("textarea[name=risks_a]").fill("Beside the patch the metal stays as old as it is.");
  const high = await form.locator("input[name=high_b]").inputValue();
  low = await form.locator("input[name=low_b]").inputValue();
  await form.locator("input[name=low_b]").fill(String(Number(high) + 30));
  await pick(form, "Lead");
  const sent = await typed(form);
  await form.getByRole("button", { name: "Send to the owner" }).click();
  await lead.getByRole("alert").waitFor();
  const wrong = lead.locator(".field.err");
  assert.equal(await wrong.count(), 1);
  assert.equal(await wrong.locator("#e-hours_b").count(), 1, "it is said at the hours of option B");
  assert.equal(await wrong.locator("input[name=low_b]").count(), 1);
  assert.deepEqual(await typed(form), sent, "everything typed is still there");
  await sound(lead, "question-wrong");
});

test("put right, the question is shown as the owner will read it, and sent", async () => {
  const form = lead.locator("#question-form");
  await form.locator("input[name=low_b]").fill(low);
  await form.getByRole("button", { name: "Show it as the owner will read it" }).click();
  await lead.locator("#preview", { hasText: ASK }).waitFor();
  titles = await Promise.all(["a", "b", "c"].map((key) => form.locator(`input[name=title_${key}]`).inputValue()));
  await form.getByRole("button", { name: "Send to the owner" }).click();
  await lead.waitForURL("**/questions/1?kept=*");
  await lead.locator("main", { hasText: "No answer is not a yes." }).waitFor();
  await sound(lead, "question");
});

test("the zone waits for the owner", async () => {
  await lead.goto(`${server.url}${car}/zones/${ZONE}`);
  await lead.locator(".wait", { hasText: "Work here waits for the owner." }).getByRole("link", { name: "Question 1" }).waitFor();
  await sound(lead, "zone-waits");
});

test("a link is made, and shown once", async () => {
  await lead.goto(`${server.url}${car}/links`);
  await lead.locator("main", { hasText: "Nobody outside the shop can see this car." }).waitFor();
  await pick(lead.locator("main"), "Lead");
  await lead.getByRole("button", { name: "Make a link" }).click();
  const address = await lead.locator("#address").inputValue();
  assert.match(address, /^http:\/\/[^/]+\/o\/[0-9a-f]{64}$/);
  await sound(lead, "link-made");
  link = new URL(address).pathname;
  await lead.goto(`${server.url}${car}/links`);
  await lead.locator("main", { hasText: "One link leads to the owner's page of this car." }).waitFor();
  assert.ok(!(await lead.content()).includes(link.split("/").pop()), "it is not shown again");
  await sound(lead, "links");
});

test("the owner finds one question first, on a phone and without scripts", async () => {
  await owner.goto(`${plain}${link}`);
  await owner.getByRole("heading", { level: 1, name: "One question for you" }).waitFor();
  const first = owner.locator("main section").first();
  assert.equal(await first.getByRole("heading").first().textContent(), ASK);
  const { y, height } = await first.getByRole("heading").first().boundingBox();
  assert.ok(y + height < PHONE.viewport.height, "the question stands on the first screen");
  await first.getByText("rusted through over 310 by 45 mm").waitFor();
  assert.ok(await drawn(first.locator("img")), "its photograph is seen");
  const options = await first.locator(".opts label.pick b").allTextContents();
  assert.deepEqual(options, [...titles.map((title, n) => `${"ABC"[n]}. ${title}`), "None of these: please ring me"]);
  assert.equal(await first.locator(".opts", { hasText: "EUR" }).count(), 1, "the shop entered rates, so money is shown");
  assert.equal(await first.locator("input[type=radio]:checked").count(), 0, "nothing is chosen for the owner");
  const fingers = owner.locator("main label.pick, main button, main a.btn");
  for (const { width, height } of await fingers.evaluateAll((all) => all.map((one) => one.getBoundingClientRect().toJSON())))
    assert.ok(width >= TOUCH_PX && height >= TOUCH_PX, `${width} by ${height} px is small for a finger`);
  await ownersSound("owner");
});

test("an answer without a choice is said, and the words stay", async () => {
  await owner.locator("#words-1").fill("Please keep the old flange if it can be saved.");
  await owner.getByRole("button", { name: "Give this answer", exact: true }).tap();
  await owner.getByRole("alert").waitFor();
  await owner.locator("#e-choice").waitFor();
  assert.equal(await owner.locator("#words-1").inputValue(), "Please keep the old flange if it can be saved.");
  assert.deepEqual(await sideways(owner), []);
});

test("the owner answers B, and it is locked with its date", async () => {
  await answer("B. ", "Give this answer");
  const thanks = owner.getByRole("status");
  await thanks.getByText(`B. ${titles[1]}`).waitFor();
  assert.match(await thanks.textContent(), MOMENT);
  await owner.getByRole("heading", { level: 1, name: "Nothing waits for you" }).waitFor();
  assert.equal(await owner.locator("#q1").count(), 0, "it is no longer asked");
  const kept = owner.locator("article", { hasText: ASK });
  await kept.getByText("Please keep the old flange if it can be saved.").waitFor();
  await kept.locator("summary", { hasText: "Exactly what was shown" }).tap();
  await kept.getByText("Beside the patch the metal stays as old as it is.").waitFor();
  await ownersSound("owner-answered");
});

test("the shop sees it: answered and locked, nothing waits, the range moved", async () => {
  await lead.goto(`${server.url}${car}/questions`);
  const says = await lead.locator("#q1", { hasText: `: B. ${titles[1]}. Locked at entry` }).textContent();
  assert.match(says, /Answered on the owner's page on/);
  assert.match(says, MOMENT);
  await sound(lead, "questions");
  await lead.goto(`${server.url}${car}/zones/${ZONE}`);
  await lead.getByRole("heading", { level: 1, name: place }).waitFor();
  assert.equal(await lead.getByText("Work here waits for the owner.").count(), 0);
  assert.notDeepEqual(await figures(), earlier, "the range moved");
  await lead.locator("#moved tbody tr", { hasText: titles[1] }).waitFor();
  assert.equal(await lead.getByRole("heading", { name: "Stop and ask" }).count(), 0);
  await sound(lead, "range-answered");
});

test("the owner's photographs, by place and stage", async () => {
  await owner.goto(`${plain}${link}`);
  await owner.getByRole("link", { name: "See the photographs" }).tap();
  await owner.getByRole("heading", { level: 2, name: place }).waitFor();
  assert.ok(await drawn(owner.locator(".thumbs img")));
  await ownersSound("owner-photographs");
});

test("the owner changes the mind, and both answers can be read", async () => {
  await owner.goto(`${plain}${link}`);
  await owner.getByRole("link", { name: "I have changed my mind" }).tap();
  await owner.locator("#q1 .note", { hasText: `B. ${titles[1]}` }).waitFor();
  await ownersSound("owner-change");
  await answer("A. ", "Give this answer instead");
  const answers = owner.locator("article", { hasText: ASK });
  await answers.locator("p", { hasText: `A. ${titles[0]}` }).first().waitFor();
  await answers.locator("p", { hasText: `B. ${titles[1]}` }).filter({ hasText: "No longer stands" }).waitFor();
  await lead.goto(`${server.url}${car}/questions/1`);
  const heads = await lead.locator("section", { has: lead.getByRole("heading", { name: "Answers" }) }).locator("article > h3").allTextContents();
  assert.equal(heads.length, 2);
  assert.match(heads[0], new RegExp(`A\\. ${titles[0]}`), "the latest stands first");
  assert.match(heads[1], new RegExp(`B\\. ${titles[1]}`));
  await lead.getByText("It changes the answer of entry").waitFor();
  await sound(lead, "question-answered");
});

test("the question as a file opens anywhere, and asks nobody for anything", async () => {
  const [download] = await Promise.all([lead.waitForEvent("download"), lead.getByRole("link", { name: "The question as a file" }).click()]);
  assert.equal(download.suggestedFilename(), "question-1.html");
  const file = join(server.folder, "question-1.html");
  await download.saveAs(file);
  const address = pathToFileURL(file).href;
  const away = await open(browser, { ...PHONE, offline: true });
  const asked = [];
  away.on("request", (request) => asked.push(request.url().replace(/^data:.*/s, "data:")));
  await away.goto(address);
  await away.getByText(ASK).waitFor();
  assert.ok(await drawn(away.locator("img")), "its photograph is inside");
  assert.deepEqual(await away.locator(".opts h3").allTextContents(), titles.map((title, n) => `${"ABC"[n]}. ${title}`));
  assert.deepEqual(await sideways(away), []);
  assert.deepEqual(asked.filter((url) => url !== "data:"), [address], "nothing but the file itself");
  assert.deepEqual(away.wrongs, []);
  await away.context().close();
  const seen = await open(browser, { offline: true });
  await seen.goto(address);
  await sound(seen, "question-file");
  await seen.context().close();
});

test("a report is drafted, kept, and read by the owner", async () => {
  await lead.goto(`${server.url}${car}/reports/new`);
  const form = lead.locator("#report-form");
  assert.match(await form.locator("textarea[name=found]").inputValue(), /310 by 45 mm/);
  await sound(lead, "report-new");
  await form.locator("textarea[name=says]").fill("The left sill is worse than hoped, and you have chosen.");
  await pick(form, "Lead");
  await form.getByRole("button", { name: "Keep and send" }).click();
  await lead.waitForURL("**/reports/*?kept=*");
  await sound(lead, "report");
  const printed = await lead.getByRole("link", { name: "The page as a PDF" }).getAttribute("href");
  const pdf = await (await lead.request.get(`${server.url}${printed}`)).body();
  assert.equal(pdf.subarray(0, 4).toString(), "%PDF");
  await owner.goto(`${plain}${link}`);
  await owner.getByText("The left sill is worse than hoped, and you have chosen.").waitFor();
  await ownersSound("owner-news");
  await owner.getByRole("link", { name: "Read the report" }).tap();
  await owner.waitForURL("**/reports/*");
  for (const part of ["Done", "Found", "Changed range", "Your answer", "Next"]) await owner.getByRole("heading", { level: 2, name: part, exact: true }).waitFor();
  assert.ok(await drawn(owner.locator("main img")));
  await ownersSound("owner-report");
  const same = await owner.getByRole("link", { name: "The same as a PDF" }).getAttribute("href");
  const theirs = await (await owner.request.get(`${server.url}${same}`)).body();
  assert.ok(pdf.equals(theirs), "the owner's is the one that was kept");
  await lead.goto(`${server.url}${car}/range`);
  await lead.locator("#told", { hasText: "beside question 1" }).getByText(/^report to/).waitFor();
});

test("a link taken back leads nowhere, and says so", async () => {
  await owner.goto(`${plain}${link}?change=1`);
  await lead.goto(`${server.url}${car}/links`);
  await lead.locator("table", { hasText: "the owner's page" }).first().waitFor();
  await lead.getByRole("button", { name: "Take it back" }).click();
  await lead.locator("td", { hasText: "taken back" }).waitFor();
  await owner.locator("#q1 label.pick", { hasText: "C. " }).tap();
  const posted = owner.waitForResponse((response) => response.request().method() === "POST");
  await owner.getByRole("button", { name: "Give this answer instead" }).tap();
  assert.equal((await posted).status(), 410, "a page that was open before is shut too");
  await owner.getByRole("alert").getByText("Nothing you typed has been kept.").waitFor();
  for (const below of ["", "/photographs", "/dossier.pdf"]) {
    const gone = await owner.goto(`${plain}${link}${below}`);
    assert.equal(gone.status(), 410);
    await owner.getByRole("alert").getByText("The shop took this link back.").waitFor();
  }
  const nobodys = await owner.goto(`${plain}/o/${"0".repeat(64)}`);
  assert.equal(nobodys.status(), 404);
  await owner.goto(`${plain}${link}`);
  await ownersSound("owner-link-gone");
  assert.deepEqual(await owner.context().cookies(), [], "the owner's pages leave nothing on the phone");
  await lead.goto(`${server.url}${car}/questions/1`);
  const answers = lead.locator("section", { has: lead.getByRole("heading", { name: "Answers" }) });
  assert.equal(await answers.locator("article").count(), 2, "nothing came through a link taken back");
});
