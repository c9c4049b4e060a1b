/** All steps with their state, by shape, fill and word; any of them opens. */
import { frame, key, make, present, way } from "./element.js";
import { say } from "./sayings.js";
import { aftersOf } from "./step.js";

/**
 * @param {{job: string, hash: string, now: string, way: string, note: (first: Node) => Node, crew: Element, choose: () => void, afters: string[], begin: (what: string) => void, steps: {id: string, title: string, state: string}[]}} view
 */
export function list(view) {
  const done = view.steps.filter((step) => step.state === "done").length;
  const note = view.note(make("span", {}, say("phone.list.title", { done, count: view.steps.length })));
  const rows = view.steps.map((step, index) => row(view, step, index));
  const on = way(say("phone.list.go-on"), view.hash, { class: "key main", id: "main" });
  const other = key(say("phone.way.key", { way: view.way }), view.choose, { class: "key small wide", id: "way" });
  return frame({ title: view.job, back: { text: say("phone.to-step"), hash: view.hash }, note }, present([make("ol", { class: "steps" }, ...rows), aftersOf(view.afters, view.begin, "h2"), view.crew]), [other, on]);
}

function row(view, step, index) {
  const now = step.id === view.now;
  const state = now ? "now" : step.state;
  return make(
    "li",
    {},
    make(
      "a",
      { href: `${view.hash}/step/${encodeURIComponent(step.id)}`, class: now ? "now" : "", "aria-current": now ? "step" : null },
      make("span", { class: `shape ${step.state}`, "aria-hidden": "true" }),
      make("span", { class: "name" }, `${index + 1}. ${step.title}`),
      make("span", { class: "word" }, say(`phone.state.${state}`)),
    ),
  );
}
