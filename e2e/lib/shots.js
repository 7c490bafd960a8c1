/** Pictures of pages at the three widths, to be looked at. */

import { mkdirSync } from "node:fs";
import { fileURLToPath } from "node:url";

const FOLDER = fileURLToPath(new URL("../shots/", import.meta.url));

/** A shop computer, a tablet, a phone. */
export const WIDTHS = [1440, 820, 390];

/** Saves `shots/NAME-WIDTH.png` for each width, calling `check` at each. */
export async function shoot(page, name, check = async () => {}, widths = WIDTHS) {
  mkdirSync(FOLDER, { recursive: true });
  const before = page.viewportSize();
  for (const width of widths) {
    const height = width < 500 ? 844 : 900;
    await page.setViewportSize({ width, height });
    const whole = await page.evaluate(() => document.fonts.ready.then(() => document.documentElement.scrollHeight));
    // As high as the page, so that what is fixed to the window's edge stands at the page's end; past 8192 px
    // Chromium draws the beginning once more.
    await page.setViewportSize({ width, height: Math.min(Math.max(whole, height), 8_000) });
    await page.screenshot({ path: `${FOLDER}${name}-${width}.png` });
    await page.setViewportSize({ width, height });
    await check(width);
  }
  if (before) await page.setViewportSize(before);
}

/** The words by which a page runs out of the window sideways; empty when it does not. */
export function sideways(page) {
  return page.evaluate(() => {
    const wide = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth <= wide) return [];
    const inPan = (element) => element.closest(".map, .pan, .scroll");
    return [...document.querySelectorAll("body *")]
      .filter((element) => element.getBoundingClientRect().right > wide + 1 && !inPan(element))
      .map((element) => `${element.tagName.toLowerCase()}.${element.getAttribute("class") ?? ""}`);
  });
}
