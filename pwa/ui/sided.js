/** An amount to one side or the other, or none: long by / short by, left / right, toward / away. Tells "change". */
import { key, make } from "./element.js";
import { lengthPad } from "./lengthpad.js";

/** @typedef {"minus"|"none"|"plus"} Side */

export class Sided extends EventTarget {
  /** @param {{units: string, longest: number, label: string, words: Record<Side, string>, first?: string}} want */
  constructor({ units, longest, label, words, first }) {
    super();
    /** @type {Side|""} */
    this.side = "";
    this.pad = lengthPad({ units, near: 0, longest, amount: true, first });
    this.pad.addEventListener("change", () => this.dispatchEvent(new Event("change")));
    this.keys = ["minus", "none", "plus"].map((side) => key(words[side], () => this.#pick(side), { class: "key tape side", "data-side": side, "aria-pressed": "false" }));
    this.element = make("div", { class: "sided" }, make("div", { role: "group", "aria-label": label, class: "keys three" }, ...this.keys), this.pad.element);
    this.pad.element.hidden = true;
  }

  #pick(side) {
    this.side = side;
    for (const tapped of this.keys) tapped.setAttribute("aria-pressed", String(tapped.dataset.side === side));
    this.pad.element.hidden = side === "none";
    this.dispatchEvent(new Event("change"));
  }

  /** The amount without its side in inches; null while something is missing. */
  get amount() {
    if (this.side === "none") return 0;
    return this.side === "" ? null : this.pad.inches;
  }

  /** The amount with its sign in inches; null while something is missing. */
  get inches() {
    if (this.amount === null) return null;
    return this.side === "minus" ? -this.amount : this.amount;
  }

  get missing() {
    if (this.side === "") return "side";
    return this.side === "none" ? "" : this.pad.missing;
  }
}
