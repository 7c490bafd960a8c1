/** Sends what waits: one at a time, in order, once, from one tab. */

import { uuid } from "../words";
import { noteKept } from "./kept";
import { post, reachable, toBody } from "./post";
import { fieldsOf, lease, leave, list, release, remove, RENEW_MS, update, type Waiting } from "./store";

/** Why we try: the clock, a page that has just opened (perhaps after signing in), or a person. */
export type Cause = "clock" | "opened" | "asked";

/** What a run of sending is doing, for the list to show. */
export interface Progress {
  at: number;
  of: number;
}

/** After so many failures while the server answers others, an entry no longer holds up the rest. */
const MOST_TRIES = 3;
const others = "BroadcastChannel" in window ? new BroadcastChannel("guidecoat-unsent") : undefined;
const listeners: ((progress?: Progress) => void)[] = [];
/** The name of the run of sending that goes on here. */
let running: string | undefined;
/** What was asked for while a run was going on. */
let again: Cause | undefined;
/** Set while another tab has the right to send and we mean to ask once more. */
let later: number | undefined;
let gone = 0;

// A page that is left gives its right to send to the next one at once.
addEventListener("pagehide", () => running && leave(running));

/** Calls `listener` whenever what waits has changed, in this tab or another. */
export function onChange(listener: (progress?: Progress) => void): void {
  listeners.push(listener);
  others?.addEventListener("message", () => listener());
}

/** Tells this tab and the others. */
export function changed(progress?: Progress): void {
  for (const listener of listeners) listener(progress);
  others?.postMessage("changed");
}

/** How many have gone since this page was opened. */
export function sentHere(): number {
  return gone;
}

/** Thirty seconds, and one more for each 20 kB; at most five minutes. */
function limitMs(bytes: number): number {
  return Math.min(30_000 + bytes / 20, 300_000);
}

/** Sends until nothing is left to send, the signal goes, or another tab is at it. */
export async function sendWaiting(cause: Cause): Promise<void> {
  if (running) {
    if (cause !== "clock") again = cause;
    return;
  }
  const me = (running = uuid());
  const renewing = setInterval(() => void lease(me).catch(() => {}), RENEW_MS);
  try {
    if (!(await lease(me))) {
      // Another tab is at it, or one that was closed has not given up its right yet.
      clearTimeout(later);
      later = window.setTimeout(() => void sendWaiting(cause), RENEW_MS);
      return;
    }
    const due = (await list()).filter((head) => isDue(head, cause));
    for (const [index, head] of due.entries()) {
      const fields = await fieldsOf(head.order);
      if (!fields) continue; // another tab has sent it meanwhile
      changed({ at: index + 1, of: due.length });
      if (!(await sendOne(head, toBody(fields)))) break;
    }
  } catch (problem) {
    console.warn("guidecoat: the unsent entries could not be read", problem);
  } finally {
    clearInterval(renewing);
    await release(me).catch(() => {});
    running = undefined;
    changed();
    const next = again;
    again = undefined;
    if (next) void sendWaiting(next);
  }
}

function isDue(head: Waiting, cause: Cause): boolean {
  if (!head.refused || cause === "asked") return true;
  return cause === "opened" && head.refused.status === 401;
}

/** Sends one; true when the next may be tried. */
async function sendOne(head: Waiting, body: FormData): Promise<boolean> {
  const answer = await post(head.action, body, limitMs(head.bytes));
  if (answer.kind === "kept") {
    noteKept(head.entry);
    await remove(head.entry);
    gone += 1;
    return true;
  }
  if (answer.kind === "refused") {
    await update({ ...head, refused: { status: answer.status, say: answer.say } });
    return answer.status !== 401; // not signed in: the rest would fare the same
  }
  if (answer.status !== 0 || !(await reachable())) return false;
  // The computer answers, yet this one does not get through: too big for it, or for the signal.
  const tries = head.tries + 1;
  const say = `It did not get through ${tries} times, although the shop's computer answers.`;
  await update({ ...head, tries, ...(tries >= MOST_TRIES && { refused: { status: 0, say } }) });
  return true;
}
