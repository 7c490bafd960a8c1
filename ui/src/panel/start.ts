/**
 * Begins the turning panels of a page, and of what is put into it later. Only a page that holds a
 * panel, in a browser that can draw one, fetches the part that draws.
 */

import { cannotTurn } from "./says";
import type { Turning } from "./turning";

let turning: Promise<Turning | undefined> | undefined;

export function turnPanels(): void {
  const figures = [...document.querySelectorAll<HTMLElement>("figure[data-panel]")];
  // Later calls let go of the figures that have left the page.
  if (figures.length || turning) void (turning ??= begin()).then((all) => all?.hold(figures));
}

async function begin(): Promise<Turning | undefined> {
  const canvas = "OffscreenCanvas" in window ? new OffscreenCanvas(1, 1) : undefined;
  const context = canvas?.getContext("webgl2", { alpha: false, antialias: false });
  if (!canvas || !context) return void cannotTurn();
  try {
    const { Turning } = await import("./turning");
    return new Turning(canvas, context);
  } catch (problem) {
    console.warn("guidecoat: panels do not turn", problem);
    cannotTurn("The part that turns the panel could not be had");
  }
  return undefined;
}
