/** The two forms in which the shop's computer sends a panel: its mesh, and the light that a paint sends to the eye. */

const MOST_VERTICES = 200_000;
const MOST_INDICES = 1_200_000;
/** From here on the margin of the map holds every neighbour that the look-up takes. */
const LEAST_SIDE = 18;
const MOST_SIDE = 1024;
const MOST_GLINTS = 16;
const HEAD_BYTES = 8;

/** A panel as it stands at turn 0: millimetres, x to the right, y up, z to the eye. */
export interface MeshData {
  positions: Float32Array;
  normals: Float32Array;
  triangles: Uint32Array;
  /** The farthest vertex from the point about which the panel turns, in mm. */
  reach: number;
}

/** The light a paint sends to the eye, by the normal. */
export interface SphereData {
  side: number;
  /** RGBA, the lowest row first. */
  texels: Float32Array;
  glints: Glint[];
}

/** The mirror image of a lamp. */
export interface Glint {
  /** The unit direction to the lamp, then the sharpness. */
  lamp: Float32Array;
  /** Linear red, green and blue. */
  colour: Float32Array;
}

/** Reads a mesh; an error says what of it is not as agreed. */
export function readMesh(bytes: ArrayBuffer): MeshData {
  const [vertices, indices] = head(bytes);
  if (vertices < 3 || vertices > MOST_VERTICES) throw new Error(`${vertices} vertices, not 3 to ${MOST_VERTICES}`);
  if (indices < 3 || indices > MOST_INDICES || indices % 3) throw new Error(`${indices} indices of triangles, not 3 to ${MOST_INDICES}`);
  exactly(bytes, HEAD_BYTES + vertices * 24 + indices * 4);
  const positions = new Float32Array(bytes, HEAD_BYTES, vertices * 3);
  const normals = new Float32Array(bytes, HEAD_BYTES + vertices * 12, vertices * 3);
  const triangles = new Uint32Array(bytes, HEAD_BYTES + vertices * 24, indices);
  if (!positions.every(Number.isFinite) || !normals.every(Number.isFinite)) throw new Error("a vertex is no number");
  if (triangles.some((index) => index >= vertices)) throw new Error("a triangle names a vertex that is not there");
  let reach = 0;
  for (let at = 0; at < positions.length; at += 3) {
    reach = Math.max(reach, Math.hypot(positions[at]!, positions[at + 1]!, positions[at + 2]!));
  }
  return { positions, normals, triangles, reach };
}

/** Reads a sphere; an error says what of it is not as agreed. */
export function readSphere(bytes: ArrayBuffer): SphereData {
  const [side, count] = head(bytes);
  if (side < LEAST_SIDE || side > MOST_SIDE) throw new Error(`a map of ${side} texels across, not ${LEAST_SIDE} to ${MOST_SIDE}`);
  if (count > MOST_GLINTS) throw new Error(`${count} mirror images, more than ${MOST_GLINTS}`);
  exactly(bytes, HEAD_BYTES + count * 28 + side * side * 8);
  const sent = new Float32Array(bytes, HEAD_BYTES, count * 7);
  if (!sent.every(Number.isFinite)) throw new Error("a mirror image is no number");
  const glints = Array.from({ length: count }, (_, n) => ({
    lamp: sent.slice(n * 7, n * 7 + 4),
    colour: sent.slice(n * 7 + 4, n * 7 + 7),
  }));
  const halves = new Uint16Array(bytes, HEAD_BYTES + count * 28, side * side * 4);
  // All exponent bits set: infinite, or not a number.
  if (halves.some((half) => (half & 0x7c00) === 0x7c00)) throw new Error("a texel is no number");
  // Widened here, which loses nothing: drawn in software, half floats are widened anew at every look.
  return { side, texels: Float32Array.from(halves, widened), glints };
}

/** IEEE 754 binary16, finite. */
function widened(half: number): number {
  const power = (half >> 10) & 31;
  const fraction = half & 0x3ff;
  const size = power ? (1024 + fraction) * 2 ** (power - 25) : fraction * 2 ** -24;
  return half & 0x8000 ? -size : size;
}

function head(bytes: ArrayBuffer): [number, number] {
  if (bytes.byteLength < HEAD_BYTES) throw new Error(`${bytes.byteLength} bytes, too few`);
  const view = new DataView(bytes);
  return [view.getUint32(0, true), view.getUint32(4, true)];
}

function exactly(bytes: ArrayBuffer, length: number): void {
  if (bytes.byteLength !== length) throw new Error(`${bytes.byteLength} bytes where ${length} were announced`);
}
