import { HATCH_PERIOD, HATCH_WIDTH, LAMP_DARKEST, LAMP_DIM, MASK_VEIL } from "./surface.ts";

/** One quad over the whole view; the fragment finds its own pixel, so pan and zoom are six numbers. */
export const VERTEX = `#version 300 es
in vec2 aPosition;
out vec2 vScreen;
uniform vec2 uSize;
void main() {
  vScreen = vec2(aPosition.x, 1.0 - aPosition.y) * uSize;
  gl_Position = vec4(aPosition * 2.0 - 1.0, 0.0, 1.0);
}`;

/**
 * texelFetch throughout: no filtering, no half-texel error. uEnds is the scale (see count-scale.ts): low, high, floor.
 * Values that aren't finite are told by their bits, as a compiler may fold v == v.
 */
export const FRAGMENT = `#version 300 es
precision highp float;
precision highp int;
precision highp sampler2D;
precision highp isampler2D;
precision highp usampler2D;
in vec2 vScreen;
out vec4 colour;
uniform sampler2D uCounts;
uniform usampler2D uMask;
uniform sampler2D uPalette;
uniform isampler2D uBins;
uniform vec4 uInverse;
uniform vec2 uOrigin;
uniform vec2 uFrame;
uniform vec3 uEnds;
uniform int uScale;
uniform int uLevel;
uniform int uMaskStyle;
uniform int uLampOn;
uniform int uLampBin;
uniform vec3 uAccent;
uniform vec3 uHatch;
uniform vec3 uGround;
uniform vec3 uBad;

float scaled(float v) {
  float raised = max(v, uEnds.z);
  float g = uScale == 0 ? raised : uScale == 1 ? log(raised) : sqrt(raised);
  return clamp((g - uEnds.x) / (uEnds.y - uEnds.x), 0.0, 1.0);
}

void main() {
  vec2 at = vec2(uInverse.x * vScreen.x + uInverse.z * vScreen.y, uInverse.y * vScreen.x + uInverse.w * vScreen.y) + uOrigin;
  ivec2 pixel = ivec2(floor(at + 0.5));
  if (pixel.x < 0 || pixel.y < 0 || pixel.x >= int(uFrame.x) || pixel.y >= int(uFrame.y)) {
    colour = vec4(0.0);
    return;
  }
  ivec2 texel = ivec2(pixel.x >> uLevel, pixel.y >> uLevel);
  float v = texelFetch(uCounts, texel, 0).r;
  bool bad = (floatBitsToUint(v) & 0x7f800000u) == 0x7f800000u;
  float t = bad ? 0.0 : scaled(v);
  vec3 shown = bad ? uBad : texelFetch(uPalette, ivec2(int(t * 255.0 + 0.5), 0), 0).rgb;
  bool masked = texelFetch(uMask, texel, 0).r != 0u;
  if (masked && uMaskStyle != 0) {
    shown = mix(shown, uGround, ${MASK_VEIL.toFixed(3)});
    float along = mod(vScreen.x + vScreen.y, ${HATCH_PERIOD.toFixed(3)});
    if (uMaskStyle == 1 && along < ${(HATCH_WIDTH * Math.SQRT2).toFixed(3)}) shown = mix(shown, uHatch, 0.6);
    if (uMaskStyle == 2) shown = mix(shown, uHatch, 0.35);
  }
  if (uLampOn != 0) {
    bool lit = texelFetch(uBins, pixel, 0).r == uLampBin;
    shown = lit ? uAccent * (${LAMP_DARKEST.toFixed(3)} + ${(1 - LAMP_DARKEST).toFixed(3)} * t) : shown * ${LAMP_DIM.toFixed(3)};
  }
  colour = vec4(shown, 1.0);
}`;
