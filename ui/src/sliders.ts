/**
 * Sliders that say their value in words, and the brief, which shows what they do as soon as one is let
 * go. Without scripts the form's own button does it.
 */

import { showNew } from "./shown";
import { el } from "./words";

const WORDED = "input[type=range]:is([data-none-word], [data-low-word], [data-high-word])";
/** What is let go; text is sent with the form's own button. */
const LET_GO = "input[type=range], input[type=checkbox], input[type=radio], select";

export function steerSliders(): void {
  for (const input of document.querySelectorAll<HTMLInputElement>(WORDED)) say(input);
  // On the document: sliders come and go with the parts of a page.
  document.addEventListener("input", ({ target }) => {
    if (target instanceof HTMLInputElement && target.matches(WORDED)) say(target);
  });
  document.addEventListener("reset", ({ target }) => {
    // The values are set back after this event.
    setTimeout(() => (target as Element).querySelectorAll<HTMLInputElement>(WORDED).forEach(say));
  });
  document.addEventListener("change", ({ target }) => {
    if (!(target instanceof Element) || !target.matches(LET_GO)) return;
    const form = (target as HTMLInputElement | HTMLSelectElement).form;
    if (form?.matches("[data-brief]")) void show(form);
  });
}

/** Says a slider's value in words, beside it and to those who hear the page. */
export function say(input: HTMLInputElement): void {
  const { lowWord, highWord, noneWord, unit, factor } = input.dataset;
  const words = angle(Number(input.value) * Number(factor ?? 1), lowWord, highWord, noneWord, unit ?? "");
  input.setAttribute("aria-valuetext", words);
  const place = document.querySelector(`output[for="${CSS.escape(input.id)}"]`);
  if (place && place.textContent !== words) place.textContent = words;
}

/** "12 greyer", "45° from violet": an amount of either way from nothing. */
export function angle(value: number, low?: string, high?: string, none?: string, unit = "°"): string {
  const amount = Math.round(Math.abs(value) * 100) / 100;
  if (amount === 0 && none !== undefined) return none;
  return [`${amount}${unit}`, value < 0 ? low : high].filter(Boolean).join(" ");
}

let asking: AbortController | undefined;

/** Shows what the form asks for; of several answers under way only the last is wanted. */
async function show(form: HTMLFormElement): Promise<void> {
  const part = document.querySelector("[data-brief-shown]");
  if (!part) return;
  asking?.abort();
  const { signal } = (asking = new AbortController());
  const url = asked(form);
  tell(form, "Being worked out.");
  part.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(url, { signal });
    const text = await answer.text();
    if (signal.aborted) return;
    const page = new DOMParser().parseFromString(text, "text/html");
    history.replaceState(history.state, "", url);
    if (!showNew(page)) return location.reload(); // signed out, or a fault: the page itself says so
    const said = document.querySelector("[data-brief-said]")?.textContent?.trim();
    tell(form, said || "Shown.");
  } catch (problem) {
    if (signal.aborted) return;
    console.warn("guidecoat: the brief is not shown", problem);
    tell(form, "Not shown: the shop's computer did not answer. What you set is still here; press the button to try again.");
  }
  document.querySelector("[data-brief-shown]")?.removeAttribute("aria-busy");
}

/** Where the form's own button would lead. */
function asked(form: HTMLFormElement): string {
  const url = new URL(form.action, location.href);
  const fields = [...new FormData(form)].filter((field): field is [string, string] => typeof field[1] === "string");
  url.search = new URLSearchParams(fields).toString();
  return url.href;
}

function tell(form: HTMLFormElement, words: string): void {
  let says = form.querySelector("[data-brief-says]");
  if (!says) {
    says = el("p", { "data-brief-says": "", class: "hint", role: "status" });
    form.append(says);
  }
  says.textContent = words;
}
