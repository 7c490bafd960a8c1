/**
 * The look-up of a panel's pixel. The program on the shop's computer draws its pictures by the same
 * one, so that a turned panel and a sent picture agree. Nothing of three.js lights or shades here.
 */

export const VERTEX = `
precision highp float;
uniform mat4 modelViewMatrix;
uniform mat4 projectionMatrix;
in vec3 position;
in vec3 normal;
out vec3 facing;

void main() {
  facing = mat3(modelViewMatrix) * normal;
  gl_Position = projectionMatrix * modelViewMatrix * vec4(position, 1.0);
}
`;

/**
 * The pixel of a paint under a light with so many mirror images of lamps. A text for each count, and the
 * loop written out: drawn in software, a loop over uniforms costs more than all the rest.
 */
export function fragment(lamps: number, mark: boolean): string {
  const each = (line: (n: number) => string) => Array.from({ length: lamps }, (_, n) => line(n)).join("\n  ");
  return `
precision highp float;
precision highp int;
precision highp sampler2D;

// The light sent to the eye, by the normal; from the unit disc to texels: scale and middle.
uniform sampler2D map;
uniform vec2 texels;
// Of each mirror image of a lamp: the direction to it and its sharpness, then its colour.
${each((n) => `uniform vec4 lamp${n};
uniform vec3 colour${n};`)}
uniform int high;

in vec3 facing;
out vec4 pixel;

// By hand: what a sampler does between texels differs between graphics cards, and may round to 8 bits.
vec3 mapped(vec3 n) {
  // Lambert's azimuthal equal-area projection, the equator at radius 1.
  vec2 at = n.xy * (inversesqrt(1.0 + n.z) * texels.x) + texels.y;
  vec2 whole = floor(at);
  vec2 part = at - whole;
  ivec2 low = ivec2(whole);
  vec3 below = mix(texelFetch(map, low, 0).rgb, texelFetchOffset(map, low, 0, ivec2(1, 0)).rgb, part.x);
  vec3 above = mix(texelFetchOffset(map, low, 0, ivec2(0, 1)).rgb, texelFetchOffset(map, low, 0, ivec2(1, 1)).rgb, part.x);
  return mix(below, above, part.y);
}

// Fresnel, unpolarised, from air into an index of 1.5; over one denominator.
float mirrored(float inside) {
  float bent = sqrt(1.0 - (1.0 - inside * inside) / 2.25);
  float across = inside + 1.5 * bent;
  float along = 1.5 * inside + bent;
  vec2 sent = vec2((inside - 1.5 * bent) * along, (1.5 * inside - bent) * across) / (across * along);
  return 0.5 * dot(sent, sent);
}

// k (r.l - 1) of unit vectors is -k/2 |r - l|^2, which keeps its figures where r.l is all but 1.
float shine(vec4 lamp, vec3 reflected) {
  vec3 off = reflected - lamp.xyz;
  return exp(-0.5 * lamp.w * dot(off, off));
}

// IEC 61966-2-1.
vec3 encoded(vec3 linear) {
  vec3 curve = 1.055 * pow(max(linear, vec3(0.0031308)), vec3(1.0 / 2.4)) - 0.055;
  return mix(curve, 12.92 * linear, lessThanEqual(linear, vec3(0.0031308)));
}

void main() {
  vec3 n = normalize(facing);
  if (!(n.z > 0.0)) discard;
  vec3 light = mapped(n);
  ${lamps ? "vec3 reflected = vec3(2.0 * n.z * n.xy, 2.0 * n.z * n.z - 1.0);\n  float share = mirrored(n.z);" : ""}
  ${each((n) => `light += share * shine(lamp${n}, reflected) * colour${n};`)}
  vec3 code = encoded(clamp(light, 0.0, 1.0));
  ${mark ? MARK : ""}
  pixel = vec4(code, 1.0);
}
`;
}

/** What the screen cannot show: a checker of two pixels, counted from the upper left. */
const MARK = `if (any(lessThan(light, vec3(-0.002))) || any(greaterThan(light, vec3(1.002)))) {
    ivec2 at = ivec2(gl_FragCoord.xy);
    at.y = high - 1 - at.y;
    code = vec3(float(((at.x >> 1) + (at.y >> 1)) & 1));
  }`;
