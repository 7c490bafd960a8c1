/** What every journey does first: people, then a car nobody has looked at. All of it is invented. */

import assert from "node:assert/strict";

/** The views of the two-door closed body. */
export const VIEWS = ["left", "right", "above", "below", "front", "rear", "inside", "bay", "skins_left", "skins_right", "section"];

/** Enters somebody on the People page. */
export async function enter(page, url, name, role, passphrase) {
  await page.goto(`${url}/people`);
  const form = page.locator("main form").last();
  await form.locator("input[name=name]").fill(name);
  await form.locator(`input[name=role][value=${role}]`).check();
  if (passphrase) await form.locator("input[name=passphrase]").fill(passphrase);
  await form.getByRole("button", { name: "Enter" }).click();
  await page.locator("summary", { hasText: name }).waitFor();
}

/** Opens a car, with further fields of the form filled, and resolves to its address, "/cars/...". */
export async function openCar(page, url, title, who = "Lead", further = {}) {
  await page.goto(`${url}/cars/new`);
  await page.locator("input[name=title]").fill(title);
  await page.locator("input[name=year]").fill("1968");
  for (const [name, value] of Object.entries(further)) await page.locator(`input[name=${name}]`).fill(value);
  await pick(page.locator("main"), who);
  await page.getByRole("button", { name: "Open this car" }).click();
  await page.getByRole("heading", { name: "Shell" }).waitFor();
  return new URL(page.url()).pathname.replace(/\/$/, "");
}

/** Picks who is writing. */
export function pick(form, who) {
  return form.locator(".pick:has(input[name=who])", { hasText: who }).locator("input").check();
}

/** A form of the Add page, for one zone, on view. */
export async function addForm(page, url, car, zone, kind, anchor) {
  await page.goto(`${url}${car}/add?zone=${zone}&kind=${anchor}#${anchor}`);
  return page.locator(`#form-${kind}`);
}

/** Types a look. */
export async function typeLook(form, { result, severity, how = "tap_and_probe", note = "", who = "Bench A" }) {
  await form.locator(`input[name=result][value=${result}]`).check();
  if (severity) await form.locator(`input[name=severity][value=${severity}]`).check();
  await form.locator(`input[name=how][value=${how}]`).check();
  await form.locator("textarea[name=note]").fill(note);
  await pick(form, who);
}

/** How many entries the record of a car says it has. */
export async function entries(page, url, car) {
  const answer = await page.request.get(`${url}${car}/record`);
  assert.equal(answer.status(), 200);
  const says = /<p class="says">([^<]*)/.exec(await answer.text())?.[1] ?? "";
  return says.startsWith("One") ? 1 : Number(/^\d+/.exec(says)?.[0]);
}

/** A small picture made in the browser, as a file to choose. */
export async function picture(page, name = "sill.png") {
  const base64 = await page.evaluate(() => {
    const canvas = Object.assign(document.createElement("canvas"), { width: 1200, height: 900 });
    const ink = canvas.getContext("2d");
    for (let row = 0; row < 900; row += 60) {
      ink.fillStyle = row % 120 ? "#8a8a8a" : "#6e6e6e";
      ink.fillRect(0, row, 1200, 60);
    }
    ink.fillStyle = "#ffffff";
    ink.font = "80px sans-serif";
    ink.fillText("invented", 300, 480);
    return canvas.toDataURL("image/png").split(",")[1];
  });
  return { name, mimeType: "image/png", buffer: Buffer.from(base64, "base64") };
}
