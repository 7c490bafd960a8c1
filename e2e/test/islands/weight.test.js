/** The scripts stay small: a phone in a workshop has a thin signal. */

import assert from "node:assert/strict";
import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import { gzipSync } from "node:zlib";
import { builtUi } from "../../lib/ui.js";

test("all scripts together are under 20 kB packed, and the stylesheet under 10", () => {
  const folder = builtUi();
  const packed = (ending) =>
    readdirSync(folder)
      .filter((name) => name.endsWith(ending))
      .reduce((sum, name) => sum + gzipSync(readFileSync(join(folder, name))).length, 0);
  assert.ok(packed(".js") > 1_000, "the scripts are missing");
  assert.ok(packed(".js") < 20_000, `${packed(".js")} bytes of scripts`);
  assert.ok(packed(".css") < 10_000, `${packed(".css")} bytes of stylesheet`);
});
