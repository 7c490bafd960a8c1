/**
 * Takes over `form[data-queue]`. Kept: on to the next page. To be put right: the browser posts the
 * form itself, so that the server draws its page with everything still typed. Unreached, or not
 * signed in: the entry waits here, and the form is empty for the next one. Refused for good: the
 * server's words stand in the form, and nothing is cleared.
 */

import { el, HERE, size, uuid } from "../words";
import { noteKept, wasKept } from "./kept";
import { bytesOf, post, toFields } from "./post";
import { changed } from "./send";
import { add, find, Full, MOST_BYTES, MOST_ENTRIES, remove, type Refusal } from "./store";

/** The server draws the form again for these: somebody else wrote first, or something is wrong in it. */
const REDRAWN = [409, 422];

export function takeSubmits(): void {
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || !form.matches("form[data-queue]")) return;
    const { submitter } = event;
    if (event.defaultPrevented || submitter?.hasAttribute("data-native")) return;
    event.preventDefault();
    if (form.getAttribute("aria-busy") === "true") return;
    form.setAttribute("aria-busy", "true");
    void take(form, submitter).finally(() => form.removeAttribute("aria-busy"));
  });
}

async function take(form: HTMLFormElement, submitter: HTMLElement | null): Promise<void> {
  const tooBig = oversized(form);
  if (tooBig) return say(form, tooBig, true);
  await freshEntry(form);
  const body = new FormData(form, submitter);
  if (!body.get("noted")) body.set("noted", new Date().toISOString());
  say(form, "Sending.");
  const action = actionOf(form, submitter);
  const answer = await post(action, body, 20_000 + bytesOf(body) / 200);
  const entry = String(body.get("entry"));
  if (answer.kind === "kept") return kept(form, entry, answer.go);
  if (answer.kind === "unreached") {
    return wait(form, action, body, answer.status === 0 ? "No signal." : "The shop's computer could not take it now.");
  }
  const { status, say: words, ours } = answer;
  if (status === 401) return wait(form, action, body, words, { status, say: words });
  if (!ours) return wait(form, action, body, words);
  if (REDRAWN.includes(status)) return postNatively(form, submitter, body);
  say(form, `${words} Nothing was cleared.`, true);
}

/** Words about the first file that the server is sure to refuse, if there is one. */
function oversized(form: HTMLFormElement): string | undefined {
  for (const input of form.querySelectorAll<HTMLInputElement>("input[type=file][data-max-bytes]")) {
    const most = Number(input.dataset.maxBytes);
    for (const file of input.files ?? []) {
      if (file.size > most) return `The file is ${size(file.size)}; at most ${size(most)} is taken. Nothing was cleared.`;
    }
  }
  return undefined;
}

/** Gives the form a new identifier where the one it has is used up. */
async function freshEntry(form: HTMLFormElement): Promise<void> {
  const input = form.querySelector<HTMLInputElement>("input[name=entry]");
  if (!input) return;
  const waiting = await find(input.value).catch(() => undefined);
  if (!input.value || wasKept(input.value) || (waiting && !waiting.refused)) input.value = uuid();
}

/** The address, not fooled by a field called "action". */
function actionOf(form: HTMLFormElement, submitter: HTMLElement | null): string {
  return new URL(submitter?.getAttribute("formaction") ?? form.getAttribute("action") ?? "", location.href).href;
}

async function kept(form: HTMLFormElement, entry: string, go: string): Promise<void> {
  noteKept(entry);
  await remove(entry).catch(() => {}); // it may be a refused one, put right
  changed();
  say(form, "Kept.");
  const next = new URL(go || location.href, location.href);
  if (next.origin !== location.origin) return location.reload();
  const samePage = next.pathname + next.search === location.pathname + location.search;
  location.assign(next);
  if (samePage) location.reload();
}

function postNatively(form: HTMLFormElement, submitter: HTMLElement | null, body: FormData): void {
  const name = submitter?.getAttribute("name");
  if (name) form.append(el("input", { type: "hidden", name, value: submitter?.getAttribute("value") ?? "" }));
  const noted = form.querySelector<HTMLInputElement>("input[name=noted]");
  if (noted) noted.value = String(body.get("noted"));
  if (submitter?.hasAttribute("formaction")) form.action = actionOf(form, submitter);
  HTMLFormElement.prototype.submit.call(form);
}

/** Puts the entry into the queue, or says why it cannot; then nothing typed is cleared. */
async function wait(form: HTMLFormElement, action: string, body: FormData, why: string, refused?: Refusal): Promise<void> {
  const label = labelOf(form);
  try {
    const fields = await toFields(body);
    const head = { entry: String(body.get("entry")), action, label, made: String(body.get("noted")), bytes: bytesOf(body) };
    await add(refused ? { ...head, refused } : head, fields);
  } catch (problem) {
    return say(form, `${why} ${notHeld(problem)} Nothing you typed has been cleared: leave this page open, and try again later.`, true);
  }
  void navigator.storage?.persist?.();
  const input = form.querySelector<HTMLInputElement>("input[name=entry]");
  if (input) input.value = uuid();
  form.reset();
  changed();
  say(form, `${why} Kept on this ${HERE}: ${label}. It goes by itself when it can, once. The form is empty for the next one.`, true);
}

function notHeld(problem: unknown): string {
  if (problem instanceof Full) {
    return `Not kept on this ${HERE}: ${problem.message} (at most ${MOST_ENTRIES} entries, ${size(MOST_BYTES)}).`;
  }
  const full = problem instanceof DOMException && problem.name === "QuotaExceededError";
  return full ? `Not kept: this ${HERE} has no room left.` : `Not kept: this browser lets nothing be kept on this ${HERE}.`;
}

/** The server's label, the zone where the form lets it be chosen, and the words of what was chosen:
 * "Look, sill left: bad". */
function labelOf(form: HTMLFormElement): string {
  const zone = form.querySelector<HTMLSelectElement>("select[name=zone]");
  const place = zone?.value ? `, ${zone.selectedOptions[0]?.text}` : "";
  const chosen = [...form.querySelectorAll<HTMLElement>("[data-say]:checked")].map((one) => one.dataset.say);
  return (form.dataset.label ?? "Entry") + place + (chosen.length > 0 ? `: ${chosen.join(", ")}` : "");
}

/** Says something at the head of the form; `stay` when it is the last word and should be read. */
function say(form: HTMLFormElement, words: string, stay = false): void {
  let line = form.querySelector<HTMLElement>(":scope > .flash[data-said]");
  if (!line) {
    line = el("p", { class: "flash wait", role: "status", tabindex: "-1", "data-said": "" });
    form.prepend(line);
  }
  line.textContent = words;
  if (stay) line.focus();
}
