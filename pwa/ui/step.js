/** One step: the plan, one sentence, the reading, the verdict, the kept tries, and one big key for the next thing. */
import { hashOf } from "../routes.js";
import { frame, key, make, reading, sentence, telling, way } from "./element.js";
import { say } from "./sayings.js";

const ARROWS = { left: "←", right: "→", toward: "↑", away: "↓" };

/**
 * What a step screen shows; texts are ready to read, "" where there is nothing to say.
 * @typedef {{ask: string, say: string, more: string, verdict: string, why: string, doubt: string, shown: string, total: string, arrow: string, tries: (string|{text: string, word: string})[],
 *   job: string, status: Node, title: string, index: number, count: number, hashes: Record<string, string>, undo: boolean, move: boolean, caution: boolean, closed: boolean, sign: string, next: string, afters: string[]}} StepView
 */

/** What a step screen shows, made of the field's answers. @returns {StepView} */
export function stepView(job, ask) {
  const steps = job.walking.steps();
  const index = ask.ask === "end" ? steps.length - 1 : steps.findIndex((step) => step.id === ask.step);
  const { kind } = job.walking.document.steps.find(({ id }) => id === steps[index].id);
  return {
    ...said(job, ask), ...amount(job.walking, ask), ask: ask.ask, arrow: ask.arrow, closed: isClosed(job.walking, ask), sign: signOf(job.walking, ask, steps[index]), tries: triesOf(job, ask),
    job: job.walking.document.job.name, status: job.note(), title: job.text(steps[index].title), index: index + 1, count: steps.length,
    caution: kind === "caution", next: ask.ask === "nothing" ? nextTitle(job, steps) : "",
    afters: ask.ask === "end" ? job.walking.afters : [], move: footingOf(job.walking.document, ask) !== null, hashes: hashesOf(job.id, steps, index), undo: job.walking.undoable(ask.step, !job.route.step) !== null,
  };
}

/** The footing that is being marked or staked, where the plan knows how far it may move: its beam and its number on it. */
export function footingOf({ frame }, ask) {
  const [, n, m] = /^[PG](\d+)-(\d+)$/.exec(ask.point ?? "") ?? [];
  const knows = frame?.checked === true && frame.limits?.beams.some(({ number, posts }) => number === Number(n) && posts.length >= Number(m));
  return knows && (ask.ask === "set" || ask.ask === "stake") ? { n: Number(n), m: Number(m) } : null;
}

/** Whether the last verdict is of a check that has just ended in this step, and not of what is asked now. */
function isClosed(walking, ask) {
  return ask.act >= 0 && walking.verdict(ask) !== null && walking.lastAct !== ask.act;
}

/** How a check has ended: not sure; a mark that stands further off than the tolerance; or done. */
function signOf(walking, ask, step) {
  const record = walking.state.acts[`${ask.step}/${walking.lastAct}`];
  if (ask.act >= 0 ? record?.unsure : step.state === "unsure") return "unsure";
  const { within = 0 } = walking.verdict(ask)?.slots ?? {};
  return within > walking.document.yard.tolerance ? "over" : "done";
}

/** The title of the step that is next in the order of the work. */
function nextTitle(job, steps) {
  const next = steps.find((step) => step.id === job.walking.next().step);
  return next ? job.text(next.title) : say("phone.to-truth");
}

/** What is lit and done on the plan, where a thing has to go, and the pull as a line, should the drawing not have it. */
export function lookOf(walking, ask) {
  const pointer = ask.arrow ? { id: `point-${ask.point}`, side: ask.arrow } : null;
  const pull = ask.from ? { id: `pull-${ask.from}-${ask.to}`, from: walking.planned(ask.from), to: walking.planned(ask.to), text: walking.show(ask.inches) } : null;
  return { lit: ask.lit, done: walking.staked().map((point) => `point-${point}`), pointer, pull };
}

/** Why a pull is asked for stands under its reading; any other doubt with the verdict. */
function said(job, ask) {
  const doubt = job.text(ask.doubt);
  const [why, rest] = ask.ask === "pull" ? [doubt, ""] : ["", doubt];
  return { say: job.text(ask.say), more: job.text(ask.more), verdict: verdictOf(job, ask), why, doubt: rest };
}

/** Where a reading is asked for again, what is suspected of it stands alone: the last verdict may be of another pull. */
function verdictOf(job, ask) {
  return ask.ask === "again" ? "" : job.text(job.walking.verdict(ask));
}

function amount(walking, ask) {
  if (ask.inches === null) return { shown: "", total: "" };
  const [shown, total] = [walking.show(ask.inches), walking.total(ask.inches)];
  return { shown, total: shown === total ? "" : total };
}

/** States of a reading that is kept but not believed. */
const OUT = new Set(["struck", "aside"]);

/** Every reading kept in the step; where a step has more than one pull, between which points; one not believed any more with the word for it. */
function triesOf(job, ask) {
  const tries = job.walking.tries(ask.step);
  const pulls = new Set(tries.map((kept) => `${kept.from} ${kept.to}`));
  const last = verdictOf(job, ask);
  const told = tries.map((kept) => {
    const text = pulls.size < 2 ? job.text(kept.say) : say("phone.step.try", { from: job.name(kept.from), to: job.name(kept.to), text: job.text(kept.say) });
    return OUT.has(kept.status) ? { text, word: say(`phone.step.${kept.status}`) } : text;
  });
  return told.at(-1) === last ? told.slice(0, -1) : told;
}

function hashesOf(job, steps, index) {
  const to = (step) => (step ? hashOf({ job, step: step.id }) : "");
  return { before: to(steps[index - 1]), after: to(steps[index + 1]), list: hashOf({ job, part: "list" }), truth: hashOf({ job, part: "truth" }) };
}

/** What may be begun after digging or pouring, each with what it is for; null where nothing may. @param {string[]} whats @param {(what: string, event: any) => void} begin */
export function aftersOf(whats, begin, level = "h3") {
  if (whats.length === 0) return null;
  const keys = whats.map((what) => telling(say(`phone.after.${what}`), say(`phone.after.${what}.means`), (event) => begin(what, event), { id: what }));
  return make("section", { class: "afters", "aria-labelledby": "after" }, make(level, { id: "after" }, say("phone.after.title")), ...keys);
}

/** Tells "tap" {what: "done"|"read"|"off"|"move"|"cannot"|"undo"|"next"|"truth"|"strings"|"marks"}. */
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
      view.closed && ended(view),
      make("h2", {}, ...sentence(view.say)),
      view.shown && view.ask !== "move" && make("div", { class: "readings" }, reading(view.shown), make("p", { class: "total" }, view.total)),
      view.why && make("p", { class: "why" }, ...sentence(view.why)),
      (view.doubt || (view.verdict && !view.closed)) && (VERDICTS[view.ask] ?? verdict)(view),
      view.more && make("p", { class: "more" }, ...sentence(view.more)),
      view.tries.length > 0 && tries(view.tries),
      aftersOf(view.afters, (what, event) => this.#tap(what, event)),
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
  return make("section", { class: "verdict" }, view.verdict && !view.closed && make("p", { class: "amount" }, ...sentence(view.verdict)), view.doubt && make("p", {}, ...sentence(view.doubt)));
}

/** A check has ended: what it came to, as something done, not sure, or off. */
function ended(view) {
  const sign = make("span", { class: `shape ${view.sign}`, "aria-hidden": "true" });
  return make("section", { class: "verdict ended" }, sign, make("p", { class: "amount" }, ...sentence(view.verdict)));
}

const VERDICTS = { move, nothing: ended, end: ended };

function tries(rows) {
  return make("section", { class: "tries" }, make("h3", {}, say("phone.step.tries")), make("ol", {}, ...rows.map(kept)));
}

/** A kept reading; one that is not believed is struck through, and says so. */
function kept(row) {
  if (typeof row === "string") return make("li", {}, ...sentence(row));
  return make("li", {}, make("s", {}, ...sentence(row.text)), " ", make("b", { class: "out" }, row.word));
}

function turn(sign, label, hash) {
  if (!hash) return make("span", { class: "turn" });
  return way(sign, hash, { class: "turn", "aria-label": label });
}
