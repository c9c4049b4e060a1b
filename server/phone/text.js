// Python's methods of text, and what an f-string writes.
import { asText, each, error, len } from "./runtime.js";

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
