/** Accessibility: nothing serious or critical on any page. */

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";

const source = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");

/** Fails when axe finds a serious or critical fault, and names each with its place. */
export async function accessible(page, where = page.url()) {
  // Through the debugger, which the content policy does not stop.
  await page.evaluate(source);
  const { violations, passes } = await page.evaluate(() =>
    globalThis.axe.run(document, { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }),
  );
  assert.ok(passes.length > 5, `axe looked at almost nothing on ${where}`);
  const faults = violations
    .filter(({ impact }) => impact === "serious" || impact === "critical")
    .flatMap(({ id, help, nodes }) => nodes.map(({ target }) => `${id} at ${target.join(" ")}: ${help}`));
  assert.deepEqual(faults, [], `on ${where}`);
}
