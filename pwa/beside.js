/** The screens beside the step: the reading, staked but off, the list, how true. Fetched once the first step is up. */
import { bookFile, canShare, save, share } from "./data/exchange.js";
import { hashOf } from "./routes.js";
import { list } from "./ui/list.js";
import { Off } from "./ui/off.js";
import { Pad } from "./ui/pad.js";
import { Plan } from "./ui/plan.js";
import { say } from "./ui/sayings.js";
import { footingOf } from "./ui/step.js";
import { Truth } from "./ui/truth.js";
import { truthView } from "./truthview.js";

/** Where a half-typed reading of this pull waits, should the page be closed over it. */
export function draftOf(job, ask) {
  return `draft/${job.id}/${ask.step}/${ask.from}/${ask.to}`;
}

export function padFor(job, ask) {
  const { walking } = job;
  const draft = draftOf(job, ask);
  return new Pad({
    ...common(job, ask), target: ask.target, wanted: walking.show(ask.target), draft: sessionStorage.getItem(draft) ?? "",
    read: ({ text, held }) => walking.math.tape.reading(text, ask.target, walking.units, held),
    message: (message) => job.text(message), keep: (text) => sessionStorage.setItem(draft, text),
  });
}

export function offFor(job, ask) {
  return new Off(common(job, ask));
}

/** The room each way is told of the direction that is asked about; not that of the other. */
const BESIDE = { across: roomOf("toward", "away"), out: roomOf("left", "right") };

function roomOf(...sides) {
  return new Set(sides.map((side) => `walk.window.room.${side}`));
}

/** Why a pull cannot be taken; null when it can. */
export async function whyNot() {
  const { ask } = await import("./ui/sheet.js");
  const reasons = ["blocked", "too long", "alone"].map((value) => ({ text: say(`phone.cannot.${value.replace(" ", "-")}`), value }));
  return ask(say("phone.cannot"), [...reasons, { text: say("phone.cannot.never-mind"), value: null }]);
}

/** Undo: the last entry of the step, or the one before it, struck. */
export async function takeBack(job) {
  const last = job.walking.undoable(job.ask.step, !job.route.step);
  if (!last || !(await job.write({ kind: "strike", step: last.step, strikes: last.strikes }))) return;
  job.lingering = "";
  job.show(job.route);
  const { tell } = await import("./ui/sheet.js");
  tell(say("phone.undone"));
}

/** Asked of the limits with every post where it stands by now. Few walks need it: it is fetched when it is opened. */
export async function moveFor(job, ask) {
  const { MayMove } = await import("./ui/maymove.js");
  const { walking } = job;
  const { n, m } = /** @type {{n: number, m: number}} */ (footingOf(walking.document, ask));
  const { window } = walking.math;
  const limits = window.placed(walking.document.frame.limits, walking.document, walking.state);
  const asked = ([dx, dy], axis) => {
    const { holds, say, lines } = window.move(limits, n, m, dx, dy);
    return { holds, say: job.text(say), lines: lines.filter(({ key }) => !BESIDE[axis].has(key)).map((line) => job.text(line)) };
  };
  return new MayMove({ ...common(job, ask), task: job.name(`G${n}-${m}`), asked });
}

function common(job, ask) {
  const { walking } = job;
  return { units: walking.units, longest: walking.document.yard.tape.length, back: job.hash(), task: job.text(ask.say), show: (inches) => walking.show(inches) };
}

export function listFor(job) {
  const { walking, id } = job;
  job.crew?.list();
  const steps = walking.steps().map((step) => ({ ...step, title: job.text(step.title) }));
  return list({ job: walking.document.job.name, note: (first) => job.note(first), crew: job.others, hash: hashOf({ job: id }), now: walking.next().step, steps, way: wayName(walking.way), choose: () => takeWay(job), afters: walking.afters, begin: (what) => takeAfter(job, what) });
}

function wayName(way) {
  return say(wayKey(way));
}

function wayKey(way) {
  return `phone.way.${way.replaceAll(" ", "-")}`;
}

/** Ask which way through the yard: each with what it means. Null when it stays as it is. */
async function wayFor({ walking }) {
  const { ask } = await import("./ui/sheet.js");
  const { way } = walking;
  const ways = walking.document.job.ways.map((value) => ({ value, now: value === way, text: wayText(value, value === way), means: say(`${wayKey(value)}.means`) }));
  const chosen = await ask(say("phone.way.title"), [...ways, { text: say("phone.way.keep"), value: null }], say("phone.way.more"));
  return chosen === way ? null : chosen;
}

function wayText(way, now) {
  return now ? say("phone.way.now", { way: wayName(way) }) : wayName(way);
}

/** The way that is chosen is an entry like any other. */
async function takeWay(job) {
  const way = await wayFor(job);
  if (way === null || job.writing || !(await job.write({ kind: "way", way, step: "", act: -1 }))) return;
  location.hash = hashOf({ job: job.id });
  const { tell } = await import("./ui/sheet.js");
  tell(say("phone.way.taken", { way: wayName(way) }));
}

/** Begin what comes after digging or pouring, and go to its first step. */
export async function takeAfter(job, what) {
  if (!(await mayBegin(job, what)) || job.writing || !(await job.write({ kind: "after", what, step: "", act: -1 }))) return;
  const first = job.walking.firstAfter(what);
  job.to(hashOf({ job: job.id, step: job.walking.next().step === first ? "" : first }));
}

/** Whether to begin what comes after digging or pouring; asked only where it was begun before. */
async function mayBegin({ walking }, what) {
  if (!walking.hasBegun(what)) return true;
  const { ask } = await import("./ui/sheet.js");
  const choices = [{ text: say("phone.after.again.yes"), value: true, main: true }, { text: say("phone.after.again.no"), value: false }];
  return Boolean(await ask(say("phone.after.again"), choices, say("phone.after.again.more")));
}

export async function truthFor(job) {
  const file = () => bookFile(job.walking.document);
  const plan = new Plan(job.walking.document.drawing);
  plan.draw();
  const truth = new Truth(plan);
  truth.addEventListener("save", async () => save(await file()));
  truth.addEventListener("share", async () => share(await file()));
  truth.show({ ...truthView(job), share: canShare(await file()) });
  return truth.element;
}
