/**
 * The panels of a page, which all turn together: by hand on any of them, by the arrow keys, by the
 * sliders, or slowly by themselves. A frame is drawn only when something has changed.
 */

import { angle, say } from "../sliders";
import { Figure } from "./figure";
import { readMesh, readSphere } from "./read";
import { cannotTurn, controls } from "./says";
import { type Light, type Pose, type Shape, Studio } from "./studio";

/** How far a panel can be turned and tilted either way where no slider says, in degrees. */
const LIMITS = { turn: 70, tilt: 25 };
const SPIN_DEG_PER_S = 12;
const SPIN_MS = 60_000;
/** A frame that comes later than this turns no further: the page was held up. */
const LONGEST_FRAME_MS = 100;
/** Out of sight, a panel is drawn when the others have rested so long. */
const REST_MS = 200;

const SPIN = "[data-panel-spin]";

export class Turning {
  readonly #studio: Studio;
  readonly #figures = new Map<HTMLElement, Figure>();
  readonly #shapes = new Map<string, Promise<Shape>>();
  readonly #lights = new Map<string, Promise<Light>>();
  readonly #sight = new IntersectionObserver((entries) => this.#look(entries));
  #pose: Pose | undefined;
  #spin: { since: number; last: number; way: 1 | -1 } | undefined;
  #frame = 0;
  #rest: ReturnType<typeof setTimeout> | undefined;
  #over = false;

  constructor(canvas: OffscreenCanvas, context: WebGL2RenderingContext) {
    this.#studio = new Studio(canvas, context);
    canvas.addEventListener("webglcontextlost", () => this.#giveUp());
    // On the document: the controls may be drawn anew with the part of the page they stand in.
    document.addEventListener("input", ({ target }) => this.#follow(target));
    document.addEventListener("click", ({ target }) => {
      if (target instanceof Element && target.closest(SPIN)) this.#press();
    });
    document.addEventListener("visibilitychange", () => document.hidden && this.#still());
    matchMedia("(prefers-reduced-motion: reduce)").addEventListener("change", ({ matches }) => matches && this.#still());
    addEventListener("resize", () => this.#some((figure) => !figure.fits()) && this.#outdate());
  }

  /** Takes up the figures that are on the page now, and lets go of those that have left it. */
  hold(elements: HTMLElement[]): void {
    if (this.#over) return;
    for (const [element, figure] of this.#figures) {
      if (elements.includes(element)) continue;
      this.#sight.unobserve(element);
      figure.canvas.remove();
      this.#figures.delete(element);
    }
    this.#pose ??= begun(elements[0]);
    for (const element of elements) {
      const picture = element.querySelector("img");
      if (!picture || this.#figures.has(element)) continue;
      const figure = new Figure(element, picture, { by: (turn, tilt) => this.#by(turn, tilt), rest: () => this.#settle() });
      this.#figures.set(element, figure);
      this.#sight.observe(element);
      void this.#fetch(figure);
    }
    this.#tidy();
    this.#write();
  }

  async #fetch(figure: Figure): Promise<void> {
    const { mesh, left, right } = figure.wants;
    try {
      const [shape, one, other] = await Promise.all([
        this.#had(this.#shapes, mesh, (bytes) => this.#studio.shape(readMesh(bytes))),
        this.#lit(left),
        right ? this.#lit(right) : undefined,
      ]);
      figure.shown = { shape, left: one, right: other };
      this.#schedule();
    } catch (problem) {
      console.warn("guidecoat: a panel does not turn", problem);
      if (!this.#figures.has(figure.element)) return;
      figure.failed = true;
      cannotTurn("A panel could not be fetched for turning");
      this.#write();
    }
  }

  #lit(url: string): Promise<Light> {
    return this.#had(this.#lights, url, (bytes) => this.#studio.light(readSphere(bytes)));
  }

  /** What stands at an address, fetched once for all figures. */
  #had<T>(kept: Map<string, Promise<T>>, url: string, made: (bytes: ArrayBuffer) => T): Promise<T> {
    const coming = kept.get(url) ?? bytesOf(url).then(made);
    kept.set(url, coming);
    coming.catch(() => kept.delete(url));
    return coming;
  }

  /** Lets go of what no figure shows any more: a wish that is being changed has a sphere for every change. */
  #tidy(): void {
    const wanted = new Set([...this.#figures.values()].flatMap(({ wants }) => [wants.mesh, wants.left, wants.right]));
    for (const [url, shape] of this.#shapes) {
      if (wanted.has(url)) continue;
      this.#shapes.delete(url);
      shape.then(({ geometry }) => geometry.dispose(), () => {});
    }
    for (const [url, light] of this.#lights) {
      if (wanted.has(url)) continue;
      this.#lights.delete(url);
      light.then(({ map }) => map.dispose(), () => {});
    }
  }

  #follow(target: EventTarget | null): void {
    if (!(target instanceof HTMLInputElement) || !this.#pose || target.form !== controls()) return;
    const { name, checked } = target;
    const value = Number(target.value); // before holding still, which writes the sliders
    if (name === "turn" || name === "tilt") {
      this.#still();
      this.#move(name === "turn" ? value : this.#pose.turn, name === "tilt" ? value : this.#pose.tilt);
    } else if (name === "mark") {
      this.#pose.mark = checked;
      this.#outdate();
    }
  }

  #by(turn: number, tilt: number): void {
    if (!this.#pose) return;
    this.#still();
    this.#move(this.#pose.turn + turn, this.#pose.tilt + tilt);
  }

  #move(turn: number, tilt: number): void {
    if (!this.#pose) return;
    this.#pose.turn = within("turn", turn);
    this.#pose.tilt = within("tilt", tilt);
    this.#write();
    this.#outdate();
  }

  /** At rest at whole degrees, as the sliders say them. */
  #settle(): void {
    if (this.#pose) this.#move(Math.round(this.#pose.turn), Math.round(this.#pose.tilt));
  }

  #press(): void {
    if (this.#spin) return this.#still();
    if (this.#over || !this.#some(({ seen, shown }) => seen && shown !== undefined)) return;
    const now = performance.now();
    this.#spin = { since: now, last: now, way: 1 };
    this.#write();
    this.#schedule();
  }

  #still(): void {
    if (!this.#spin) return;
    this.#spin = undefined;
    this.#settle();
  }

  #step(now: number): void {
    const spin = this.#spin;
    const pose = this.#pose;
    if (!spin || !pose) return;
    if (now - spin.since > SPIN_MS) return this.#still();
    const turn = pose.turn + (spin.way * SPIN_DEG_PER_S * Math.min(LONGEST_FRAME_MS, Math.max(0, now - spin.last))) / 1000;
    spin.last = now;
    if (turn !== within("turn", turn)) spin.way = turn > 0 ? -1 : 1;
    this.#move(turn, pose.tilt);
  }

  #look(entries: IntersectionObserverEntry[]): void {
    for (const { target, isIntersecting } of entries) {
      const figure = this.#figures.get(target as HTMLElement);
      if (figure) figure.seen = isIntersecting;
    }
    if (!this.#some(({ seen }) => seen)) this.#still();
    this.#schedule();
  }

  #outdate(): void {
    for (const figure of this.#figures.values()) figure.outdate();
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => {
      this.#rest = undefined;
      this.#schedule();
    }, REST_MS);
    this.#schedule();
  }

  #schedule(): void {
    if (!this.#over) this.#frame ||= requestAnimationFrame((now) => this.#draw(now));
  }

  #draw(now: number): void {
    this.#frame = 0;
    this.#step(now);
    const pose = this.#pose;
    if (!pose || this.#over) return;
    const words = `${angle(pose.turn, "to the left", "to the right", "straight on")}, ${angle(pose.tilt, "up", "down", "level")}`;
    const resting = this.#rest === undefined;
    try {
      for (const figure of this.#figures.values()) {
        // The first time in any case: what is not in sight yet may be looked at next.
        if (figure.stale && (figure.seen || resting || !figure.canvas.isConnected)) figure.draw(this.#studio, pose, words);
      }
    } catch (problem) {
      console.warn("guidecoat: panels do not turn", problem);
      return this.#giveUp();
    }
    if (this.#spin) this.#schedule();
  }

  /** Brings the controls to what the panels show. */
  #write(): void {
    const form = controls();
    if (!form || !this.#pose || this.#over) return;
    for (const name of ["turn", "tilt"] as const) {
      const input = slider(name);
      if (!input) continue;
      input.value = String(this.#pose[name]);
      say(input);
    }
    const mark = form.querySelector<HTMLInputElement>("input[name=mark]");
    if (mark) mark.checked = this.#pose.mark;
    for (const still of form.querySelectorAll<HTMLElement>("[data-panel-still]")) still.hidden = !this.#some(({ failed }) => failed);
    for (const button of document.querySelectorAll<HTMLElement>(SPIN)) {
      const text = this.#spin ? "Hold still" : "Turn slowly by itself";
      if (button.textContent !== text) button.textContent = text;
      button.hidden = !this.#some(({ failed }) => !failed);
    }
  }

  #some(holds: (figure: Figure) => boolean): boolean {
    return [...this.#figures.values()].some(holds);
  }

  #giveUp(): void {
    if (this.#over) return;
    this.#still();
    this.#over = true;
    cancelAnimationFrame(this.#frame);
    clearTimeout(this.#rest);
    this.#sight.disconnect();
    for (const figure of this.#figures.values()) figure.giveUp();
    for (const still of document.querySelectorAll<HTMLElement>("[data-panel-still]")) still.hidden = false;
    for (const button of document.querySelectorAll<HTMLElement>(SPIN)) button.hidden = true;
    cannotTurn();
  }
}

function slider(name: "turn" | "tilt"): HTMLInputElement | null {
  return controls()?.querySelector<HTMLInputElement>(`input[name=${name}]`) ?? null;
}

/** As the controls stand, else as the first figure is drawn. */
function begun(first: HTMLElement | undefined): Pose {
  const of = (name: "turn" | "tilt") => within(name, Number(slider(name)?.value ?? first?.dataset[name] ?? 0) || 0);
  const mark = controls()?.querySelector<HTMLInputElement>("input[name=mark]");
  return { turn: of("turn"), tilt: of("tilt"), mark: mark ? mark.checked : first?.dataset.mark !== undefined };
}

function within(name: "turn" | "tilt", degrees: number): number {
  const { min, max } = slider(name) ?? {};
  const [least, most] = [min ? Number(min) : -LIMITS[name], max ? Number(max) : LIMITS[name]];
  return Math.min(most, Math.max(least, degrees));
}

async function bytesOf(url: string): Promise<ArrayBuffer> {
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
  return answer.arrayBuffer();
}
