/**
 * The part of three.js that the panel uses. The package has no types of its own, and those published
 * beside it bring seven packages along that nothing here needs.
 */
declare module "three" {
  export const FloatType: 1015;
  export const FrontSide: 0;
  export const GLSL3: "300 es";
  export const LinearSRGBColorSpace: "srgb-linear";
  export const NearestFilter: 1003;
  export const NoBlending: 0;
  export const NoToneMapping: 0;
  export const RGBAFormat: 1023;

  export class Color {
    setRGB(r: number, g: number, b: number): this;
  }

  class Object3D {
    readonly rotation: { set(x: number, y: number, z: number, order: "XYZ"): unknown };
    frustumCulled: boolean;
    add(...objects: Object3D[]): this;
  }

  export class Scene extends Object3D {}

  export class OrthographicCamera extends Object3D {
    constructor(left: number, right: number, top: number, bottom: number, near: number, far: number);
    top: number;
    bottom: number;
    near: number;
    far: number;
    updateProjectionMatrix(): void;
  }

  export class BufferAttribute {
    constructor(array: Float32Array | Uint32Array, itemSize: number);
  }

  export class BufferGeometry {
    setAttribute(name: string, attribute: BufferAttribute): this;
    setIndex(index: BufferAttribute): this;
    dispose(): void;
  }

  export class DataTexture {
    constructor(data: Float32Array, width: number, height: number, format: 1023, type: 1015);
    minFilter: 1003;
    magFilter: 1003;
    needsUpdate: boolean;
    dispose(): void;
  }

  export class RawShaderMaterial {
    constructor(parameters: {
      glslVersion: "300 es";
      vertexShader: string;
      fragmentShader: string;
      side: 0;
      blending: 0;
    });
    readonly uniforms: Record<string, { value: unknown }>;
    uniformsNeedUpdate: boolean;
  }

  export class Mesh extends Object3D {
    constructor(geometry: BufferGeometry, material: RawShaderMaterial);
    geometry: BufferGeometry;
    material: RawShaderMaterial;
  }

  export class WebGLRenderer {
    constructor(parameters: { canvas: OffscreenCanvas; context: WebGL2RenderingContext });
    readonly debug: { onShaderError: (() => void) | null };
    outputColorSpace: "srgb-linear";
    toneMapping: 0;
    setClearColor(colour: Color, alpha: number): void;
    setScissor(x: number, y: number, width: number, height: number): void;
    setScissorTest(on: boolean): void;
    setSize(width: number, height: number, updateStyle: boolean): void;
    render(scene: Scene, camera: OrthographicCamera): void;
  }
}
