/** What the service worker has put away. `waitForFunction` does not await promises, hence `until`. */

import { until } from "./until.js";

/** The addresses of the pages put away, the one seen longest ago first. */
export const heldPages = (page) =>
  page.evaluate(async () => (await (await caches.open("pages-1")).keys()).map(({ url }) => url.slice(location.origin.length)));

/** Resolves once that page, "/path?query", is put away. */
export const held = (page, path) => until(`${path} is put away`, async () => (await heldPages(page)).includes(path));

/** Resolves once the worker is at work and in charge of this page. */
export async function guarded(page) {
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.waitForFunction(() => navigator.serviceWorker.controller);
}
