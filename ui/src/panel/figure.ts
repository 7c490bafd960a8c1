/** One panel of a page: its canvas in place of its picture, and the hand on it. */

import { el } from "../words";
import type { Light, Pose, Shape, Studio } from "./studio";

/** A drag over the whole width turns so far, in degrees. */
const DRAG_DEG = 140;
const KEY_DEG = 5;
const KEYS: Record<string, [number, number]> = {
  ArrowLeft: [-KEY_DEG, 0],
  ArrowRight: [KEY_DEG, 0],
  ArrowUp: [0, -KEY_DEG],
  ArrowDown: [0, KEY_DEG],
};
/** The finest a canvas is drawn, as a multiple of the picture's own size. */
const FINEST = 2;

/** What the hand on a panel asks for. */
export interface Hand {
  /** Turn and tilt by so many degrees. */
  by(turn: number, tilt: number): void;
  /** It lets go. */
  rest(): void;
}

/** What a figure shows, once fetched. */
export interface Shown {
  shape: Shape;
  left: Light;
  right: Light | undefined;
}

export class Figure {
  readonly canvas: HTMLCanvasElement;
  shown: Shown | undefined;
  /** What it shows could not be had: its picture stays. */
  failed = false;
  /** Whether it is in the window, as far as is known. */
  seen = true;
  stale = true;
  #frames = 0;
  readonly #picture: HTMLImageElement;

  constructor(readonly element: HTMLElement, picture: HTMLImageElement, hand: Hand) {
    this.#picture = picture;
    this.canvas = el("canvas", { class: "panel-canvas", role: "img", tabindex: "0", "aria-label": picture.alt });
    this.#takeDrags(hand);
    this.canvas.addEventListener("keydown", (event) => {
      const way = KEYS[event.key];
      if (!way || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
      event.preventDefault();
      hand.by(...way);
      hand.rest();
    });
  }

  /** Where its shape and its paints are to be had. */
  get wants(): { mesh: string; left: string; right: string | undefined } {
    const { mesh = "", sphere = "", sphereRight } = this.element.dataset;
    return { mesh, left: sphere, right: sphereRight };
  }

  outdate(): void {
    this.stale = true;
    delete this.canvas.dataset.ready;
  }

  /** Whether it is drawn as fine as the window now asks for. */
  fits(): boolean {
    const [width, height] = this.#size();
    return this.canvas.width === width && this.canvas.height === height;
  }

  draw(studio: Studio, pose: Pose, words: string): void {
    const { shown, canvas } = this;
    if (!shown) return;
    const [width, height] = this.#size();
    const drawn = studio.draw(shown.shape, shown.left, shown.right, pose, width, height);
    if (!this.fits()) Object.assign(canvas, { width, height });
    canvas.getContext("bitmaprenderer", { alpha: false })?.transferFromImageBitmap(drawn);
    canvas.setAttribute("aria-label", `${this.#picture.alt}, turned ${words}`);
    canvas.dataset.frames = String((this.#frames += 1));
    canvas.dataset.ready = "";
    this.stale = false;
    if (canvas.isConnected) return;
    this.#picture.after(canvas);
    this.#picture.hidden = true;
  }

  /** Gives its place back to the picture. */
  giveUp(): void {
    this.canvas.remove();
    this.#picture.hidden = false;
  }

  /** The picture's own size, which is the size of what the shop's computer draws; more where the screen shows more. */
  #size(): [number, number] {
    const picture = this.#picture;
    const width = Number(picture.getAttribute("width")) || picture.naturalWidth || 960;
    const height = Number(picture.getAttribute("height")) || picture.naturalHeight || 540;
    const wide = this.canvas.isConnected ? this.canvas.clientWidth : picture.clientWidth;
    const finer = devicePixelRatio > 1 ? Math.min(FINEST, Math.max(1, (wide * devicePixelRatio) / width)) : 1;
    return [Math.round(width * finer), Math.round(height * finer)];
  }

  #takeDrags(hand: Hand): void {
    const { canvas } = this;
    let held: { pointer: number; x: number; y: number } | undefined;
    canvas.addEventListener("pointerdown", (event) => {
      if (held || event.button !== 0) return;
      held = { pointer: event.pointerId, x: event.clientX, y: event.clientY };
      canvas.setPointerCapture(event.pointerId);
    });
    canvas.addEventListener("pointermove", (event) => {
      if (event.pointerId !== held?.pointer) return;
      const perPixel = DRAG_DEG / Math.max(1, canvas.clientWidth);
      hand.by((event.clientX - held.x) * perPixel, (event.clientY - held.y) * perPixel);
      Object.assign(held, { x: event.clientX, y: event.clientY });
    });
    const letGo = (event: PointerEvent) => {
      if (event.pointerId !== held?.pointer) return;
      held = undefined;
      hand.rest();
    };
    canvas.addEventListener("pointerup", letGo);
    canvas.addEventListener("pointercancel", letGo);
  }
}
