// Python's math for the compiled field modules: the same answer, or the same error, for every number.
import { error } from "./runtime.js";

function number(x) {
  if (typeof x !== "number" && typeof x !== "boolean") throw error("TypeError", `must be real number, not ${typeof x}`);
  return Number(x);
}

function within(x, good) {
  if (!good) throw error("ValueError", "math domain error");
  return x;
}

function whole(x) {
  if (Number.isNaN(x)) throw error("ValueError", "cannot convert float NaN to integer");
  if (!Number.isFinite(x)) throw error("OverflowError", "cannot convert float infinity to integer");
  return x + 0; // -0 becomes 0: Python's whole numbers have one zero
}

const not_infinite = (x) => within(number(x), Math.abs(x) !== Infinity);
const cosine = (x) => within(number(x), !(Math.abs(x) > 1));

export const pi = Math.PI;
export const inf = Infinity;
export const floor = (x) => whole(Math.floor(number(x)));
export const ceil = (x) => whole(Math.ceil(number(x)));
export const sqrt = (x) => Math.sqrt(within(number(x), !(x < 0)));
export const hypot = (...sides) => Math.hypot(...sides.map(number));
export const sin = (x) => Math.sin(not_infinite(x));
export const cos = (x) => Math.cos(not_infinite(x));
export const tan = (x) => Math.tan(not_infinite(x));
export const asin = (x) => Math.asin(cosine(x));
export const acos = (x) => Math.acos(cosine(x));
export const atan2 = (y, x) => Math.atan2(number(y), number(x));
export const fabs = (x) => Math.abs(number(x));
export const isfinite = (x) => Number.isFinite(number(x));
