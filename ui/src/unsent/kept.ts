/**
 * Identifiers of entries that were kept. The Back button and a doubled tab bring old forms back
 * with an identifier that is used up; sent again with other words, the server would take them for
 * a repeat and those words would be lost.
 */

const KEY = "guidecoat.kept";
const MOST = 300;

function all(): string[] {
  try {
    const list: unknown = JSON.parse(localStorage.getItem(KEY) ?? "[]");
    return Array.isArray(list) ? list.filter((one) => typeof one === "string") : [];
  } catch {
    return [];
  }
}

export function wasKept(entry: string): boolean {
  return all().includes(entry);
}

export function noteKept(entry: string): void {
  try {
    localStorage.setItem(KEY, JSON.stringify([...all().filter((one) => one !== entry), entry].slice(-MOST)));
  } catch {
    // No room or no storage: only the guard against old forms is weaker.
  }
}
