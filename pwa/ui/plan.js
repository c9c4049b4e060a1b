/** The plan drawing: only drawing elements are taken over; parts are lit and done by their ids. */
import { make } from "./element.js";

const SVG = "http://www.w3.org/2000/svg";
const SHAPES = new Set(["svg", "g", "path", "line", "polyline", "polygon", "circle", "ellipse", "rect", "text", "tspan", "title", "desc", "defs", "marker"]);
const ACROSS = 27; // heights of text across the drawing, as the desk draws it
const TURNS = { right: 0, away: 90, left: 180, toward: 270 };
const REFUSED = /^on|href$|^style$|^xmlns|^src$/i;

/** A pull as it is drawn where the drawing has no line for it. @typedef {{id: string, from: number[], to: number[], text: string}} Pull */

/** Its room is there from the start; what stands in it once it is drawn. */
export class Plan {
  constructor(drawing) {
    this.svg = roomFor(drawing);
    this.element = make("div", { class: "plan" }, this.svg);
    this.waiting = drawing;
    /** @type {any} */
    this.wanted = null;
    /** @type {[Element, Comment][]} parts above all others, and what keeps each one's place */
    this.raised = [];
  }

  /** Draw it, once, as it was last asked to look; never asked, it looks as it came. */
  draw() {
    if (this.waiting === "") return;
    const whole = cleaned(new DOMParser().parseFromString(this.waiting, "image/svg+xml").documentElement);
    this.waiting = "";
    if (!whole) return;
    for (const name of ["width", "height"]) whole.removeAttribute(name);
    for (const name of ["role", "aria-label"]) whole.setAttribute(name, this.svg.getAttribute(name) ?? "");
    this.svg.replaceWith(whole);
    this.svg = whole;
    if (this.wanted) this.look(this.wanted);
  }

  /** Draw it in the frame after the one that is due: no key waits for a drawing where none was seen before. */
  drawSoon() {
    requestAnimationFrame(() => requestAnimationFrame(() => this.draw()));
  }

  /** The drawing as it is seen now, as text: lit, done and pointed at, without the pulls that are not lit. */
  get seen() {
    this.draw();
    const copy = /** @type {SVGSVGElement} */ (this.svg.cloneNode(true));
    for (const hidden of copy.querySelectorAll(".pull:not(.lit)")) hidden.remove();
    return new XMLSerializer().serializeToString(copy);
  }

  /** @param {string} label */
  name(label) {
    this.svg.setAttribute("aria-label", label);
  }

  /**
   * Light what is being done now (a pull above everything it crosses), mark what is done, point where a thing has to go.
   * @param {{lit: string[], done: string[], pointer: {id: string, side: string}|null, pull?: Pull|null}} what
   */
  look(what) {
    this.wanted = what;
    if (this.waiting !== "") return;
    const { lit, done, pointer, pull = null } = what;
    this.svg.querySelector(".pull.drawn")?.remove();
    if (pull && !this.#part(pull.id)) this.svg.append(drawn(pull, this.svg.viewBox.baseVal.width / ACROSS));
    this.#only("lit", lit);
    this.#only("done", done);
    this.#raise([...this.svg.querySelectorAll(".pull.lit"), ...this.svg.querySelectorAll(".point.lit")]);
    this.svg.querySelector(".pointer")?.remove();
    if (pointer) this.#point(pointer);
  }

  /** Put these parts above all others; those raised before go back to where they were. @param {Element[]} parts */
  #raise(parts) {
    for (const [part, place] of this.raised) place.replaceWith(...(this.svg.contains(part) ? [part] : []));
    this.raised = parts.map((part) => [part, document.createComment("")]);
    for (const [part, place] of this.raised) part.replaceWith(place);
    this.svg.append(...parts);
  }

  /** An arrow beside a part, to the side it has to go. */
  #point({ id, side }) {
    const dot = this.#part(id)?.querySelector("circle");
    if (!dot || !(side in TURNS)) return;
    const [x, y] = ["cx", "cy"].map((name) => dot.getAttribute(name));
    const unit = this.svg.viewBox.baseVal.width / 40;
    const transform = `translate(${x} ${y}) rotate(${TURNS[side]}) scale(${unit})`;
    this.svg.append(drawing("path", { class: "pointer", d: "M1 0H4M3 -1L4 0L3 1", transform }));
  }

  #only(name, ids) {
    const wanted = new Set(ids);
    for (const part of this.svg.querySelectorAll(`.${name}`)) if (!wanted.has(part.id)) part.classList.remove(name);
    for (const id of wanted) this.#part(id)?.classList.add(name);
  }

  #part(id) {
    return this.svg.querySelector(`#${CSS.escape(id)}`);
  }
}

/** An element of a drawing. @param {string} tag @param {Record<string, string|number>} attributes @param {...(Node|string)} children */
export function drawing(tag, attributes, ...children) {
  const element = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, String(value));
  element.append(...children);
  return element;
}

/** A pull between two places of the plan, its length at its middle; above it where it runs along a string and its marks. @param {Pull} pull @param {number} tall */
function drawn({ id, from: [x1, y1], to: [x2, y2], text }, tall) {
  const aside = Math.abs(y2 - y1) < tall ? -0.9 * tall : 0;
  const middle = { x: (x1 + x2) / 2, y: (y1 + y2) / 2 + 0.24 * tall + aside, "text-anchor": "middle" };
  return drawing("g", { id, class: "pull drawn" }, drawing("line", { x1, y1, x2, y2 }), drawing("text", middle, text));
}

/** An empty drawing that takes the room of this one. */
function roomFor(drawing) {
  const svg = document.createElementNS(SVG, "svg");
  const [tag] = /^<svg[^>]*>/.exec(drawing) ?? [""];
  for (const [, name, value] of tag.matchAll(/\s(viewBox|class)="([^"]*)"/g)) svg.setAttribute(name, value);
  svg.setAttribute("role", "img");
  return svg;
}

/** The drawing with nothing but drawing elements and attributes left in it. */
function cleaned(root) {
  if (!isShape(root)) return null;
  for (const node of [...root.querySelectorAll("*")]) if (!isShape(node)) node.remove();
  for (const node of [root, ...root.querySelectorAll("*")]) {
    for (const name of node.getAttributeNames()) if (REFUSED.test(name)) node.removeAttribute(name);
  }
  return document.adoptNode(root);
}

function isShape(node) {
  return node.namespaceURI === SVG && SHAPES.has(node.localName);
}
