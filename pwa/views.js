/** What the step and truth screens show, made of the field's answers: texts only, no geometry. */
import { hashOf } from "./routes.js";
import { say } from "./ui/sayings.js";

/** @returns {import("./ui/step.js").StepView} */
export function stepView(job, ask) {
  const steps = job.walking.steps();
  const index = ask.ask === "end" ? steps.length - 1 : steps.findIndex((step) => step.id === ask.step);
  return {
    ...said(job, ask), ...amount(job.walking, ask), ask: ask.ask, arrow: ask.arrow, unsure: steps[index].state === "unsure", tries: triesOf(job, ask),
    job: job.walking.document.job.name, status: job.readiness, title: job.text(steps[index].title), index: index + 1, count: steps.length,
    caution: job.walking.document.steps[index].kind === "caution", next: ask.ask === "nothing" ? nextTitle(job, steps) : "",
    move: footingOf(job.walking.document, ask) !== null, hashes: hashesOf(job.id, steps, index), undo: job.walking.undoable(ask.step, !job.route.step) !== null,
  };
}

/** The footing that is being marked or staked, where the plan knows how far it may move: its beam and its number on it. */
export function footingOf({ frame }, ask) {
  const [, n, m] = /^[PG](\d+)-(\d+)$/.exec(ask.point ?? "") ?? [];
  const knows = frame?.checked === true && frame.limits?.beams.some(({ number, posts }) => number === Number(n) && posts.length >= Number(m));
  return knows && (ask.ask === "set" || ask.ask === "stake") ? { n: Number(n), m: Number(m) } : null;
}

/** The title of the step that is next in the order of the work. */
function nextTitle(job, steps) {
  const next = steps.find((step) => step.id === job.walking.next().step);
  return next ? job.text(next.title) : say("phone.to-truth");
}

function said(job, ask) {
  return { say: job.text(ask.say), more: job.text(ask.more), verdict: job.text(job.walking.verdict(ask)), doubt: job.text(ask.doubt) };
}

function amount(walking, ask) {
  if (ask.inches === null) return { shown: "", total: "" };
  const [shown, total] = [walking.show(ask.inches), walking.total(ask.inches)];
  return { shown, total: shown === total ? "" : total };
}

/** Every reading kept in the step; where a step has more than one pull, between which points. */
function triesOf(job, ask) {
  const tries = job.walking.tries(ask.step);
  const pulls = new Set(tries.map((kept) => `${kept.from} ${kept.to}`));
  const last = job.text(job.walking.verdict(ask));
  const told = tries.map((kept) => {
    const text = job.text(kept.say);
    return pulls.size < 2 ? text : say("phone.step.try", { from: job.name(kept.from), to: job.name(kept.to), text });
  });
  return told.at(-1) === last ? told.slice(0, -1) : told;
}

function hashesOf(job, steps, index) {
  const to = (step) => (step ? hashOf({ job, step: step.id }) : "");
  return { before: to(steps[index - 1]), after: to(steps[index + 1]), list: hashOf({ job, part: "list" }), truth: hashOf({ job, part: "truth" }) };
}

export function truthView(job) {
  const { walking } = job;
  const truth = walking.truth();
  const staked = truth.marks.filter((mark) => mark.staked).length;
  return {
    job: walking.document.job.name, status: job.readiness, hash: hashOf({ job: job.id }),
    title: say(truth.true ? "phone.truth.true" : "phone.truth.not-yet"),
    more: say(truth.true ? "phone.truth.true-more" : "phone.truth.more", { staked, count: truth.marks.length, tolerance: walking.show(walking.document.yard.tolerance) }),
    marks: truth.marks.map((mark) => ({ point: mark.point, name: job.name(mark.point), ...markView(walking, mark) })),
    counts: say("phone.truth.counts", { pulls: truth.pulls, moves: truth.moves, entries: walking.all.length }),
  };
}

/** A mark's shape and its words; how near it is only counts once it is on the ground. */
function markView(walking, mark) {
  const marked = mark.point in walking.state.marks;
  if (!marked) return { state: "open", text: say("phone.mark.open") };
  const over = mark.within > walking.document.yard.tolerance;
  const parts = [say(mark.staked ? "phone.mark.staked" : "phone.mark.marked"), offText(walking, mark.off), say(over ? "phone.mark.over" : "phone.mark.within", { within: walking.show(mark.within) })];
  const shape = over ? "over" : "done";
  return { state: mark.staked ? shape : "open", text: parts.filter(Boolean).join(", ") };
}

function offText(walking, off) {
  if (!off) return "";
  const [across, out] = off;
  const parts = [side(walking, "across", across), side(walking, "out", out)].filter(Boolean);
  return parts.join(", ");
}

function side(walking, axis, amount) {
  if (walking.show(Math.abs(amount)) === walking.show(0)) return "";
  return say(`phone.off.${axis}-${amount < 0 ? "minus" : "plus"}-amount`, { amount: walking.show(Math.abs(amount)) });
}
