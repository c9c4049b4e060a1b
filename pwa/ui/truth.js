/** How sure the yard is: the verdict, rings of doubt on the plan, each mark and corner in words, and the field book as a file. Tells "share" and "save". */
import { frame, key, make, sentence, way } from "./element.js";
import { drawRings } from "./rings.js";
import { say } from "./sayings.js";

/**
 * @typedef {{name: string, state: string, stands: string, word: string}} Row
 * @typedef {{name: string, title: string, rows: Row[]}} Group
 */

export class Truth extends EventTarget {
  constructor(plan) {
    super();
    this.plan = plan;
    this.element = make("div");
  }

  /** @param {{job: string, status: Node, hash: string, title: string, more: string, together: string[], groups: Group[], rings: import("./rings.js").Ring[], scale: string, legend: string, means: string, counts: string, share: boolean}} view */
  show(view) {
    this.plan.name(say("phone.plan", { name: view.job }));
    drawRings(this.plan.svg, view.rings);
    const body = [
      this.plan.element,
      make("p", { class: "note counts", id: "scale" }, make("b", {}, view.scale), " ", ...sentence(view.legend)),
      make("div", { class: "task" }, make("h2", {}, ...sentence(view.title)), make("p", {}, ...sentence(view.more))),
      view.together.length > 0 && together(view.together),
      ...view.groups.map(group),
      make("p", { class: "note counts" }, view.counts),
      make("p", { class: "note counts" }, ...sentence(view.means), " ", say("phone.truth.defer")),
    ];
    const head = { title: view.job, back: { text: say("phone.to-step"), hash: view.hash }, note: view.status };
    this.element.replaceChildren(frame(head, body.filter(Boolean), this.#foot(view)));
  }

  #foot(view) {
    const save = key(say("phone.book.save"), () => this.dispatchEvent(new Event("save")), { id: "save" });
    const share = view.share && key(say("phone.book.share"), () => this.dispatchEvent(new Event("share")), { class: "key", id: "share" });
    const row = make("div", { class: "pair" }, save, share || null);
    return [row, way(say("phone.list.go-on"), view.hash, { class: "key main", id: "main" })];
  }
}

/** @param {string[]} lines what two phones did at once, and what to do about it */
function together(lines) {
  return make("section", { class: "stands together" }, make("h3", {}, say("phone.truth.together")), make("ul", {}, ...lines.map((line) => make("li", {}, make("span", { class: "shape over", "aria-hidden": "true" }), make("span", {}, line)))));
}

/** @param {Group} group */
function group({ name, title, rows }) {
  return make("section", { class: "stands" }, make("h3", {}, title), make("ul", { class: name }, ...rows.map(row)));
}

/** @param {Row} row */
function row({ name, state, stands, word }) {
  const sign = make("span", { class: `shape ${state}`, "aria-hidden": "true" });
  return make("li", {}, sign, make("span", { class: "name" }, name), make("span", { class: "word" }, word), stands && make("span", { class: "where" }, ...sentence(stands)));
}
