/** Waiting for what a test needs to be true before it goes on: a condition with a limit. */

/** Long enough for a machine many times slower than a desk's, and for a queue that asks again only every 30 s. */
export const LIMIT_MS = 120_000;
const EVERY_MS = 25;

/** Resolves once `holds()`, which may be asynchronous, is true; throws, saying `what`, when it never is. */
export async function until(what, holds, limitMs = LIMIT_MS) {
  const end = Date.now() + limitMs;
  while (!(await holds())) {
    if (Date.now() > end) throw new Error(`not within ${limitMs} ms: ${what}`);
    await new Promise((go) => setTimeout(go, EVERY_MS));
  }
}
