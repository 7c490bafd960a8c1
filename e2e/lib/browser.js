/** The system's Chromium, with one way of opening pages for all tests. */

import { existsSync } from "node:fs";
import { chromium } from "playwright-core";

/** For one step of a page, and for the browser to start: a machine of CI is slow, and under load slower. */
const STEP_MS = 60_000;
const START_MS = 120_000;

const PLACES = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"];

function executable() {
  const path = process.env.CHROMIUM ?? PLACES.find((place) => existsSync(place));
  if (!path) throw new Error(`no Chromium at ${PLACES.join(", ")}; install it or set CHROMIUM`);
  return path;
}

/**
 * Starts Chromium. `shop.test` leads to this machine too, but unlike 127.0.0.1 it is no secure
 * context: that is how a phone reaches the shop's computer.
 */
export function launch() {
  return chromium.launch({
    executablePath: executable(),
    timeout: START_MS,
    args: [
      "--no-sandbox",
      "--use-gl=angle",
      "--use-angle=swiftshader",
      "--enable-unsafe-swiftshader",
      "--disable-background-networking",
      "--host-resolver-rules=MAP shop.test 127.0.0.1",
    ],
  });
}

/**
 * Opens a page that collects what goes wrong in it: script errors, and anything the content
 * policy blocked. `page.wrongs` is the list; tests end with it being empty.
 */
export async function open(browser, options = {}) {
  const context = await browser.newContext({ viewport: { width: 390, height: 844 }, ...options });
  context.setDefaultTimeout(STEP_MS);
  const page = await context.newPage();
  page.wrongs = [];
  page.on("pageerror", (error) => page.wrongs.push(String(error)));
  page.on("console", (message) => {
    if (message.text().includes("Content Security Policy")) page.wrongs.push(message.text());
  });
  return page;
}
