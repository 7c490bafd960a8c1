/** Small words and small elements, shared by the islands. */

/** What the person holds, as a workshop would call it. */
export const HERE = matchMedia("(pointer: coarse)").matches
  ? Math.min(screen.width, screen.height) < 600
    ? "phone"
    : "tablet"
  : "computer";

const NUMBERS = ["No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten"];

/** "Three entries wait" from a count. */
export function entriesWait(count: number): string {
  return `${NUMBERS[count] ?? count} ${count === 1 ? "entry waits" : "entries wait"}`;
}

/** Bytes in words, to two figures: "2.1 MB". */
export function size(bytes: number): string {
  const kilo = bytes / 1000;
  if (kilo < 1000) return `${Math.max(1, Math.round(kilo))} kB`;
  const mega = kilo / 1000;
  return `${mega < 10 ? mega.toFixed(1) : Math.round(mega)} MB`;
}

/** A time by the device's own clock: "15:07", with the day when it is not today. */
export function clock(iso: string): string {
  const at = new Date(iso);
  const time = at.toLocaleTimeString("en-GB", { hour: "2-digit", minute: "2-digit" });
  if (at.toDateString() === new Date().toDateString()) return time;
  return `${at.toLocaleDateString("en-GB", { day: "numeric", month: "short" })}, ${time}`;
}

/** An element with its attributes and children; text is always text, never markup. */
export function el<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  attributes: Record<string, string> = {},
  ...children: (Node | string)[]
): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  made.append(...children);
  return made;
}

/** A plain button, which never submits the form it stands in. */
export function button(text: string, press: () => void): HTMLButtonElement {
  const made = el("button", { type: "button", class: "btn" }, text);
  made.addEventListener("click", press);
  return made;
}

/** A random version 4 identifier; `crypto.randomUUID` does not exist on plain http addresses. */
export function uuid(): string {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6]! & 0x0f) | 0x40;
  bytes[8] = (bytes[8]! & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}
