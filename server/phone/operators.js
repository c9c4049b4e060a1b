// Python's + - * / // %, its comparisons and its truth.
import { each, error, held, isDict, isNumber, len, mismatch, name, asText } from "./runtime.js";

// Arithmetic

export function add(a, b) {
  if (typeof a === "number" && typeof b === "number") return a + b;
  if (typeof a === "string" && typeof b === "string") return a + b;
  if (Array.isArray(a) && Array.isArray(b)) return a.concat(b);
  if (isNumber(a) && isNumber(b)) return Number(a) + Number(b);
  throw mismatch(a, "+", b);
}

export function add_to(a, b) {
  if (!Array.isArray(a)) return add(a, b);
  a.push(...each(b));
  return a;
}

export function subtract(a, b) {
  if (isNumber(a) && isNumber(b)) return a - b;
  throw mismatch(a, "-", b);
}

function repeat(what, times) {
  if (!Number.isInteger(times)) throw mismatch(what, "*", times);
  const count = Math.max(0, times);
  if (typeof what === "string") return what.repeat(count);
  return Array.from({ length: count * what.length }, (_, i) => what[i % what.length]);
}

export function multiply(a, b) {
  if (isNumber(a) && isNumber(b)) return a * b;
  if (typeof a === "string" || Array.isArray(a)) return repeat(a, b);
  if (typeof b === "string" || Array.isArray(b)) return repeat(b, a);
  throw mismatch(a, "*", b);
}

function divisor(a, sign, b) {
  if (!isNumber(a) || !isNumber(b)) throw mismatch(a, sign, b);
  if (Number(b) === 0) throw error("ZeroDivisionError", "division by zero");
  return b;
}

export function divide(a, b) {
  return a / divisor(a, "/", b);
}

export function modulo(a, b) {
  const rest = a % divisor(a, "%", b);
  return rest !== 0 && rest < 0 !== b < 0 ? rest + b : rest;
}

export function floor_divide(a, b) {
  const share = (a - modulo(a, b)) / b;
  const whole = Math.floor(share);
  return share - whole > 0.5 ? whole + 1 : whole;
}

export function negate(a) {
  if (!isNumber(a)) throw error("TypeError", `-${name(a)}`);
  return -a;
}

export function abs(a) {
  if (!isNumber(a)) throw error("TypeError", `abs of ${name(a)}`);
  return Math.abs(a);
}

// Comparison and truth

export function equal(a, b) {
  if (a === b) return true;
  if (typeof a === "string" || typeof b === "string") return false;
  if (Array.isArray(a) && Array.isArray(b)) return a.length === b.length && a.every((x, i) => equal(x, b[i]));
  if (isDict(a) && isDict(b)) {
    const keys = Object.keys(a);
    return keys.length === Object.keys(b).length && keys.every((key) => equal(a[key], held(b, key)));
  }
  return isNumber(a) && isNumber(b) && Number(a) === Number(b);
}

export function differs(a, b) {
  return !equal(a, b);
}

const codeOrder = (unit) => (unit < 0xd800 ? unit : unit < 0xe000 ? unit + 0x2000 : unit - 0x800);

function textBefore(a, b) {
  for (let i = 0; i < a.length && i < b.length; i += 1) {
    if (a[i] !== b[i]) return codeOrder(a.charCodeAt(i)) < codeOrder(b.charCodeAt(i));
  }
  return a.length < b.length;
}

function listBefore(a, b) {
  for (let i = 0; i < a.length && i < b.length; i += 1) {
    if (!equal(a[i], b[i])) return less(a[i], b[i]);
  }
  return a.length < b.length;
}

export function less(a, b) {
  if (isNumber(a) && isNumber(b)) return a < b;
  if (typeof a === "string" && typeof b === "string") return textBefore(a, b);
  if (Array.isArray(a) && Array.isArray(b)) return listBefore(a, b);
  throw mismatch(a, "<", b);
}

export function at_most(a, b) {
  if (isNumber(a) && isNumber(b)) return a <= b;
  return less(a, b) || equal(a, b);
}

export function more(a, b) {
  return less(b, a);
}

export function at_least(a, b) {
  return at_most(b, a);
}

export function truth(x) {
  if (typeof x === "boolean") return x;
  if (x === null || x === undefined) return false;
  if (typeof x === "number") return x !== 0;
  return len(x) > 0;
}

export function within(item, holder) {
  if (Array.isArray(holder)) return holder.some((x) => equal(item, x));
  if (typeof holder === "string") return holder.includes(asText(item));
  if (isDict(holder)) return typeof item === "string" && held(holder, item) !== undefined;
  throw mismatch(item, "in", holder);
}
