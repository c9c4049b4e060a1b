/** May this footing move? How far left or right, and its beam's string toward the house or away; answered while it is tapped. */
import { frame, key, make, sentence, way } from "./element.js";
import { say } from "./sayings.js";
import { Sided } from "./sided.js";

const AXES = ["across", "out"];

/** @typedef {{holds: boolean, say: string, lines: string[]}} Answer */

export class MayMove {
  /** @param {{units: string, longest: number, back: string, task: string, asked: (by: number[], axis: string) => Answer}} view */
  constructor(view) {
    this.view = view;
    this.now = "across";
    this.sides = { across: this.#sided("across"), out: this.#sided("out") };
    this.answer = make("section", { class: "verdict mayit ended", role: "status" });
    this.place = make("div", { class: "asked" });
    this.tabs = make("div", { class: "ways", role: "group", "aria-label": say("phone.off.axes") });
    const head = { title: say("phone.move.title"), back: { text: say("phone.back"), hash: view.back }, note: view.task };
    const defer = make("p", { class: "note counts" }, say("phone.move.defer"));
    this.element = frame(head, [this.answer, this.place, defer], [this.tabs, way(say("phone.move.back"), view.back, { class: "key main", id: "main" })]);
    this.#turn("across");
  }

  #sided(axis) {
    const { units, longest } = this.view;
    const words = { minus: say(`phone.off.${axis}-minus`), none: say("phone.move.not"), plus: say(`phone.off.${axis}-plus`) };
    const sided = new Sided({ units, longest, label: say(`phone.move.${axis}`), words, first: "inch" });
    sided.addEventListener("change", () => this.#refresh());
    return sided;
  }

  #turn(axis) {
    const other = axis === "across" ? "out" : "across";
    this.now = axis;
    this.place.replaceChildren(make("h2", {}, say(`phone.move.${axis}`)), this.sides[axis].element);
    this.tabs.replaceChildren(key(say(`phone.move.${other}`), () => this.#turn(other), { class: "key small", id: other }));
    this.#refresh();
  }

  /** A side that was picked lacks its amount until it is tapped; a side that was not picked does not move. */
  #refresh() {
    const open = AXES.find((axis) => this.sides[axis].side !== "" && this.sides[axis].missing !== "");
    if (open) return this.answer.replaceChildren(sign("open"), make("p", { class: "amount" }, say(`phone.pad.missing-${this.sides[open].missing}`)));
    const { holds, say: said, lines } = this.view.asked(AXES.map((axis) => this.sides[axis].inches ?? 0), this.now);
    this.answer.classList.toggle("ended", holds);
    const rest = make("ul", {}, ...lines.map((line) => make("li", {}, ...sentence(line))));
    return this.answer.replaceChildren(sign(holds ? "done" : "over"), make("p", { class: "amount" }, ...sentence(said)), rest);
  }
}

function sign(state) {
  return make("span", { class: `shape ${state}`, "aria-hidden": "true" });
}
