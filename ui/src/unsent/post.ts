/** One entry to the server and what came of it. */

import type { Field } from "./store";

export type Answer =
  | { kind: "kept"; go: string }
  /** `ours` when the words are the server's own; else something on the way refused it. */
  | { kind: "refused"; status: number; say: string; ours: boolean }
  | { kind: "unreached"; status: number };

/** These ask for another try later, not for a change. */
const LATER = [408, 425, 429];

/**
 * Posts one entry. Only an answer in guidecoat's own words counts as kept: a sign-in page of a
 * guest network also answers 200.
 */
export async function post(action: string, body: FormData, limitMs: number): Promise<Answer> {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), limitMs);
  try {
    const response = await fetch(action, {
      method: "POST",
      body,
      headers: { Accept: "application/json" },
      credentials: "same-origin",
      redirect: "manual",
      signal: stop.signal,
    });
    const said: unknown = await response.json().catch(() => undefined);
    const words = typeof said === "object" && said !== null ? (said as Record<string, unknown>) : {};
    const { status } = response;
    if (response.ok && typeof words.kept === "number") {
      return { kind: "kept", go: typeof words.go === "string" ? words.go : "" };
    }
    if (status >= 400 && status < 500 && !LATER.includes(status)) {
      return typeof words.say === "string"
        ? { kind: "refused", status, say: words.say, ours: true }
        : { kind: "refused", status, say: wordless(status), ours: false };
    }
    return { kind: "unreached", status };
  } catch {
    return { kind: "unreached", status: 0 };
  } finally {
    clearTimeout(timer);
  }
}

/** What to say of a refusal that came without guidecoat's own words. */
function wordless(status: number): string {
  if (status === 401) return "Sign in first; then it goes by itself.";
  if (status === 413) return "It is bigger than the shop's computer takes.";
  return "Something between here and the shop's computer refused it.";
}

/** Whether the shop's computer answers at all. */
export async function reachable(): Promise<boolean> {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), 5_000);
  try {
    return (await fetch("/ui/guidecoat.css", { method: "HEAD", cache: "no-store", signal: stop.signal })).ok;
  } catch {
    return false;
  } finally {
    clearTimeout(timer);
  }
}

/** The fields of a form as they can be stored: files read into memory, since a phone's camera
 * file may be gone by the time the signal is back. Empty file fields are left out. */
export async function toFields(body: FormData): Promise<Field[]> {
  const fields: Field[] = [];
  for (const [name, value] of body) {
    if (typeof value === "string") fields.push({ name, value });
    else if (value.size > 0) fields.push({ name, file: value.name, type: value.type, bytes: await value.arrayBuffer() });
  }
  return fields;
}

/** The other way round. */
export function toBody(fields: Field[]): FormData {
  const body = new FormData();
  for (const field of fields) {
    if ("value" in field) body.append(field.name, field.value);
    else body.append(field.name, new File([field.bytes], field.file, { type: field.type }));
  }
  return body;
}

/** Bytes of all fields, near enough for limits. */
export function bytesOf(body: FormData): number {
  let bytes = 0;
  for (const [name, value] of body) bytes += name.length + (typeof value === "string" ? value.length : value.size);
  return bytes;
}
