/** The built user interface, for tests that need no server of ours. */

import { execFileSync } from "node:child_process";
import { existsSync, readdirSync, statSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

const UI = fileURLToPath(new URL("../../ui/", import.meta.url));
const BUILT = join(UI, "dist");

/** The folder with guidecoat.css, guidecoat.js and sw.js, built now if it is older than its source. */
export function builtUi() {
  if (process.env.GUIDECOAT_UI) return process.env.GUIDECOAT_UI;
  const built = join(BUILT, "guidecoat.js");
  if (!existsSync(built) || newest(join(UI, "src")) > statSync(built).mtimeMs) {
    const npm = (...words) => execFileSync("npm", words, { cwd: UI, stdio: "inherit" });
    if (!existsSync(join(UI, "node_modules"))) npm("ci");
    npm("run", "build");
  }
  return BUILT;
}

function newest(folder) {
  return Math.max(
    ...readdirSync(folder, { recursive: true }).map((name) => statSync(join(folder, String(name))).mtimeMs),
  );
}
