// What stands under the compiled field modules: Python's own meaning for each operation, or an error with Python's name.
// Nothing here guesses: a missing key, a length of nothing, a sum of text and number all stop, as they do in Python.

export * from "./operators.js";
export * from "./text.js";
import { less, more } from "./operators.js";

export function error(kind, text) {
  const problem = new Error(`${kind}: ${text}`);
  problem.name = kind;
  return problem;
}

// A key's value, or undefined. What every object inherits is a function or __proto__; the field's dicts hold neither.
export function held(dict, key) {
  const value = dict[key];
  return typeof value === "function" || key === "__proto__" ? undefined : value;
}

export const isDict = (x) => typeof x === "object" && x !== null && !Array.isArray(x);
export const isNumber = (x) => typeof x === "number" || typeof x === "boolean";
const paired = /[\ud800-\udfff]/; // JavaScript counts such a character as two, Python as one
export const characters = (text) => (paired.test(text) ? Array.from(text) : null);
export const name = (x) => (x === null || x === undefined ? "None" : Array.isArray(x) ? "list" : typeof x);

export function mismatch(a, sign, b) {
  return error("TypeError", `${name(a)} ${sign} ${name(b)}`);
}

export function asText(x) {
  if (typeof x !== "string") throw error("TypeError", `text wanted, not ${name(x)}`);
  return x;
}

function asKey(key) {
  if (typeof key !== "string" || key === "__proto__") throw error("TypeError", `a key must be text, not ${name(key)}`);
  return key;
}

// Lists, dicts and text

export function len(x) {
  if (Array.isArray(x)) return x.length;
  if (typeof x === "string") return (characters(x) || x).length;
  if (isDict(x)) return Object.keys(x).length;
  throw error("TypeError", `len of ${name(x)}`);
}

function index(length, i) {
  const found = i < 0 ? i + length : i;
  if (!Number.isInteger(found)) throw error("TypeError", `an index must be whole, not ${i}`);
  if (found < 0 || found >= length) throw error("IndexError", "index out of range");
  return found;
}

export function at(x, key) {
  if (Array.isArray(x)) return x[index(x.length, key)];
  if (isDict(x)) {
    const value = typeof key === "string" ? held(x, key) : undefined;
    if (value === undefined) throw error("KeyError", String(key));
    return value;
  }
  const text = characters(asText(x)) || x;
  return text[index(text.length, key)];
}

// What JavaScript found under a key that is written out in the code: quicker than `at`, and as strict.
export function found(value, key) {
  if (value === undefined || typeof value === "function") throw error("KeyError", key);
  return value;
}

export function put(value, x, key) {
  if (Array.isArray(x)) x[index(x.length, key)] = value;
  else if (isDict(x)) x[asKey(key)] = value;
  else throw error("TypeError", `${name(x)}[${key}] = …`);
}

export function slice(x, from, to) {
  const start = from === null ? 0 : from;
  const end = to === null ? undefined : to;
  if (!Number.isInteger(start) || !(end === undefined || Number.isInteger(end))) {
    throw error("TypeError", "a slice must have whole bounds");
  }
  if (Array.isArray(x)) return x.slice(start, end);
  const split = characters(asText(x));
  return split ? split.slice(start, end).join("") : x.slice(start, end);
}

export function dict(...pairs) {
  const made = {};
  for (let i = 0; i < pairs.length; i += 2) put(pairs[i + 1], made, pairs[i]);
  return made;
}

export function copied(x) {
  if (!isDict(x)) throw error("TypeError", `dict of ${name(x)}`);
  return { ...x };
}

export function get(x, key, fallback = null) {
  if (!isDict(x)) throw error("TypeError", `${name(x)}.get`);
  const value = typeof key === "string" ? held(x, key) : undefined;
  return value === undefined ? fallback : value;
}

export function keys(x) {
  if (!isDict(x)) throw error("TypeError", `${name(x)}.keys`);
  return Object.keys(x);
}

export function append(x, item) {
  if (!Array.isArray(x)) throw error("TypeError", `${name(x)}.append`);
  x.push(item);
  return null;
}

export function extend(x, items) {
  if (!Array.isArray(x)) throw error("TypeError", `${name(x)}.extend`);
  x.push(...each(items));
  return null;
}

export function pop(x) {
  if (!Array.isArray(x)) throw error("TypeError", `${name(x)}.pop`);
  if (x.length === 0) throw error("IndexError", "pop from empty list");
  return x.pop();
}

// Going through things

export function each(x) {
  if (Array.isArray(x)) return x;
  if (typeof x === "string") return Array.from(x);
  throw error("TypeError", `cannot go through ${name(x)}: a dict is gone through as sorted(d.keys())`);
}

export function rows(x, width) {
  for (const row of each(x)) unpack(row, width);
  return x;
}

export function unpack(x, width) {
  const row = each(x);
  if (row.length > width) throw error("ValueError", `too many values to unpack (expected ${width})`);
  if (row.length < width) throw error("ValueError", `not enough values to unpack (expected ${width}, got ${row.length})`);
  return row;
}

export function range(from, to, step) {
  if (!Number.isInteger(from) || !Number.isInteger(to) || !Number.isInteger(step)) {
    throw error("TypeError", "range wants whole numbers");
  }
  if (step === 0) throw error("ValueError", "range() arg 3 must not be zero");
  const numbers = [];
  for (let i = from; step > 0 ? i < to : i > to; i += step) numbers.push(i);
  return numbers;
}

export function list(x) {
  return each(x).slice();
}

export function reversed(x) {
  return list(x).reverse();
}

export function enumerate(x) {
  return each(x).map((item, i) => [i, item]);
}

export function zip(a, b) {
  const other = each(b);
  return each(a).slice(0, other.length).map((item, i) => [item, other[i]]);
}

export function collect(x, value, test) {
  const kept = [];
  for (const item of each(x)) if (test === null || test(item)) kept.push(value(item));
  return kept;
}

export function collect_rows(x, value, test) {
  const kept = [];
  for (const row of each(x)) if (test === null || test(...row)) kept.push(value(...row));
  return kept;
}

export function sorted(x, key, backward) {
  const items = isDict(x) ? Object.keys(x) : list(x);
  const ranked = items.map((item) => ({ item, rank: key === null ? item : key(item) }));
  const sign = backward ? -1 : 1;
  ranked.sort((a, b) => (less(a.rank, b.rank) ? -sign : less(b.rank, a.rank) ? sign : 0));
  return ranked.map((entry) => entry.item);
}

function pick(given, better, word) {
  const items = given.length === 1 ? each(given[0]) : given;
  if (items.length === 0) throw error("ValueError", `${word}() arg is an empty sequence`);
  return items.reduce((best, item) => (better(item, best) ? item : best));
}

export function min(...given) {
  return pick(given, less, "min");
}

export function max(...given) {
  return pick(given, more, "max");
}

// What a thing is

export const is_str = (x) => typeof x === "string";
export const is_bool = (x) => typeof x === "boolean";
export const is_list = (x) => Array.isArray(x);
export { isDict as is_dict };
export { isNumber as is_number }; // as in Python, where True and False are whole numbers
