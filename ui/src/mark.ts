/**
 * The place of a photograph: a tap on the outline inside a form with `mark_view`, `mark_u` and
 * `mark_v` puts a mark there, in mm of the body. The svg says how: `data-view`, `data-u0` (u at
 * its left edge, mm), `data-v1` (v at its top edge, mm) and `data-mm-per-px` (mm for one unit of
 * its own coordinates). Without scripts a photograph simply has no mark.
 */

import { button, el } from "./words";

const SVG = "http://www.w3.org/2000/svg";
const FIELDS = ["mark_view", "mark_u", "mark_v"] as const;
const STEP_MM = 20;
const ARROWS: Record<string, [number, number]> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
};

interface Sheet {
  svg: SVGSVGElement;
  view: string;
  u0: number;
  v1: number;
  mmPerPx: number;
}

export function markPlaces(): void {
  for (const form of document.querySelectorAll<HTMLFormElement>("form:has(input[name=mark_view])")) {
    const sheets = [...form.querySelectorAll<SVGSVGElement>(".map svg[data-view]")].map(read).filter((one) => !!one);
    if (sheets.length > 0) new Marker(form, sheets);
  }
}

function read(svg: SVGSVGElement): Sheet | undefined {
  const { view = "", u0, v1, mmPerPx } = svg.dataset;
  const sheet = { svg, view, u0: Number(u0), v1: Number(v1), mmPerPx: Number(mmPerPx) };
  const usable = Number.isFinite(sheet.u0) && Number.isFinite(sheet.v1) && sheet.mmPerPx > 0;
  return usable ? sheet : undefined;
}

class Marker {
  #inputs: HTMLInputElement[];
  #sheets: Sheet[];
  #drawn: SVGGElement | undefined;
  #say = el("span", { role: "status" });
  #tools: HTMLElement;

  constructor(form: HTMLFormElement, sheets: Sheet[]) {
    this.#sheets = sheets;
    this.#inputs = FIELDS.map((name) => form.querySelector<HTMLInputElement>(`input[name=${name}]`)!).filter(Boolean);
    const away = button("Take the mark away", () => this.#set("", "", ""));
    this.#tools = el("p", { class: "row", hidden: "" }, this.#say, away);
    for (const sheet of sheets) this.#listen(sheet);
    sheets.at(-1)!.svg.closest(".map")!.after(this.#tools);
    form.addEventListener("reset", () => this.#set("", "", ""));
    this.#draw();
  }

  #listen(sheet: Sheet): void {
    const { svg } = sheet;
    svg.dataset.marks = "";
    svg.setAttribute("tabindex", "0");
    svg.addEventListener("click", (event) => {
      event.preventDefault();
      const matrix = svg.getScreenCTM();
      if (!matrix) return;
      const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(matrix.inverse());
      this.#place(sheet, sheet.u0 + at.x * sheet.mmPerPx, sheet.v1 - at.y * sheet.mmPerPx);
    });
    svg.addEventListener("keydown", (event) => {
      const way = ARROWS[event.key];
      if (!way && event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      const [view, u, v] = this.#inputs.map((input) => input.value);
      const box = svg.viewBox.baseVal;
      const here = view === sheet.view && u !== "";
      const fromU = here ? Number(u) : sheet.u0 + (box.x + box.width / 2) * sheet.mmPerPx;
      const fromV = here ? Number(v) : sheet.v1 - (box.y + box.height / 2) * sheet.mmPerPx;
      const step = here ? STEP_MM * (event.shiftKey ? 5 : 1) : 0;
      this.#place(sheet, fromU + (way?.[0] ?? 0) * step, fromV + (way?.[1] ?? 0) * step);
    });
  }

  /** Puts the mark at u, v (mm), held to the drawing. */
  #place(sheet: Sheet, u: number, v: number): void {
    const box = sheet.svg.viewBox.baseVal;
    const x = Math.min(Math.max((u - sheet.u0) / sheet.mmPerPx, box.x), box.x + box.width);
    const y = Math.min(Math.max((sheet.v1 - v) / sheet.mmPerPx, box.y), box.y + box.height);
    this.#set(sheet.view, String(Math.round(sheet.u0 + x * sheet.mmPerPx)), String(Math.round(sheet.v1 - y * sheet.mmPerPx)));
  }

  #set(...values: [string, string, string]): void {
    this.#inputs.forEach((input, index) => (input.value = values[index]!));
    this.#draw();
  }

  #draw(): void {
    this.#drawn?.remove();
    const [view, u, v] = this.#inputs.map((input) => input.value);
    const sheet = this.#sheets.find((one) => one.view === view);
    this.#tools.hidden = !sheet || !u || !v;
    if (!sheet || !u || !v) return;
    const x = (Number(u) - sheet.u0) / sheet.mmPerPx;
    const y = (sheet.v1 - Number(v)) / sheet.mmPerPx;
    this.#drawn = document.createElementNS(SVG, "g");
    for (const kind of ["place-gap", "place"]) {
      const path = document.createElementNS(SVG, "path");
      path.setAttribute("class", kind);
      path.setAttribute("d", `M${x - 14} ${y}a14 14 0 1 0 28 0a14 14 0 1 0 -28 0M${x - 22} ${y}h16M${x + 6} ${y}h16M${x} ${y - 22}v16M${x} ${y + 6}v16`);
      this.#drawn.append(path);
    }
    sheet.svg.append(this.#drawn);
    this.#say.textContent = "The place is marked.";
  }
}
