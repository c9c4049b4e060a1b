/** What the step and truth screens show, made of the field's answers: texts only, no geometry. */
import { hashOf } from "./routes.js";
import { say } from "./ui/sayings.js";

/** @returns {import("./ui/step.js").StepView} */
export function stepView(job, ask) {
  const steps = job.walking.steps();
  const index = ask.ask === "end" ? steps.length - 1 : steps.findIndex((step) => step.id === ask.step);
  return {
    ...said(job, ask), ...amount(job.walking, ask), ask: ask.ask, arrow: ask.arrow, tries: triesOf(job, ask.step),
    job: job.walking.document.job.name, status: job.readiness, title: job.text(steps[index].title), index: index + 1, count: steps.length,
    hashes: hashesOf(job.id, steps, index), undo: job.walking.undoable(ask.step, !job.route.step) !== null,
  };
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
function triesOf(job, step) {
  const tries = job.walking.tries(step);
  const pulls = new Set(tries.map((kept) => `${kept.from} ${kept.to}`));
  return tries.map((kept) => {
    const text = job.text(kept.say);
    return pulls.size < 2 ? text : say("phone.step.try", { from: job.name(kept.from), to: job.name(kept.to), text });
  });
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
    marks: truth.marks.map((mark) => ({ point: mark.point, name: job.name(mark.point), state: mark.state, text: markText(walking, mark) })),
    counts: say("phone.truth.counts", { pulls: truth.pulls, moves: truth.moves, entries: walking.all.length }),
  };
}

function markText(walking, mark) {
  const within = mark.within === null || mark.within === undefined ? "" : say("phone.mark.within", { within: walking.show(mark.within) });
  return [say(`phone.mark.${mark.state}`), offText(walking, mark.off), within].filter(Boolean).join(", ");
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
