/** The screens beside the step: the reading, staked but off, the list, how true. Fetched once the first step is up. */
import { bookFile, canShare, save, share } from "./data/exchange.js";
import { hashOf } from "./routes.js";
import { list } from "./ui/list.js";
import { Off } from "./ui/off.js";
import { Pad } from "./ui/pad.js";
import { Truth } from "./ui/truth.js";
import { footingOf, truthView } from "./views.js";

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
  const steps = walking.steps().map((step) => ({ ...step, title: job.text(step.title) }));
  return list({ job: walking.document.job.name, hash: hashOf({ job: id }), now: walking.next().step, steps });
}

export async function truthFor(job) {
  const file = () => bookFile(job.walking.document);
  const truth = new Truth(job.plan);
  truth.addEventListener("save", async () => save(await file()));
  truth.addEventListener("share", async () => share(await file()));
  truth.show({ ...truthView(job), share: canShare(await file()) });
  return truth.element;
}
