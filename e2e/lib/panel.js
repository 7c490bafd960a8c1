/**
 * A panel and lights of made-up numbers in the form in which the program sends them, and the pixel that
 * must come of them, worked out here from the same numbers by the written look-up, in double precision.
 */

const WIDTH_MM = 1000;
const INNER = 0.94;
const BACKGROUND = [0x77, 0x77, 0x77];

/** A patch bent both ways with a crease across it; normals by its slopes, counter-clockwise from outside. */
export function patch(columns = 61, rows = 35) {
  const position = (u, v) => [520 * u, 260 * v, -160 * u * u - 90 * v * v + 25 * Math.tanh(9 * (v - 0.2)) + 80];
  const positions = [];
  const normals = [];
  const triangles = [];
  for (let row = 0; row < rows; row++) {
    for (let column = 0; column < columns; column++) {
      const [u, v] = [(2 * column) / (columns - 1) - 1, (2 * row) / (rows - 1) - 1];
      const slopeX = (-320 * u) / 520;
      const slopeY = (-180 * v + 225 * (1 - Math.tanh(9 * (v - 0.2)) ** 2)) / 260;
      const length = Math.hypot(slopeX, slopeY, 1);
      positions.push(position(u, v));
      normals.push([-slopeX / length, -slopeY / length, 1 / length]);
      if (!row || !column) continue;
      const d = row * columns + column;
      const [a, b, c] = [d - columns - 1, d - columns, d - 1];
      triangles.push([a, b, d], [a, d, c]);
    }
  }
  const rounded = (all) => all.map((one) => [...new Float32Array(one)]);
  return { positions: rounded(positions), normals: rounded(normals), triangles };
}

export function meshBytes({ positions, normals, triangles }) {
  const head = Uint32Array.of(positions.length, triangles.length * 3);
  const parts = [head, new Float32Array(positions.flat()), new Float32Array(normals.flat()), new Uint32Array(triangles.flat())];
  return Buffer.concat(parts.map((part) => Buffer.from(part.buffer)));
}

/** The nearest half float from below of a positive or negative number of ordinary size, as its 16 bits. */
function half(value) {
  if (value === 0) return 0;
  const power = Math.max(-14, Math.floor(Math.log2(Math.abs(value))));
  const fraction = Math.floor((Math.abs(value) / 2 ** power) * 1024);
  const bits = fraction < 1024 ? fraction : ((power + 15) << 10) | (fraction - 1024);
  return (value < 0 ? 0x8000 : 0) | bits;
}

/** IEEE 754 binary16. */
function fromHalf(bits) {
  const [power, fraction] = [(bits >> 10) & 31, bits & 1023];
  const size = power ? 2 ** (power - 15) * (1 + fraction / 1024) : 2 ** -14 * (fraction / 1024);
  return bits & 0x8000 ? -size : size;
}

/**
 * A light whose neighbouring texels differ plainly, so that a texel wrongly taken is seen; `excess` lifts
 * red past what a screen shows over part of it.
 */
export function lit({ side = 48, phase = 0, glints = [], excess = 0 } = {}) {
  const texels = [];
  for (let row = 0; row < side; row++) {
    for (let column = 0; column < side; column++) {
      const wave = (across, up) => 0.35 + 0.2 * Math.sin(across * column + up * row + phase);
      const rgb = [wave(0.7, 0.2), wave(-0.3, 0.5), wave(0.1, -0.8)];
      if (column > side * 0.6) rgb[0] += excess;
      texels.push([...rgb, 1].map(half));
    }
  }
  const lamps = glints.map(({ toward, sharpness, rgb }) => {
    const length = Math.hypot(...toward);
    return [...new Float32Array([...toward.map((x) => x / length), sharpness, ...rgb])];
  });
  return { side, texels, lamps };
}

export function sphereBytes({ side, texels, lamps }) {
  const parts = [Uint32Array.of(side, lamps.length), new Float32Array(lamps.flat()), new Uint16Array(texels.flat())];
  return Buffer.concat(parts.map((part) => Buffer.from(part.buffer)));
}

/** What a unit normal sends to the eye, linear. */
function sent({ side, texels, lamps }, [x, y, z]) {
  const scale = 1 / Math.sqrt(1 + Math.max(z, -0.2));
  const at = (part) => (part * scale * 0.5 * INNER + 0.5) * side - 0.5;
  const [s, t] = [at(x), at(y)];
  const [column, row] = [Math.floor(s), Math.floor(t)];
  const texel = (i, j) => texels[Math.min(side - 1, Math.max(0, j)) * side + Math.min(side - 1, Math.max(0, i))].map(fromHalf);
  const [a, b] = [s - column, t - row];
  const rgb = [0, 1, 2].map(
    (c) =>
      (1 - b) * ((1 - a) * texel(column, row)[c] + a * texel(column + 1, row)[c]) +
      b * ((1 - a) * texel(column, row + 1)[c] + a * texel(column + 1, row + 1)[c]),
  );
  // Fresnel's equations by the angles themselves; the shader has them by cosines.
  const inside = Math.acos(Math.min(1, z));
  const bent = Math.asin(Math.sin(inside) / 1.5);
  const across = Math.sin(inside - bent) / Math.sin(inside + bent);
  const along = Math.tan(inside - bent) / Math.tan(inside + bent);
  const share = inside < 1e-6 ? 0.04 : (across ** 2 + along ** 2) / 2;
  for (const [lx, ly, lz, sharpness, ...colour] of lamps) {
    const cosine = 2 * z * (x * lx + y * ly + z * lz) - lz;
    for (const c of [0, 1, 2]) rgb[c] += share * colour[c] * Math.exp(sharpness * (cosine - 1));
  }
  return rgb;
}

const encoded = (linear) => {
  const held = Math.min(1, Math.max(0, linear));
  return 255 * (held <= 0.0031308 ? 12.92 * held : 1.055 * held ** (1 / 2.4) - 0.055);
};

/** The panel turned, then tilted, in pixels of a picture so wide and high. */
function turned({ positions, normals, triangles }, turnDeg, tiltDeg, width, height) {
  const [a, b] = [turnDeg, tiltDeg].map((degrees) => (degrees * Math.PI) / 180);
  const turn = ([x, y, z]) => {
    const [right, near] = [x * Math.cos(a) + z * Math.sin(a), z * Math.cos(a) - x * Math.sin(a)];
    return [right, y * Math.cos(b) - near * Math.sin(b), y * Math.sin(b) + near * Math.cos(b)];
  };
  const perMm = width / WIDTH_MM;
  const places = positions.map(turn).map(([x, y, z]) => [width / 2 + x * perMm, height / 2 - y * perMm, z]);
  return { places, normals: normals.map(turn), near: sorted(places, triangles) };
}

/** Side of the squares in which triangles are looked for, in pixels. */
const CELL_PX = 16;

/** The triangles that may cover a pixel, by its square. */
function sorted(places, triangles) {
  const cells = new Map();
  for (const triangle of triangles) {
    const span = (k) => {
      const all = triangle.map((index) => places[index][k] / CELL_PX);
      return [Math.floor(Math.min(...all)), Math.floor(Math.max(...all))];
    };
    const [[left, right], [top, bottom]] = [span(0), span(1)];
    for (let x = left; x <= right; x++) {
      for (let y = top; y <= bottom; y++) cells.set(`${x} ${y}`, [...(cells.get(`${x} ${y}`) ?? []), triangle]);
    }
  }
  return (x, y) => cells.get(`${Math.floor(x / CELL_PX)} ${Math.floor(y / CELL_PX)}`) ?? [];
}

/** The unit normal that a pixel's centre shows, or none. */
function normalAt({ places, normals, near }, column, row) {
  const [px, py] = [column + 0.5, row + 0.5];
  let nearest;
  for (const triangle of near(px, py)) {
    const [p, q, r] = triangle.map((index) => places[index]);
    const area = (q[0] - p[0]) * (r[1] - p[1]) - (r[0] - p[0]) * (q[1] - p[1]);
    if (area >= 0) continue; // y runs down: those facing the eye are negative
    const part = (from, to) => ((to[0] - from[0]) * (py - from[1]) - (px - from[0]) * (to[1] - from[1])) / area;
    const parts = [part(q, r), part(r, p), part(p, q)];
    if (parts.some((one) => one < 0)) continue;
    const mixed = (all, k) => parts.reduce((sum, one, corner) => sum + one * all[triangle[corner]][k], 0);
    const z = mixed(places, 2);
    const normal = [0, 1, 2].map((k) => mixed(normals, k));
    if (normal[2] > 0 && (!nearest || z > nearest.z)) nearest = { z, normal };
  }
  if (!nearest) return undefined;
  const length = Math.hypot(...nearest.normal);
  return nearest.normal.map((one) => one / length);
}

/** What a picture of the panel must show: `pixel(column, row)` gives codes, unrounded, and whether a screen can show them. */
export function picture(mesh, left, { right, turn = 0, tilt = 0, width, height }) {
  const laid = turned(mesh, turn, tilt, width, height);
  return {
    /** Whether the pixel and those two away all lie on the panel: away from an edge by more than its drawing may differ. */
    inside: (column, row) =>
      [[0, 0], [2, 0], [-2, 0], [0, 2], [0, -2]].every(([x, y]) => normalAt(laid, column + x, row + y)),
    pixel(column, row) {
      const normal = normalAt(laid, column, row);
      if (!normal) return { codes: BACKGROUND, panel: false, shown: true };
      const linear = sent(right && 2 * column >= width ? right : left, normal);
      return { codes: linear.map(encoded), panel: true, shown: linear.every((one) => one >= -0.002 && one <= 1.002) };
    },
  };
}
