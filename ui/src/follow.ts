/**
 * Keeps the page of work under way up to date in its place, so that nobody's reading or focus is
 * lost to a reload. Without scripts the page asks for itself anew.
 */

export function followWork(): void {
  const part = document.querySelector<HTMLElement>("[data-again]");
  if (part) setTimeout(() => void look(part), Number(part.dataset.again) * 1_000);
}

async function look(part: HTMLElement): Promise<void> {
  const text = await fetch(location.href).then((answer) => answer.text(), () => undefined);
  if (text !== undefined) {
    const fresh = new DOMParser().parseFromString(text, "text/html").querySelector("[data-again]");
    if (!fresh) return location.reload(); // it is done, or gone
    part.replaceChildren(...fresh.childNodes);
  }
  followWork();
}
