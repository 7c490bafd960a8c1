/** From a finding to the owner's answer: the lead on a shop computer, the owner on a phone with scripts off. */

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { accessible } from "../../lib/axe.js";
import { launch, open } from "../../lib/browser.js";
import { addForm, enter, openCar, pick, picture } from "../../lib/shop.js";
import { shoot, sideways } from "../../lib/shots.js";
import { start } from "../../lib/server.js";

const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, javaScriptEnabled: false };

let browser, server, lead, owner, sight, car, link, plain;

before(async () => {
  [browser, server] = await Promise.all([launch(), start({ host: "shop.test" })]);
  // As a phone in the shop's network has it: plain http, where browsers say less of where a form comes from.
  plain = `http://shop.test:${new URL(server.url).port}`;
  lead = await open(browser);
  owner = await open(browser, PHONE);
  sight = await open(browser); // axe needs scripts: it looks at the owner's pages in a page of its own
});
after(async () => {
  await browser?.close();
  await server?.stop();
});

/** Nothing serious, nothing out sideways, at every width. */
async function looked(page, name) {
  await shoot(page, name, async (width) => {
    assert.deepEqual(await sideways(page), [], `${name} at ${width}`);
    await accessible(page);
  });
}

test("a finding past the limit", async () => {
  await enter(lead, server.url, "Lead", "lead");
  await enter(lead, server.url, "Owner", "owner");
  car = await openCar(lead, server.url, "Car with an owner, invented");
  let form = await addForm(lead, server.url, car, "Z03.L", "opened", "opened");
  await form.locator("input[name=found][value=holed]").check();
  await form.locator("input[name=through]").fill("Outer skin off");
  await pick(form, "Lead");
  await form.getByRole("button", { name: "Keep this" }).click();
  await lead.waitForURL(/kept=/);
  form = await addForm(lead, server.url, car, "Z03.L", "photographed", "photograph");
  await form.locator("input[type=file]").setInputFiles(await picture(lead));
  await form.locator("input[name=caption]").fill("Left membrane, rule in the picture");
  await pick(form, "Lead");
  await form.getByRole("button", { name: "Keep this" }).click();
  await lead.waitForURL(/kept=/);
});

test("what is probably hidden, and the range", async () => {
  await lead.goto(`${server.url}${car}/next`);
  await lead.locator("main p, main span", { hasText: "in 10" }).first().waitFor();
  await looked(lead, "next");
  await lead.goto(`${server.url}${car}/range`);
  await lead.locator(".says", { hasText: "hours still to do" }).waitFor();
  await lead.locator(`a[href*="/questions/new?zone=Z03.L"]`).first().waitFor();
  await looked(lead, "range");
});

test("the question is drafted, put right and sent", async () => {
  await lead.goto(`${server.url}${car}/questions/new?zone=Z03.L`);
  await looked(lead, "question-new");
  const low = lead.locator("input[name=low_a]");
  const was = await low.inputValue();
  await low.fill("9000");
  await pick(lead.locator("main"), "Lead");
  await lead.locator("main").getByRole("button", { name: "Send to the owner" }).click();
  await lead.getByRole("alert").waitFor();
  assert.equal(await lead.locator("input[name=low_a]").inputValue(), "9000", "what was typed is still there");
  await lead.locator("input[name=low_a]").fill(was);
  await lead.locator("main").getByRole("button", { name: "Send to the owner" }).click();
  await lead.waitForURL((url) => !url.pathname.endsWith("/new") && url.pathname.includes("/questions"));
  await lead.goto(`${server.url}${car}/questions/1`);
  await looked(lead, "question");
  await lead.goto(`${server.url}${car}/zones/Z03.L`);
  await lead.getByText("Work here waits for the owner.").waitFor();
});

test("a link is made and shown once", async () => {
  await lead.goto(`${server.url}${car}/links`);
  await looked(lead, "links");
  await pick(lead.locator("main"), "Lead");
  await lead.getByRole("button", { name: "Make a link" }).click();
  const address = await lead.locator("#address").inputValue();
  assert.match(address, /\/o\/[0-9a-f]{64}$/);
  link = new URL(address).pathname;
  await lead.goto(`${server.url}${car}/links`);
  assert.ok(!(await lead.content()).includes(link), "it is shown this once");
});

test("the owner finds the question on a phone, without scripts, and answers", async () => {
  await owner.goto(`${plain}${link}`);
  await owner.getByRole("heading", { name: "One question for you" }).waitFor();
  assert.deepEqual(await sideways(owner), []);
  await sight.goto(`${server.url}${link}`);
  await looked(sight, "owner");
  await owner.locator("input[type=radio][value=B]").first().check();
  await owner.getByRole("button", { name: "Give this answer" }).click();
  await owner.getByText(/your answer/i).first().waitFor();
  await owner.goto(`${plain}${link}`);
  await owner.getByText(/B\. /).first().waitFor();
  assert.equal(await owner.getByRole("heading", { name: "One question for you" }).count(), 0);
  await lead.goto(`${server.url}${car}/questions`);
  await lead.getByText(/Answered on the owner's page/).first().waitFor();
  await looked(lead, "questions");
  await lead.goto(`${server.url}${car}/zones/Z03.L`);
  assert.equal(await lead.getByText("Work here waits for the owner.").count(), 0);
  await sight.goto(`${server.url}${link}/photographs`);
  await looked(sight, "owner-photographs");
});

test("a question goes by mail as one file that loads nothing", async () => {
  const answer = await lead.request.get(`${server.url}${car}/questions/1/question.html`);
  assert.match(answer.headers()["content-disposition"], /attachment/);
  const away = await open(browser, { offline: true });
  const asked = [];
  away.on("request", (request) => request.url().startsWith("data:") || asked.push(request.url()));
  await away.setContent(await answer.text());
  await away.getByText(/How far shall we go/).first().waitFor();
  assert.equal(await away.locator("img").count(), 1);
  assert.deepEqual(asked, []);
  await away.context().close();
});

test("a report is drafted, kept, and read by the owner", async () => {
  await lead.goto(`${server.url}${car}/reports/new`);
  await looked(lead, "report-new");
  await pick(lead.locator("main"), "Lead");
  await lead.locator("#report-form").getByRole("button", { name: "Keep and send" }).click();
  await lead.waitForURL(/\/reports\/\d+/);
  await looked(lead, "report");
  const number = new URL(lead.url()).pathname.split("/").pop();
  const pdf = await lead.request.get(`${server.url}${car}/reports/${number}/report.pdf`);
  assert.equal((await pdf.body()).subarray(0, 4).toString(), "%PDF");
  await owner.goto(`${plain}${link}`);
  await owner.getByRole("link", { name: "Read the report" }).click();
  await owner.getByRole("heading", { level: 1 }).waitFor();
  assert.deepEqual(await sideways(owner), []);
});

test("a link taken back leads nowhere and says so", async () => {
  await lead.goto(`${server.url}${car}/links`);
  await lead.getByRole("button", { name: "Take it back" }).click();
  await lead.waitForLoadState("load");
  const answer = await owner.goto(`${plain}${link}`);
  assert.ok(answer.status() >= 400 && answer.status() < 500, `it answered ${answer.status()}`);
  await owner.getByText(/took this link back/i).first().waitFor();
});
