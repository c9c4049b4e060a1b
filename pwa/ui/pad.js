/** The reading screen: tape keys, text, or long by / short by, with what it means said at once. Tells "use" {reading, held}. */
import { frame, key, make, reading } from "./element.js";
import { lengthPad } from "./lengthpad.js";
import { say } from "./sayings.js";
import { Sided } from "./sided.js";
import { Typed } from "./typed.js";

const WAYS = ["keys", "text", "by"];

/**
 * @typedef {{text: string, held: boolean}} Given
 * @typedef {{units: string, target: number, longest: number, task: string, wanted: string, back: string, draft: string,
 *   read: (given: Given) => any, show: (inches: number) => string, message: (message: any) => string, keep: (draft: string) => void}} PadView
 */

export class Pad extends EventTarget {
  /** @param {PadView} view */
  constructor(view) {
    super();
    this.view = view;
    this.held = false;
    this.shown = make("div", { class: "shown" });
    this.line = make("p", { class: "line", id: "verdict-line", role: "status" });
    this.place = make("div");
    this.choices = make("div", { class: "choices", role: "group", "aria-label": say("phone.pad.choices") });
    this.ways = make("div", { class: "ways", role: "group", "aria-label": say("phone.pad.ways") });
    this.use = key(say("phone.pad.use"), () => this.#use(), { class: "key main", id: "main" });
    this.entries = { keys: this.#keys(), text: this.#text(), by: this.#by() };
    this.element = this.#frame();
    this.#turn(view.draft ? "text" : "keys");
  }

  #frame() {
    const { wanted, back, task } = this.view;
    const head = { title: say("phone.pad.wanted", { wanted }), back: { text: say("phone.back"), hash: back }, note: task };
    return frame(head, [this.shown, this.line, this.place, this.choices], [this.ways, this.use]);
  }

  #keys() {
    const { units, target, longest } = this.view;
    return this.#heard(lengthPad({ units, near: target, longest }));
  }

  #text() {
    const typed = this.#heard(new Typed(this.view.draft));
    typed.addEventListener("change", () => this.view.keep(typed.text));
    typed.addEventListener("enter", () => this.#use());
    return typed;
  }

  #by() {
    const words = { minus: say("phone.by.short"), none: say("phone.by.on"), plus: say("phone.by.long") };
    return this.#heard(new Sided({ units: this.view.units, longest: this.view.longest, label: say("phone.pad.by"), words }));
  }

  #heard(part) {
    part.addEventListener("change", () => this.#refresh());
    return part;
  }

  #turn(to) {
    this.now = to;
    this.place.replaceChildren(this.entries[to].element);
    this.#tabs();
    this.#refresh();
    if (to === "text") this.entries.text.input.focus();
  }

  #tabs() {
    const tabs = WAYS.map((name) => key(say(`phone.pad.way-${name}`), () => this.#turn(name), { class: "key small", "aria-pressed": String(name === this.now), id: `way-${name}` }));
    const held = key(say(`phone.pad.held-${this.view.units}`), () => this.#hold(), { class: "key small held", role: "switch", "aria-checked": String(this.held), id: "held" });
    this.ways.replaceChildren(...tabs.filter((tab) => tab.id !== `way-${this.now}`), this.now === "by" ? "" : held);
  }

  #hold() {
    this.held = !this.held;
    this.#tabs();
    this.#refresh();
    document.getElementById("held")?.focus();
  }

  /** What was said, as the text a person would have typed. */
  get given() {
    const entry = this.entries[this.now];
    if (entry.missing) return null;
    if (this.now === "text") return { text: entry.text, held: this.held };
    if (this.now === "keys") return { text: this.view.show(entry.inches), held: this.held };
    return { text: this.#byText(entry), held: false };
  }

  #byText(entry) {
    if (entry.side === "none") return this.view.wanted;
    return `${entry.side === "plus" ? "long" : "short"} by ${this.view.show(entry.amount)}`;
  }

  #refresh() {
    const given = this.given;
    const result = given && this.view.read(given);
    if (result?.status === "ok") this.dispatchEvent(new CustomEvent("ready", { detail: this.#answer(given) }));
    this.use.classList.toggle("waiting", result?.status !== "ok");
    this.shown.replaceChildren(reading(this.#shown(result)));
    this.line.replaceChildren(this.#line(result));
    this.line.classList.remove("wrong");
    this.choices.replaceChildren(...this.#choices(result));
  }

  #shown(result) {
    if (this.now === "keys") return this.entries.keys.text;
    return result?.status === "ok" ? this.view.show(result.inches) : "–";
  }

  #line(result) {
    if (!result) return say(`phone.pad.missing-${this.entries[this.now].missing}`);
    if (result.status !== "ok") return this.view.message(result.say);
    const text = this.#against(result.inches);
    return this.held && this.now !== "by" ? say("phone.pad.held-line", { reading: this.view.show(result.inches), text }) : text;
  }

  /** A reading with more than one meaning: each as a key. */
  #choices(result) {
    if (result?.status !== "ask") return [];
    return result.choices.map((choice) => key(choice.text, () => this.dispatchEvent(new CustomEvent("choose", { detail: choice.inches }))));
  }

  /** Long, short or on it, as the tape can show it. */
  #against(inches) {
    const { show, target } = this.view;
    const off = inches - target;
    const amount = show(Math.abs(off));
    if (amount === show(0)) return say("phone.by.on");
    return say(off > 0 ? "phone.by.long-amount" : "phone.by.short-amount", { amount });
  }

  #use() {
    const given = this.given;
    if (!given) return this.#refuse(say(`phone.pad.missing-${this.entries[this.now].missing}`));
    return this.dispatchEvent(new CustomEvent("use", { detail: this.#answer(given) }));
  }

  #answer({ text, held }) {
    return { reading: text, held };
  }

  #refuse(text) {
    this.line.textContent = text;
    this.line.classList.add("wrong");
  }

  /** The question stays up with its choices; the thumb goes to the first. */
  question() {
    this.choices.querySelector("button")?.focus();
  }

  /** A reading that cannot be read: where, and the text stays. */
  refuse(result) {
    this.#refuse(this.view.message(result.say));
    if (this.now === "text") this.entries.text.point(result.at);
  }
}
