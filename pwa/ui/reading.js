/** A length set large: whole units at full size, the fraction smaller, as a tape prints it. */
import { make } from "./element.js";

const FRACTION = /\s*(\d+\/\d+)/;

/** @param {string} text as the tape shows it */
export function reading(text, props = {}) {
  const [whole, fraction, rest] = text.split(FRACTION);
  if (fraction === undefined) return make("p", { class: "reading", ...props }, text);
  return make("p", { class: "reading", ...props }, whole, make("span", { class: "fraction" }, ` ${fraction}${rest}`));
}
