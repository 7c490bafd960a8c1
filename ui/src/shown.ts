/** The part of a page that hangs on what its form asks for, replaced in place. */

import { followWork } from "./follow";
import { turnPanels } from "./panel/start";

const PART = "[data-brief-shown]";

/** Puts the part of `page` in place of this page's; the focus stays. False where either has none. */
export function showNew(page: Document): boolean {
  const part = document.querySelector(PART);
  const fresh = page.querySelector(PART);
  if (!part || !fresh) return false;
  const focused = document.activeElement;
  const id = part.contains(focused) ? focused?.id : undefined;
  const open = [...part.querySelectorAll<HTMLDetailsElement>("details[id][open]")].map((one) => one.id);
  part.replaceChildren(...fresh.childNodes);
  for (const one of open) part.querySelector(`details#${CSS.escape(one)}`)?.setAttribute("open", "");
  if (id) part.querySelector<HTMLElement>(`#${CSS.escape(id)}`)?.focus({ preventScroll: true });
  turnPanels();
  followWork();
  return true;
}
