/**
 * Keeps the page of work under way up to date in its place, so that nobody's reading or focus is
 * lost to a reload. Without scripts the page asks for itself anew.
 */

import { showNew } from "./shown";

let next: ReturnType<typeof setTimeout> | undefined;

export function followWork(): void {
  clearTimeout(next);
  const part = document.querySelector<HTMLElement>("[data-again]");
  if (part) next = setTimeout(() => void look(part), Number(part.dataset.again) * 1_000);
}

async function look(part: HTMLElement): Promise<void> {
  const asked = location.href;
  const text = await fetch(asked).then((answer) => answer.text(), () => undefined);
  if (!part.isConnected || location.href !== asked) return; // something else is shown by now, and followed
  if (text !== undefined) {
    const page = new DOMParser().parseFromString(text, "text/html");
    const fresh = page.querySelector("[data-again]");
    if (!fresh) {
      // It is done, or gone; beside a form the page stays as it is but for this part.
      if (!part.closest("[data-brief-shown]") || !showNew(page)) location.reload();
      return;
    }
    part.replaceChildren(...fresh.childNodes);
  }
  followWork();
}
