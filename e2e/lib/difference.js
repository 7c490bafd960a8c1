/** CIEDE2000 between two screen colours, for tests that hold one picture against another. */

const linear = (code) => (code <= 0.04045 * 255 ? code / 255 / 12.92 : ((code / 255 + 0.055) / 1.055) ** 2.4);

/** CIELAB of sRGB codes (IEC 61966-2-1), against the screen's own white. */
function lab(codes) {
  const [r, g, b] = codes.map(linear);
  const xyz = [
    (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505,
    0.2126 * r + 0.7152 * g + 0.0722 * b,
    (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089,
  ];
  const [x, y, z] = xyz.map((t) => (t > (6 / 29) ** 3 ? Math.cbrt(t) : t / (3 * (6 / 29) ** 2) + 4 / 29));
  return [116 * y - 16, 500 * (x - y), 200 * (y - z)];
}

/** CIE 142-2001 (ISO/CIE 11664-6) of two CIELAB colours. */
export function ciede2000([l1, a1, b1], [l2, a2, b2]) {
  const degrees = Math.PI / 180;
  const seventh = (c) => Math.sqrt(c ** 7 / (c ** 7 + 25 ** 7));
  const stretch = 1 + 0.5 * (1 - seventh((Math.hypot(a1, b1) + Math.hypot(a2, b2)) / 2));
  const polar = (a, b) => [Math.hypot(a * stretch, b), ((Math.atan2(b, a * stretch) / degrees) + 360) % 360];
  const [[c1, h1], [c2, h2]] = [polar(a1, b1), polar(a2, b2)];
  const grey = c1 * c2 === 0;
  const turn = grey ? 0 : ((h2 - h1 + 540) % 360) - 180;
  const [dl, dc, dh] = [l2 - l1, c2 - c1, 2 * Math.sqrt(c1 * c2) * Math.sin((turn / 2) * degrees)];
  const [l, c] = [(l1 + l2) / 2, (c1 + c2) / 2];
  const h = grey ? h1 + h2 : (h1 + turn / 2 + 360) % 360;
  const wave = (k, at) => Math.cos((k * h + at) * degrees);
  const t = 1 - 0.17 * wave(1, -30) + 0.24 * wave(2, 0) + 0.32 * wave(3, 6) - 0.2 * wave(4, -63);
  const [sl, sc, sh] = [1 + (0.015 * (l - 50) ** 2) / Math.sqrt(20 + (l - 50) ** 2), 1 + 0.045 * c, 1 + 0.015 * c * t];
  const rotation = -Math.sin(2 * 30 * Math.exp(-(((h - 275) / 25) ** 2)) * degrees) * 2 * seventh(c);
  return Math.sqrt((dl / sl) ** 2 + (dc / sc) ** 2 + (dh / sh) ** 2 + rotation * (dc / sc) * (dh / sh));
}

/** CIEDE2000 of two screen colours, each as three codes of 255. */
export const apart = (one, other) => ciede2000(lab(one), lab(other));
