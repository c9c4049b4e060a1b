/** How true the yard is: each footing mark, the drawing, and the field book as a file. Tells "share" and "save". */
import { frame, key, make, way } from "./element.js";
import { say } from "./sayings.js";

/**
 * @typedef {{point: string, name: string, state: string, text: string}} Mark
 */

export class Truth extends EventTarget {
  constructor(plan) {
    super();
    this.plan = plan;
    this.element = make("div");
  }

  /** @param {{job: string, status: Node, hash: string, title: string, more: string, marks: Mark[], counts: string, share: boolean}} view */
  show(view) {
    this.plan.name(say("phone.plan", { name: view.job }));
    const body = [
      this.plan.element,
      make("div", { class: "task" }, make("h2", {}, view.title), make("p", {}, view.more)),
      make("ul", { class: "marks" }, ...view.marks.map(mark)),
      make("p", { class: "note counts" }, view.counts),
      make("p", { class: "note counts" }, say("phone.truth.defer")),
    ];
    const head = { title: view.job, back: { text: say("phone.to-step"), hash: view.hash }, note: view.status };
    this.element.replaceChildren(frame(head, body, this.#foot(view)));
  }

  #foot(view) {
    const save = key(say("phone.book.save"), () => this.dispatchEvent(new Event("save")), { id: "save" });
    const share = view.share && key(say("phone.book.share"), () => this.dispatchEvent(new Event("share")), { class: "key", id: "share" });
    const row = make("div", { class: "pair" }, save, share || null);
    return [row, way(say("phone.list.go-on"), view.hash, { class: "key main", id: "main" })];
  }
}

function mark({ name, state, text }) {
  return make("li", {}, make("span", { class: `shape ${state}`, "aria-hidden": "true" }), make("span", { class: "name" }, name), make("span", { class: "word" }, text));
}
