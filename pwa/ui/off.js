/** Staked, but off the plan: how far left or right, then how far toward the house or away. Tells "use" {off: [dx, dy]}. */
import { frame, key, make } from "./element.js";
import { say } from "./sayings.js";
import { Sided } from "./sided.js";

const AXES = ["across", "out"];

export class Off extends EventTarget {
  /** @param {{units: string, longest: number, back: string, task: string, show: (inches: number) => string}} view */
  constructor(view) {
    super();
    this.view = view;
    this.now = "across";
    this.sides = { across: this.#sided("across"), out: this.#sided("out") };
    this.shown = make("div", { class: "sofar", role: "status" });
    this.place = make("div");
    this.tabs = make("div", { class: "ways", role: "group", "aria-label": say("phone.off.axes") });
    this.use = key("", () => this.#go(), { class: "key main", id: "main" });
    const head = { title: say("phone.off.title"), back: { text: say("phone.back"), hash: view.back }, note: view.task };
    this.element = frame(head, [this.shown, this.place], [this.tabs, this.use]);
    this.#refresh();
  }

  #sided(axis) {
    const { units, longest } = this.view;
    const words = { minus: say(`phone.off.${axis}-minus`), none: say("phone.by.on"), plus: say(`phone.off.${axis}-plus`) };
    const sided = new Sided({ units, longest, label: say(`phone.off.${axis}`), words });
    sided.addEventListener("change", () => this.#refresh());
    return sided;
  }

  #refresh() {
    this.shown.replaceChildren(...AXES.map((axis) => make("p", { class: this.sides[axis].missing ? "note" : "" }, this.#said(axis))));
    this.place.replaceChildren(make("h2", {}, say(`phone.off.${this.now}`)), this.sides[this.now].element);
    this.use.textContent = this.now === "across" ? say("phone.off.next") : say("phone.off.use");
    this.use.classList.toggle("waiting", this.sides[this.now].missing !== "");
    const other = this.now === "across" ? "out" : "across";
    this.tabs.replaceChildren(key(say(`phone.off.${other}`), () => this.#turn(other), { class: "key small" }));
  }

  #said(axis) {
    const sided = this.sides[axis];
    if (sided.inches === null) return say(`phone.off.${axis}-open`);
    if (sided.inches === 0) return say(`phone.off.${axis}-none`);
    return say(`phone.off.${axis}-${sided.side}-amount`, { amount: this.view.show(sided.amount) });
  }

  #turn(axis) {
    this.now = axis;
    this.#refresh();
  }

  #go() {
    const open = AXES.find((axis) => this.sides[axis].missing !== "");
    if (open && open !== this.now) return this.#turn(open);
    if (open) return this.#refuse(open);
    return this.dispatchEvent(new CustomEvent("use", { detail: { off: AXES.map((axis) => this.sides[axis].inches) } }));
  }

  #refuse(axis) {
    this.shown.replaceChildren(make("p", {}, say(`phone.pad.missing-${this.sides[axis].missing}`)));
  }
}
