/** The program under test: `$GUIDECOAT_BIN serve` on a database of its own. */

import { spawn } from "node:child_process";
import { mkdtemp, rm } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { createInterface } from "node:readline";

const START_MS = 120_000;
const STOP_MS = 20_000;

/**
 * Starts the built binary with a fresh database and resolves to `{ url, folder, stop }` once it
 * says where it listens. `stop` ends it and removes its folder. `host` is another name by which it
 * may be addressed.
 */
export async function start({ host } = {}) {
  const binary = process.env.GUIDECOAT_BIN;
  if (!binary) throw new Error("set GUIDECOAT_BIN to the built program, for example target/release/guidecoat");
  const folder = await mkdtemp(join(tmpdir(), "guidecoat-e2e-"));
  const database = `sqlite:${join(folder, "shop.sqlite")}`;
  const child = spawn(binary, ["serve", "--listen", "127.0.0.1:0", "--database", database, ...(host ? ["--host", host] : [])], {
    cwd: folder,
    stdio: ["ignore", "pipe", "pipe"],
  });
  let errors = "";
  child.stderr.on("data", (chunk) => (errors = (errors + chunk).slice(-4000)));
  const ended = new Promise((resolve) => {
    child.once("exit", (code) => resolve(`code ${code}`));
    child.once("error", resolve);
  });
  const stop = async () => {
    child.kill("SIGTERM");
    const late = setTimeout(() => child.kill("SIGKILL"), STOP_MS);
    await ended;
    clearTimeout(late);
    await rm(folder, { recursive: true, force: true });
  };
  try {
    return { url: await listening(child, ended, () => errors), folder, stop };
  } catch (problem) {
    await stop();
    throw problem;
  }
}

function listening(child, ended, errors) {
  return new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`no address within ${START_MS} ms\n${errors()}`)), START_MS);
    createInterface({ input: child.stdout }).on("line", (line) => {
      const found = /listening on (http:\/\/\S+)/.exec(line);
      if (!found) return;
      clearTimeout(late);
      resolve(found[1].replace(/\/$/, ""));
    });
    ended.then((how) => reject(new Error(`the program ended with ${how} before it listened\n${errors()}`)));
  });
}
