/**
 * What a browser holds of the unsent queue, read from its store. The strip and the list are hidden
 * until they are first drawn, so an empty sight of them says nothing about what waits.
 */

import { until } from "./until.js";

/** Everything in one of the queue's stores. */
function stored(page, name) {
  return page.evaluate(
    (name) =>
      new Promise((resolve, reject) => {
        const opening = indexedDB.open("guidecoat");
        opening.onupgradeneeded = () => opening.transaction.abort(); // never make it in the page's place
        opening.onerror = () => reject(new Error("the page has made no store yet"));
        opening.onsuccess = () => {
          const database = opening.result;
          const reading = database.transaction(name).objectStore(name).getAll();
          reading.transaction.oncomplete = () => {
            database.close();
            resolve(reading.result);
          };
          reading.transaction.onabort = () => reject(new Error(`${name} could not be read`));
        };
      }),
    name,
  );
}

/** The heads of the entries that wait, in order. */
export const waiting = (page) => stored(page, "waiting");

/** The run of sending that has the right to send; none when all is quiet. */
export const sender = async (page) => (await stored(page, "lease"))[0]?.holder;

/** Resolves once the strip says so many. */
export const waits = (page, count) => page.locator(`#queue-strip:text-matches("^${count} not sent yet")`).waitFor();

/**
 * Resolves once no run of sending goes on. A run takes the right to send before it posts or draws
 * anything, so after either this means that it is over and its outcome stored.
 */
export const idle = (page) => until("no run of sending goes on", async () => !(await sender(page)));

/** Resolves once nothing waits, neither in the store nor on the page. */
export async function noneWaits(page) {
  let left = [];
  await until("nothing waits", async () => (left = await waiting(page)).length === 0).catch((late) => {
    throw new Error(`still waiting: ${JSON.stringify(left)}`, { cause: late });
  });
  await page.locator("#queue-strip").waitFor({ state: "hidden" });
}
