/**
 * The scripts stay small: a phone in a workshop has a thin signal. What draws a turning panel is three.js for
 * the most part, and only pages that hold a panel fetch it (panel.test.js).
 */

import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { gzipSync } from "node:zlib";
import { builtUi } from "../../lib/ui.js";

/** The part that only pages with a panel fetch. */
const DRAWS = "turning.js";

test("the scripts of every page are under 20 kB packed, what draws a panel under 140, the stylesheet under 10", () => {
  const folder = builtUi();
  const packed = (wanted) =>
    readdirSync(folder, { recursive: true })
      .map(String)
      .filter(wanted)
      .reduce((sum, name) => sum + gzipSync(readFileSync(join(folder, name))).length, 0);
  const scripts = packed((name) => name.endsWith(".js") && name !== DRAWS);
  const draws = packed((name) => name === DRAWS);
  const style = packed((name) => name.endsWith(".css"));
  assert.ok(scripts > 1_000 && draws > 1_000, "the scripts are missing");
  assert.ok(scripts < 20_000, `${scripts} bytes of scripts`);
  assert.ok(draws < 140_000, `${draws} bytes of what draws a panel`);
  assert.ok(style < 10_000, `${style} bytes of stylesheet`);
});
