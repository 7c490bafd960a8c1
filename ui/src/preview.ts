/**
 * Shows a chosen photograph at once, drawn on a canvas: an image element would need blob addresses
 * in the content policy.
 */

import { el, size } from "./words";

const WIDEST_PX = 640;

export function showPictures(): void {
  for (const input of document.querySelectorAll<HTMLInputElement>("form[data-queue] input[type=file]")) {
    const figure = el("figure", { class: "photo", hidden: "" });
    (input.closest(".field") ?? input).after(figure);
    input.addEventListener("change", () => void show(input, figure));
    input.form?.addEventListener("reset", () => (figure.hidden = true));
  }
}

async function show(input: HTMLInputElement, figure: HTMLElement): Promise<void> {
  const file = input.files?.[0];
  figure.hidden = !file;
  if (!file) return;
  const caption = el("figcaption", {}, `${size(file.size)}. Kept when you press Keep.`);
  try {
    const picture = await createImageBitmap(file, { resizeWidth: WIDEST_PX, resizeQuality: "medium" });
    if (input.files?.[0] !== file) return;
    const canvas = el("canvas", { role: "img", "aria-label": "The chosen photograph" });
    canvas.width = picture.width;
    canvas.height = picture.height;
    canvas.getContext("2d")?.drawImage(picture, 0, 0);
    picture.close();
    figure.replaceChildren(canvas, caption);
  } catch {
    figure.replaceChildren(el("figcaption", {}, `${size(file.size)}. This browser cannot show it; the shop's computer will say whether it takes it.`));
  }
}
