/** Millimetre keys: the hundreds near the target at one tap, then digits. Tells "change". */
import { key, make } from "./element.js";
import { say } from "./sayings.js";

const DIGITS = ["7", "8", "9", "4", "5", "6", "1", "2", "3"];
const MILLIMETRES = 25.4;
const MOST = 6;

export class DigitPad extends EventTarget {
  /** @param {{near: number, amount?: boolean}} want inches wanted; an amount has no hundreds to start from */
  constructor({ near, amount = false }) {
    super();
    this.digits = "";
    this.left = 0;
    const starts = amount ? [] : hundreds(near * MILLIMETRES).map((start) => key(`${start}..`, () => this.#start(String(start)), { class: "key tape" }));
    const pad = [...DIGITS, "0"].map((digit) => key(digit, () => this.#type(digit), { class: "key tape digit" }));
    const wipe = key(say("phone.pad.wipe"), () => this.#set("", 0), { class: "key tape digit" });
    const back = key(say("phone.pad.back-one"), () => this.#set(this.digits.slice(0, -1), this.left + (this.left > 0 ? 1 : 0)), { class: "key tape digit" });
    this.element = make(
      "div",
      { class: "digitpad" },
      starts.length > 0 && make("div", { role: "group", "aria-label": say("phone.pad.hundreds"), class: "keys" }, ...starts),
      make("div", { role: "group", "aria-label": say("phone.pad.digits"), class: "keys three" }, ...pad.slice(0, 9), wipe, pad[9], back),
    );
  }

  get inches() {
    return this.missing ? null : Number(this.digits) / MILLIMETRES;
  }

  get missing() {
    return this.digits === "" || this.left > 0 ? "digits" : "";
  }

  get text() {
    return `${this.digits}${"–".repeat(this.digits === "" ? 1 : this.left)} mm`;
  }

  /** The first digits of a number that still lacks two. */
  #start(start) {
    this.#set(start, 2);
  }

  #type(digit) {
    if (this.digits.length < MOST) this.#set(this.digits + digit, Math.max(this.left - 1, 0));
  }

  #set(digits, left) {
    this.digits = digits;
    this.left = digits === "" ? 0 : left;
    this.dispatchEvent(new Event("change"));
  }
}

/** The hundreds of millimetres about a length, without their last two digits: 3181 gives 30, 31, 32. */
function hundreds(millimetres) {
  const first = Math.max(Math.floor(millimetres / 100) - 1, 1);
  return [first, first + 1, first + 2];
}
