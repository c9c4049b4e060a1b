/** One step: the plan, one sentence, the reading, the verdict, the kept tries, and one big key for the next thing. */
import { frame, key, make, reading, sentence, way } from "./element.js";
import { say } from "./sayings.js";

const ARROWS = { left: "←", right: "→", toward: "↑", away: "↓" };

/**
 * What a step screen shows; texts are ready to read, "" where there is nothing to say.
 * @typedef {{ask: string, say: string, more: string, verdict: string, doubt: string, shown: string, total: string, arrow: string, tries: string[],
 *   job: string, status: Node, title: string, index: number, count: number, hashes: Record<string, string>, undo: boolean, move: boolean, caution: boolean, unsure: boolean, next: string}} StepView
 */

/** Tells "tap" {what: "done"|"read"|"off"|"move"|"cannot"|"undo"|"next"|"truth"}. */
export class Step extends EventTarget {
  constructor(plan) {
    super();
    this.plan = plan;
    this.element = make("div");
  }

  /** @param {StepView} view */
  show(view) {
    this.plan.name(say("phone.plan", { name: view.job }));
    const body = [this.plan.element, this.#place(view), make("div", { class: "task" }, ...this.#task(view))];
    const head = { title: view.job, back: { text: say("phone.to-jobs"), hash: "#/" }, note: view.status, side: way(say("phone.to-truth"), view.hashes.truth, { class: "back" }) };
    this.element.replaceChildren(frame(head, body, this.#foot(view)));
  }

  #place(view) {
    const here = say("phone.step.place", { index: view.index, count: view.count, title: view.title });
    return make(
      "nav",
      { class: "place", "aria-label": say("phone.step.steps") },
      turn("‹", say("phone.step.before"), view.hashes.before),
      way(here, view.hashes.list, { class: "here" }),
      turn("›", say("phone.step.after"), view.hashes.after),
    );
  }

  #task(view) {
    return [
      make("h2", {}, ...sentence(view.say)),
      view.shown && view.ask !== "move" && make("div", { class: "readings" }, reading(view.shown), make("p", { class: "total" }, view.total)),
      (view.verdict || view.doubt) && (VERDICTS[view.ask] ?? verdict)(view),
      view.more && make("p", { class: "more" }, ...sentence(view.more)),
      view.tries.length > 0 && tries(view.tries),
    ].filter(Boolean);
  }

  #foot(view) {
    const small = [
      view.undo && this.#key("undo", "small"),
      (view.ask === "pull" || view.ask === "again") && this.#key("cannot", "small"),
      view.ask === "stake" && this.#key("off", "small"),
      view.move && this.#key("move", "small"),
    ].filter(Boolean);
    const row = small.length > 0 ? make("div", { class: "pair" }, ...small) : null;
    return [row, this.#main(view)].filter(Boolean);
  }

  #main(view) {
    const what = { pull: "read", again: "read", nothing: "next", end: "truth" }[view.ask] ?? "done";
    return key(say(`phone.main.${view.caution ? "caution" : view.ask}`, { next: view.next }), (event) => this.#tap(what, event), { class: "key main", id: "main" });
  }

  #key(what, name) {
    return key(say(`phone.small.${what}`), (event) => this.#tap(what, event), { class: `key ${name}`, id: what });
  }

  /** The second half of a double tap would answer the next ask unread. */
  #tap(what, event) {
    if (event.detail < 2) this.dispatchEvent(new CustomEvent("tap", { detail: what }));
  }
}

/** A move: what was read, the amount with its side, how sure. */
function move(view) {
  const arrow = make("span", { class: "arrow", "aria-hidden": "true" }, ARROWS[view.arrow]);
  return make("section", { class: "verdict" }, make("p", {}, ...sentence(view.verdict)), make("div", { class: "readings" }, reading(view.shown), arrow), make("p", {}, ...sentence(view.doubt)));
}

function verdict(view) {
  return make("section", { class: "verdict" }, make("p", { class: "amount" }, ...sentence(view.verdict)), view.doubt && make("p", {}, ...sentence(view.doubt)));
}

/** The check has ended: what it came to, as something done or as something not sure. */
function ended(view) {
  const sign = make("span", { class: `shape ${view.unsure ? "unsure" : "done"}`, "aria-hidden": "true" });
  return make("section", { class: "verdict ended" }, sign, make("p", { class: "amount" }, ...sentence(view.verdict)));
}

const VERDICTS = { move, nothing: ended, end: ended };

function tries(texts) {
  return make("section", { class: "tries" }, make("h3", {}, say("phone.step.tries")), make("ol", {}, ...texts.map((text) => make("li", {}, ...sentence(text)))));
}

function turn(sign, label, hash) {
  if (!hash) return make("span", { class: "turn" });
  return way(sign, hash, { class: "turn", "aria-label": label });
}
