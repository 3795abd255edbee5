// Functions whose last bit is the same in every JavaScript engine. The language leaves the rounding of Math.exp, log,
// sin, cos, tan, atan, atan2 and pow to the engine, and Node and Chromium do differ in the last bit. Numbers that reach
// a file must not depend on where they were computed, so core takes these instead: ports of the classic open library
// to plain arithmetic. Math.sqrt, abs, floor and the like are exact everywhere and stay.
import atan from "@stdlib/math-base-special-atan";
import atan2 from "@stdlib/math-base-special-atan2";
import cos from "@stdlib/math-base-special-cos";
import exp from "@stdlib/math-base-special-exp";
import expm1 from "@stdlib/math-base-special-expm1";
import ln from "@stdlib/math-base-special-ln";
import log1p from "@stdlib/math-base-special-log1p";
import power from "@stdlib/math-base-special-pow";
import sin from "@stdlib/math-base-special-sin";
import tan from "@stdlib/math-base-special-tan";

export { atan, atan2, cos, exp, expm1, ln, log1p, power, sin, tan };
