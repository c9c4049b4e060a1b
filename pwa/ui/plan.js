/** The plan drawing: only drawing elements are taken over; parts are lit and done by their ids. */
import { make } from "./element.js";

const SVG = "http://www.w3.org/2000/svg";
const SHAPES = new Set(["svg", "g", "path", "line", "polyline", "polygon", "circle", "ellipse", "rect", "text", "tspan", "title", "desc", "defs", "marker"]);
const TURNS = { right: 0, away: 90, left: 180, toward: 270 };
const REFUSED = /^on|href$|^style$|^xmlns|^src$/i;

export class Plan {
  constructor(drawing) {
    const parsed = new DOMParser().parseFromString(drawing, "image/svg+xml").documentElement;
    this.svg = cleaned(parsed) ?? document.createElementNS(SVG, "svg");
    this.svg.setAttribute("role", "img");
    this.svg.removeAttribute("width");
    this.svg.removeAttribute("height");
    this.element = make("div", { class: "plan" }, this.svg);
  }

  /** The drawing as it is seen now, as text: lit, done and pointed at, without the pulls that are not lit. */
  get seen() {
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
   * @param {{lit: string[], done: string[], pointer: {id: string, side: string}|null}} what
   */
  look({ lit, done, pointer }) {
    this.#only("lit", lit);
    this.#only("done", done);
    this.svg.append(...this.svg.querySelectorAll(".pull.lit"), ...this.svg.querySelectorAll(".point.lit"));
    this.svg.querySelector(".pointer")?.remove();
    if (pointer) this.#point(pointer);
  }

  /** An arrow beside a part, to the side it has to go. */
  #point({ id, side }) {
    const dot = this.svg.querySelector(`#${CSS.escape(id)} circle`);
    if (!dot || !(side in TURNS)) return;
    const [x, y] = ["cx", "cy"].map((name) => dot.getAttribute(name));
    const unit = this.svg.viewBox.baseVal.width / 40;
    const pointer = document.createElementNS(SVG, "path");
    pointer.setAttribute("class", "pointer");
    pointer.setAttribute("d", "M1 0H4M3 -1L4 0L3 1");
    pointer.setAttribute("transform", `translate(${x} ${y}) rotate(${TURNS[side]}) scale(${unit})`);
    this.svg.append(pointer);
  }

  #only(name, ids) {
    const wanted = new Set(ids);
    for (const part of this.svg.querySelectorAll(`.${name}`)) if (!wanted.has(part.id)) part.classList.remove(name);
    for (const id of wanted) this.svg.querySelector(`#${CSS.escape(id)}`)?.classList.add(name);
  }
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
