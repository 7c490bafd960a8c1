/**
 * Draws panels, one after the other, on one canvas that stands on no page, and hands the pictures
 * over: a browser gives out few graphics contexts, and a page may show more panels than that.
 */

import {
  BufferAttribute,
  BufferGeometry,
  Color,
  DataTexture,
  FloatType,
  FrontSide,
  GLSL3,
  LinearSRGBColorSpace,
  Mesh,
  NearestFilter,
  NoBlending,
  NoToneMapping,
  OrthographicCamera,
  RawShaderMaterial,
  RGBAFormat,
  Scene,
  WebGLRenderer,
} from "three";
import type { Glint, MeshData, SphereData } from "./read";
import { fragment, VERTEX } from "./shader";

/** What the picture's width shows, in mm. */
const WIDTH_MM = 1000;
/** The share of a map's width that the hemisphere facing the eye takes. */
const INNER = 0.94;
/** The grey on which every colour page stands. */
const BACKGROUND = 0x77 / 255;
const DEGREE = Math.PI / 180;

/** How the panel is held: degrees. To the right and down are positive, as the panel faces. */
export interface Pose {
  turn: number;
  tilt: number;
  /** Whether what the screen cannot show is marked. */
  mark: boolean;
}

/** A panel's shape, on the graphics card. */
export interface Shape {
  geometry: BufferGeometry;
  reach: number;
}

/** A paint under a light, on the graphics card. */
export interface Light {
  map: DataTexture;
  side: number;
  glints: Glint[];
}

export class Studio {
  readonly #canvas: OffscreenCanvas;
  readonly #renderer: WebGLRenderer;
  readonly #scene = new Scene();
  readonly #camera = new OrthographicCamera(-WIDTH_MM / 2, WIDTH_MM / 2, 1, -1, -1, 1);
  readonly #mesh: Mesh;
  /** One for every count of mirror images, with the mark and without. */
  readonly #materials = new Map<string, RawShaderMaterial>();
  #faulty = false;

  constructor(canvas: OffscreenCanvas, context: WebGL2RenderingContext) {
    this.#canvas = canvas;
    this.#renderer = new WebGLRenderer({ canvas, context });
    // The shader encodes; nothing may do so again.
    this.#renderer.outputColorSpace = LinearSRGBColorSpace;
    this.#renderer.toneMapping = NoToneMapping;
    this.#renderer.setClearColor(new Color().setRGB(BACKGROUND, BACKGROUND, BACKGROUND), 1);
    this.#renderer.debug.onShaderError = () => (this.#faulty = true);
    this.#mesh = new Mesh(new BufferGeometry(), this.#material(0, false));
    this.#mesh.frustumCulled = false;
    this.#scene.add(this.#mesh);
  }

  shape({ positions, normals, triangles, reach }: MeshData): Shape {
    const geometry = new BufferGeometry()
      .setAttribute("position", new BufferAttribute(positions, 3))
      .setAttribute("normal", new BufferAttribute(normals, 3))
      .setIndex(new BufferAttribute(triangles, 1));
    return { geometry, reach };
  }

  light({ side, texels, glints }: SphereData): Light {
    const map = new DataTexture(texels, side, side, RGBAFormat, FloatType);
    map.minFilter = NearestFilter;
    map.magFilter = NearestFilter;
    map.needsUpdate = true;
    return { map, side, glints };
  }

  /** Draws a picture. Throws where the browser cannot. */
  draw(shape: Shape, left: Light, right: Light | undefined, pose: Pose, width: number, height: number): ImageBitmap {
    const renderer = this.#renderer;
    const canvas = this.#canvas;
    if (canvas.width !== width || canvas.height !== height) renderer.setSize(width, height, false);
    this.#look(shape.reach, height / width);
    this.#mesh.geometry = shape.geometry;
    this.#mesh.rotation.set(pose.tilt * DEGREE, pose.turn * DEGREE, 0, "XYZ");
    // The left half is the wider one of an odd width.
    const part = right ? Math.ceil(width / 2) : width;
    renderer.setScissorTest(right !== undefined);
    renderer.setScissor(0, 0, part, height);
    this.#paint(left, pose.mark, height);
    if (right) {
      renderer.setScissor(part, 0, width - part, height);
      this.#paint(right, pose.mark, height);
    }
    if (this.#faulty) throw new Error("the browser's graphics do not take the shader");
    return canvas.transferToImageBitmap();
  }

  #paint({ map, side, glints }: Light, mark: boolean, height: number): void {
    const material = this.#material(glints.length, mark);
    const { uniforms } = material;
    uniforms.map = { value: map };
    uniforms.texels = { value: [0.5 * INNER * side, 0.5 * side - 0.5] };
    uniforms.high = { value: height };
    for (const [n, { lamp, colour }] of glints.entries()) {
      uniforms[`lamp${n}`] = { value: lamp };
      uniforms[`colour${n}`] = { value: colour };
    }
    material.uniformsNeedUpdate = true;
    this.#mesh.material = material;
    this.#renderer.render(this.#scene, this.#camera);
  }

  #material(lamps: number, mark: boolean): RawShaderMaterial {
    const key = `${lamps} ${mark}`;
    const made =
      this.#materials.get(key) ??
      new RawShaderMaterial({
        glslVersion: GLSL3,
        vertexShader: VERTEX,
        fragmentShader: fragment(lamps, mark),
        side: FrontSide, // a panel is seen from its outside only
        blending: NoBlending,
      });
    this.#materials.set(key, made);
    return made;
  }

  /** The eye far away, straight before the panel. */
  #look(reach: number, tall: number): void {
    const camera = this.#camera;
    camera.top = (WIDTH_MM / 2) * tall;
    camera.bottom = -camera.top;
    camera.near = -reach - 1;
    camera.far = reach + 1;
    camera.updateProjectionMatrix();
  }
}
