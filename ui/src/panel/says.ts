/** What is said where a panel cannot be turned. The picture stays, and the form that redraws it. */

import { el } from "../words";

/** The form with the panels' controls, of which a page has at most one. */
export function controls(): HTMLFormElement | null {
  return document.querySelector<HTMLFormElement>("form[data-panel-controls]");
}

export function cannotTurn(why = "This browser cannot turn the panel"): void {
  if (document.querySelector(".panel-says")) return;
  const says = el("p", { class: "panel-says", role: "status" }, `${why}; the picture is drawn by the shop's computer.`);
  const form = controls();
  if (form) form.append(says);
  else document.querySelector("figure[data-panel]")?.after(says);
}
