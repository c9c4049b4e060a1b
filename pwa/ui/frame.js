/** The frame of a screen: a head with the way back, a body, and the foot under the thumb. */
import { make, way } from "./element.js";

/**
 * @param {{title: string, back?: {text: string, hash: string}, note?: Node|string, side?: Node|null}} head
 * @param {Node[]} body
 * @param {Node[]} foot
 */
export function frame({ title, back, note = "", side = null }, body, foot = []) {
  const top = make(
    "header",
    { class: "head" },
    back ? way(back.text, back.hash, { class: "back" }) : null,
    make("div", { class: "titles" }, make("h1", { tabindex: "-1" }, title), note && make("p", { class: "note" }, note)),
    side,
  );
  const bottom = foot.length > 0 ? make("footer", { class: "foot" }, ...foot) : null;
  return make("div", { class: "screen" }, top, make("main", {}, ...body), bottom);
}
