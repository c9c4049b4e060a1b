// What stands under the compiled field modules: Python's own meaning for each operation, or an error with Python's name.
// Nothing here guesses: a missing key, a length of nothing, a sum of text and number all stop, as they do in Python.

export function error(kind, text) {
  const problem = new Error(`${kind}: ${text}`);
  problem.name = kind;
  return problem;
}

const owns = (dict, key) => Object.prototype.hasOwnProperty.call(dict, key) && dict[key] !== undefined;
const isDict = (x) => typeof x === "object" && x !== null && !Array.isArray(x);
const isNumber = (x) => typeof x === "number" || typeof x === "boolean";
const paired = /[\ud800-\udfff]/; // JavaScript counts such a character as two, Python as one
const characters = (text) => (paired.test(text) ? Array.from(text) : null);
const name = (x) => (x === null || x === undefined ? "None" : Array.isArray(x) ? "list" : typeof x);

function mismatch(a, sign, b) {
  return error("TypeError", `${name(a)} ${sign} ${name(b)}`);
}

function asText(x) {
  if (typeof x !== "string") throw error("TypeError", `text wanted, not ${name(x)}`);
  return x;
}

function asKey(key) {
  if (typeof key !== "string" || key === "__proto__") throw error("TypeError", `a key must be text, not ${name(key)}`);
  return key;
}

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
  if (Array.isArray(a) && Array.isArray(b)) return a.length === b.length && a.every((x, i) => equal(x, b[i]));
  if (isDict(a) && isDict(b)) {
    const keys = Object.keys(a);
    return keys.length === Object.keys(b).length && keys.every((key) => owns(b, key) && equal(a[key], b[key]));
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
  if (isDict(holder)) return typeof item === "string" && owns(holder, item);
  throw mismatch(item, "in", holder);
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
  if (typeof x === "string") {
    const text = characters(x) || x;
    return text[index(text.length, key)];
  }
  if (!isDict(x)) throw error("TypeError", `${name(x)}[${key}]`);
  if (typeof key !== "string" || !owns(x, key)) throw error("KeyError", String(key));
  return x[key];
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
  return typeof key === "string" && owns(x, key) ? x[key] : fallback;
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
  if (![from, to, step].every(Number.isInteger)) throw error("TypeError", "range wants whole numbers");
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

// Text

const SPACE = "[\\t-\\r\\x1c-\\x20\\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]+";
const EDGES = new RegExp(`^${SPACE}|${SPACE}$`, "g");
const GAPS = new RegExp(SPACE);

export function text(x) {
  if (typeof x === "string") return x;
  if (x === null) return "None";
  if (typeof x === "boolean") return x ? "True" : "False";
  if (!Number.isSafeInteger(x)) throw error("TypeError", `only text and whole numbers are written as text, not ${x}`);
  return String(x === 0 ? 0 : x);
}

export function strip(x) {
  return asText(x).replace(EDGES, "");
}

export function lower(x) {
  return asText(x).toLowerCase();
}

export function upper(x) {
  return asText(x).toUpperCase();
}

export function replace(x, old, fresh) {
  if (asText(old) === "") return asText(fresh) + Array.from(asText(x), (one) => one + fresh).join("");
  return asText(x).split(old).join(asText(fresh));
}

export function split(x, separator = null) {
  if (separator === null) {
    const bare = strip(x);
    return bare === "" ? [] : bare.split(GAPS);
  }
  if (asText(separator) === "") throw error("ValueError", "empty separator");
  return asText(x).split(separator);
}

export function join(separator, items) {
  return each(items).map(asText).join(asText(separator));
}

export function startswith(x, start) {
  return asText(x).startsWith(asText(start));
}

export function endswith(x, end) {
  return asText(x).endsWith(asText(end));
}

export function find(x, part) {
  const found = asText(x).indexOf(asText(part));
  return found <= 0 ? found : len(x.slice(0, found));
}

// What a thing is

export const is_str = (x) => typeof x === "string";
export const is_bool = (x) => typeof x === "boolean";
export const is_list = (x) => Array.isArray(x);
export const is_dict = isDict;
export const is_number = isNumber; // as in Python, where True and False are whole numbers
