// First: without it pixi compiles code at run time, which the content security policy forbids.
import "pixi.js/unsafe-eval";
import "pixi.js/mesh";
import {
  BufferImageSource,
  Container,
  Geometry,
  Mesh,
  Shader,
  type TEXTURE_FORMATS,
  type TypedArray,
  UniformGroup,
  WebGLRenderer,
} from "pixi.js";
import { FRAME_SCALES, type FrameDisplay, type FrameLamp } from "../view-types.ts";
import { scaleEnds } from "./count-scale.ts";
import { type Affine, invert, type Size } from "./display-transform.ts";
import { FRAGMENT, VERTEX } from "./frame-shader.ts";
import { PALETTE_SIZE, paletteBytes } from "./palette.ts";
import { levelFor, type Pyramid, type PyramidLevel } from "./pyramid.ts";
import type { FrameSurface, Rgb, SurfaceColours } from "./surface.ts";

const MASK_STYLES = ["off", "hatched", "tinted"] as const;

type ShaderTextures = Record<"uCounts" | "uMask" | "uPalette" | "uBins", BufferImageSource>;

interface LevelTextures {
  readonly counts: BufferImageSource;
  readonly mask: BufferImageSource;
}

/** The frame through pixi: counts are a texture, scale and colour a shader. Range, scale, palette touch uniforms only. */
export class WebglSurface implements FrameSurface {
  readonly kind = "webgl";
  readonly canvas: HTMLCanvasElement;
  readonly #renderer: WebGLRenderer;
  readonly #stage = new Container();
  readonly #geometry: Geometry;
  readonly #shader: Shader;
  /** The shader's own table: what is put here is bound at the next drawing. */
  readonly #textures: ShaderTextures;
  readonly #uniforms: ReturnType<typeof frameUniforms>;
  readonly #palettes = new Map<string, BufferImageSource>();
  readonly #blank: {
    readonly counts: BufferImageSource;
    readonly mask: BufferImageSource;
    readonly bins: BufferImageSource;
  };
  readonly #largestSide: number;
  #bins: BufferImageSource | undefined;
  #levels: LevelTextures[] = [];
  #pyramid: Pyramid | undefined;
  #size: Size = { width: 1, height: 1 };

  private constructor(renderer: WebGLRenderer) {
    this.#renderer = renderer;
    this.canvas = renderer.canvas as HTMLCanvasElement;
    this.canvas.addEventListener("webglcontextrestored", this.#packRows);
    this.#packRows();
    this.#largestSide = renderer.gl.getParameter(renderer.gl.MAX_TEXTURE_SIZE) as number;
    this.#blank = {
      counts: source(new Float32Array(1), { width: 1, height: 1 }, "r32float"),
      mask: source(new Uint8Array(1), { width: 1, height: 1 }, "r8uint"),
      bins: source(new Int32Array([-1]), { width: 1, height: 1 }, "r32sint"),
    };
    this.#uniforms = frameUniforms();
    this.#shader = Shader.from({
      gl: { vertex: VERTEX, fragment: FRAGMENT, name: "frame" },
      resources: {
        frame: this.#uniforms,
        uCounts: this.#blank.counts,
        uMask: this.#blank.mask,
        uPalette: this.#palette("cividis"),
        uBins: this.#blank.bins,
      },
    });
    this.#textures = this.#shader.resources as ShaderTextures;
    this.#geometry = new Geometry({
      attributes: { aPosition: [0, 0, 1, 0, 1, 1, 0, 1] },
      indexBuffer: [0, 1, 2, 0, 2, 3],
    });
    this.#stage.addChild(new Mesh({ geometry: this.#geometry, shader: this.#shader }));
  }

  static #isThere: Promise<boolean> | undefined;

  /** Starts the machine's graphics. @returns whether there is WebGL 2 */
  static prepare(): Promise<boolean> {
    WebglSurface.#isThere ??= startGraphics();
    return WebglSurface.#isThere;
  }

  /** Undefined where there is no WebGL 2. */
  static async create(): Promise<WebglSurface | undefined> {
    if (!(await WebglSurface.prepare())) return undefined;
    const renderer = new WebGLRenderer();
    await renderer.init({
      width: 1,
      height: 1,
      resolution: 1,
      // The canvas keeps the view's size in CSS px where the screen has several pixels to one.
      autoDensity: true,
      backgroundAlpha: 0,
      antialias: false,
      skipExtensionImports: true,
      // Textures go when this surface lets them go: pixi would drop those of a picture that was left alone for a minute,
      // and the next change of a palette would hand all counts over again.
      gcActive: false,
      preferWebGLVersion: 2,
    });
    await graphicsAreReady(renderer.gl);
    return new WebglSurface(renderer);
  }

  setFrame(pyramid: Pyramid | undefined): void {
    this.#dropLevels();
    this.#pyramid = pyramid;
    this.#dropBins();
    if (!pyramid) return;
    const { width, height } = pyramid.level(0);
    this.#uniforms.uniforms.uFrame = new Float32Array([width, height]);
  }

  setDisplay(display: FrameDisplay): void {
    const ends = scaleEnds(display.scale, display.range);
    const { uniforms } = this.#uniforms;
    uniforms.uEnds = new Float32Array([ends.low, ends.high, Math.max(ends.floor, -3.0e38)]);
    uniforms.uScale = FRAME_SCALES.indexOf(display.scale);
    uniforms.uMaskStyle = MASK_STYLES.indexOf(display.maskStyle);
    this.#textures.uPalette = this.#palette(display.palette);
  }

  setColours({ accent, hatch, ground, bad }: SurfaceColours): void {
    const { uniforms } = this.#uniforms;
    uniforms.uAccent = vector(accent);
    uniforms.uHatch = vector(hatch);
    uniforms.uGround = vector(ground);
    uniforms.uBad = vector(bad);
  }

  setLamp(lamp: FrameLamp | undefined): void {
    const { uniforms } = this.#uniforms;
    const base = this.#pyramid?.level(0);
    const shown = lamp && base && this.#finestLevel(base) === 0;
    uniforms.uLampOn = shown ? 1 : 0;
    if (!shown) return;
    if (lamp.bins.length !== base.width * base.height)
      throw new RangeError(`bin map of ${lamp.bins.length} pixels on a frame of ${base.width} x ${base.height}`);
    uniforms.uLampBin = lamp.bin;
    if (this.#bins?.resource === lamp.bins) return;
    if (this.#bins) {
      this.#bins.resource = lamp.bins;
      this.#bins.update();
      return;
    }
    this.#bins = source(lamp.bins, base, "r32sint");
    this.#textures.uBins = this.#bins;
  }

  setView(transform: Affine, size: Size, pixelRatio: number): void {
    this.#size = size;
    this.#renderer.resize(size.width, size.height, pixelRatio);
    const { uniforms } = this.#uniforms;
    const { a, b, c, d, e, f } = invert(transform);
    uniforms.uInverse = new Float32Array([a, b, c, d]);
    uniforms.uOrigin = new Float32Array([e, f]);
    uniforms.uSize = new Float32Array([size.width, size.height]);
    const base = this.#pyramid?.level(0);
    if (!base) return;
    const scale = pixelRatio * Math.min(Math.hypot(transform.a, transform.b), Math.hypot(transform.c, transform.d));
    const k = Math.max(levelFor(scale, base.width, base.height), this.#finestLevel(base));
    uniforms.uLevel = k;
    const { counts, mask } = this.#level(k);
    this.#textures.uCounts = counts;
    this.#textures.uMask = mask;
  }

  draw(): void {
    this.#stage.visible = this.#pyramid !== undefined;
    this.#renderer.render({ container: this.#stage });
  }

  colourAt(x: number, y: number): readonly number[] {
    this.draw();
    const { gl, resolution } = this.#renderer;
    const bytes = new Uint8Array(4);
    const row = Math.floor((this.#size.height - y) * resolution);
    gl.readPixels(Math.floor(x * resolution), row, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, bytes);
    return [...bytes];
  }

  destroy(): void {
    this.canvas.removeEventListener("webglcontextrestored", this.#packRows);
    this.#dropLevels();
    this.#dropBins();
    for (const palette of this.#palettes.values()) palette.destroy();
    for (const texture of Object.values(this.#blank)) texture.destroy();
    this.#stage.destroy({ children: true });
    this.#geometry.destroy(true);
    this.#shader.destroy(true);
    this.#renderer.destroy({ removeView: true });
  }

  // Rows of bytes need not be a multiple of four long, which is what WebGL expects unless told.
  readonly #packRows = (): void => {
    const { gl } = this.#renderer;
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
  };

  /** The first level that fits a texture: 0 unless the frame is larger than the machine's largest texture. */
  #finestLevel({ width, height }: PyramidLevel): number {
    let k = 0;
    while (Math.max(width, height) > this.#largestSide * 2 ** k) k++;
    return k;
  }

  #level(k: number): LevelTextures {
    const known = this.#levels[k];
    if (known) return known;
    const level = (this.#pyramid as Pyramid).level(k);
    const made = { counts: source(level.values, level, "r32float"), mask: source(level.masked, level, "r8uint") };
    this.#levels[k] = made;
    return made;
  }

  #palette(name: FrameDisplay["palette"]): BufferImageSource {
    const known = this.#palettes.get(name);
    if (known) return known;
    const made = source(paletteBytes(name), { width: PALETTE_SIZE, height: 1 }, "rgba8unorm");
    this.#palettes.set(name, made);
    return made;
  }

  // Textures in use by the shader are swapped for blank ones before they go.
  #dropLevels(): void {
    this.#textures.uCounts = this.#blank.counts;
    this.#textures.uMask = this.#blank.mask;
    for (const textures of this.#levels) {
      textures?.counts.destroy();
      textures?.mask.destroy();
    }
    this.#levels = [];
  }

  #dropBins(): void {
    this.#uniforms.uniforms.uLampOn = 0;
    this.#textures.uBins = this.#blank.bins;
    this.#bins?.destroy();
    this.#bins = undefined;
  }
}

/** How often it is looked whether the graphics are ready, ms. */
const READY_CHECK = 10;

async function startGraphics(): Promise<boolean> {
  const probe = document.createElement("canvas").getContext("webgl2");
  if (!probe) return false;
  await graphicsAreReady(probe);
  probe.getExtension("WEBGL_lose_context")?.loseContext();
  return true;
}

/** Graphics take a while to start. A call that needs their answer before holds the whole page up, a fence does not. */
async function graphicsAreReady(gl: WebGL2RenderingContext): Promise<void> {
  const fence = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
  if (fence === null) return;
  gl.flush();
  while (!gl.isContextLost() && gl.getSyncParameter(fence, gl.SYNC_STATUS) === gl.UNSIGNALED)
    await new Promise((next) => setTimeout(next, READY_CHECK));
  gl.deleteSync(fence);
}

function source(
  resource: TypedArray,
  { width, height }: Size | PyramidLevel,
  format: TEXTURE_FORMATS,
): BufferImageSource {
  return new BufferImageSource({
    resource,
    width,
    height,
    format,
    scaleMode: "nearest",
    alphaMode: "no-premultiply-alpha",
    autoGenerateMipmaps: false,
  });
}

function vector([r, g, b]: Rgb): Float32Array<ArrayBuffer> {
  return new Float32Array([r, g, b]);
}

function frameUniforms() {
  return new UniformGroup({
    uSize: { value: new Float32Array([1, 1]), type: "vec2<f32>" },
    uInverse: { value: new Float32Array([1, 0, 0, 1]), type: "vec4<f32>" },
    uOrigin: { value: new Float32Array(2), type: "vec2<f32>" },
    uFrame: { value: new Float32Array(2), type: "vec2<f32>" },
    uEnds: { value: new Float32Array([0, 1, 0]), type: "vec3<f32>" },
    uScale: { value: 0, type: "i32" },
    uLevel: { value: 0, type: "i32" },
    uMaskStyle: { value: 0, type: "i32" },
    uLampOn: { value: 0, type: "i32" },
    uLampBin: { value: 0, type: "i32" },
    uAccent: { value: new Float32Array(3), type: "vec3<f32>" },
    uHatch: { value: new Float32Array(3), type: "vec3<f32>" },
    uGround: { value: new Float32Array(3), type: "vec3<f32>" },
    uBad: { value: new Float32Array(3), type: "vec3<f32>" },
  });
}
