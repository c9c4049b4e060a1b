/** Rings of doubt over a plan drawing: a cross at every planned place; around what is set, the tolerance and where it stands. */
import { drawing } from "./plan.js";

/** In inches of the yard, as drawn. @typedef {{point: string, set: boolean, staked: boolean, inside: boolean, plan: number[], centre: number[], radius: number, tolerance: number}} Ring */

/** @param {SVGSVGElement} svg @param {Ring[]} rings */
export function drawRings(svg, rings) {
  const unit = svg.viewBox.baseVal.width / 100;
  svg.querySelector("#rings")?.remove();
  svg.classList.add("ringed");
  svg.append(drawing("g", { id: "rings" }, ...rings.map((ring) => drawn(ring, unit))));
}

function drawn(ring, unit) {
  const [x, y] = ring.plan;
  const cross = drawing("path", { class: "cross", d: `M${x - unit} ${y - unit}l${2 * unit} ${2 * unit}M${x - unit} ${y + unit}l${2 * unit} ${-2 * unit}` });
  if (!ring.set) return drawing("g", { id: `ring-${ring.point}`, class: "ring unset" }, cross);
  const names = ["ring", ring.inside ? "inside" : "outside", ring.staked && "staked"].filter(Boolean).join(" ");
  return drawing("g", { id: `ring-${ring.point}`, class: names }, circle("tolerance", ring.plan, ring.tolerance), cross, circle("doubt", ring.centre, ring.radius));
}

function circle(name, [cx, cy], r) {
  return drawing("circle", { class: name, cx, cy, r });
}
