/** Makes the outline map kind to thumbs and to the keyboard. */

const REACH_PX = 24;
const SMALL_PX = 48;
const ARROWS: Record<string, [number, number]> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

export function steerOutlines(): void {
  for (const svg of document.querySelectorAll<SVGSVGElement>(".map svg")) {
    if (!svg.querySelector("a.z")) continue;
    svg.addEventListener("click", (event) => reachSmallZone(svg, event), { capture: true });
    svg.addEventListener("keydown", (event) => moveByArrow(svg, event));
    showChosen(svg);
  }
}

/** A touch beside a small zone means that zone. */
function reachSmallZone(svg: SVGSVGElement, event: MouseEvent): void {
  const touched = event instanceof PointerEvent && event.pointerType !== "mouse" && event.pointerType !== "";
  if (!touched || isSmall(zoneAt(svg, event.clientX, event.clientY))) return;
  const zone = nearestSmall(svg, event.clientX, event.clientY);
  if (!zone) return;
  event.preventDefault();
  event.stopPropagation();
  location.assign(zone.href.baseVal);
}

function zoneAt(svg: SVGSVGElement, x: number, y: number): SVGAElement | undefined {
  const zone = document.elementFromPoint(x, y)?.closest<SVGAElement>("a.z");
  return zone && svg.contains(zone) ? zone : undefined;
}

function isSmall(zone: SVGAElement | undefined): boolean {
  if (!zone) return false;
  const box = zone.getBoundingClientRect();
  return Math.min(box.width, box.height) < SMALL_PX;
}

/** Feels around the touch in rings, so that the shape counts and not its box. */
function nearestSmall(svg: SVGSVGElement, x: number, y: number): SVGAElement | undefined {
  for (let radius = 6; radius <= REACH_PX; radius += 6) {
    for (let step = 0; step < 12; step++) {
      const angle = (step * Math.PI) / 6;
      const zone = zoneAt(svg, x + radius * Math.cos(angle), y + radius * Math.sin(angle));
      if (isSmall(zone)) return zone;
    }
  }
  return undefined;
}

/** Moves to the nearest zone that way; straight ahead counts more than far to the side. */
function moveByArrow(svg: SVGSVGElement, event: KeyboardEvent): void {
  const way = ARROWS[event.key];
  const from = document.activeElement?.closest<SVGAElement>("a.z");
  if (!way || !from || event.altKey || event.ctrlKey || event.metaKey) return;
  event.preventDefault();
  const [x, y] = centre(from);
  let best: SVGAElement | undefined;
  let bestCost = Infinity;
  for (const zone of svg.querySelectorAll<SVGAElement>("a.z")) {
    const [zx, zy] = centre(zone);
    const ahead = (zx - x) * way[0] + (zy - y) * way[1];
    const aside = Math.abs((zx - x) * way[1]) + Math.abs((zy - y) * way[0]);
    const cost = ahead + 2 * aside;
    if (zone === from || ahead <= 1 || cost >= bestCost) continue;
    best = zone;
    bestCost = cost;
  }
  best?.focus();
}

function centre(zone: SVGAElement): [number, number] {
  const box = zone.getBoundingClientRect();
  return [box.x + box.width / 2, box.y + box.height / 2];
}

/** On a phone the drawing pans: begin where the chosen zone is. */
function showChosen(svg: SVGSVGElement): void {
  const pan = svg.closest<HTMLElement>(".map");
  const chosen = svg.querySelector<SVGAElement>(".z.on");
  if (!pan || !chosen || pan.scrollWidth <= pan.clientWidth) return;
  const box = chosen.getBoundingClientRect();
  const view = pan.getBoundingClientRect();
  pan.scrollLeft += box.x + box.width / 2 - view.x - view.width / 2;
}
