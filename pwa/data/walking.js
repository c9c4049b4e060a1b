/** The job being walked: its document, its entries and the state folded from them. State changes here and nowhere else. */
import { later, whenIdle } from "../later.js";
import * as book from "./book.js";
import { documentOf, field } from "./kept.js";

/** Open a kept job: its document, its field math, and what the field book recalls of it. */
export async function openJob(record, recalled) {
  const [document, math, { entries, kept, device }] = await Promise.all([documentOf(record), field(record), recalled]);
  return new Walking(document, math, device, entries, kept, record.same);
}

export class Walking {
  constructor(document, math, device, entries, kept, same = []) {
    this.revisions = new Set([document.digest, ...same]);
    this.document = document;
    this.math = math;
    this.device = device;
    this.units = document.job.units;
    this.load(entries, kept?.revision === document.digest ? kept : null);
  }

  /** Fold, from a kept state as far as it holds. Entries of a revision with another yard stay in the book; they are not weighed. */
  load(entries, kept = this.folded) {
    this.undoes = new Map();
    this.ahead = null;
    this.all = entries;
    this.entries = entries.filter((entry) => this.revisions.has(entry.revision));
    this.state = this.math.walk.resume(this.document, kept, this.entries);
    if (kept?.ids.length !== this.entries.length) this.#keepLater();
  }

  /** The state and the entries it was folded from. */
  get folded() {
    return { job: this.document.job.id, revision: this.document.digest, ids: this.entries.map((entry) => entry.id), state: this.state };
  }

  #keepLater() {
    later("state", () => book.keepState(this.folded).catch((fault) => console.warn(fault)));
  }

  /** Another window wrote; what this one is writing comes first. */
  async reload() {
    await this.pending;
    this.load(await book.entriesOf(this.document.job.id));
  }

  next() {
    return this.math.walk.next_ask(this.document, this.state);
  }

  ask(step) {
    return step ? this.math.walk.step_ask(this.document, this.state, step) : this.next();
  }

  steps() {
    return this.math.walk.step_list(this.document, this.state);
  }

  truth() {
    return this.math.walk.truth(this.document, this.state);
  }

  /** The footing marks that are staked, without the reckoning that `truth` costs. */
  staked() {
    return Object.keys(this.state.marks).filter((point) => this.state.marks[point].staked);
  }

  tries(step) {
    return this.math.walk.tries(this.document, this.state, step);
  }

  /** The field's answer to what was said: {"status": "ok", entry} or a question or a refusal; nothing is written yet. */
  weigh(ask, answer) {
    return this.math.walk.answer(this.document, this.state, ask, answer);
  }

  /** Reckon, when there is time, what an answer would come to. Nothing is written; an answer given later takes its place. */
  reckon(ask, answer) {
    this.thought = answer;
    whenIdle(() => this.thought === answer && this.#reckon(ask, answer));
  }

  #reckon(ask, answer) {
    const { status, entry } = this.weigh(ask, answer);
    if (status !== "ok") return;
    const state = structuredClone(this.state);
    this.ahead = { part: JSON.stringify(entry), state: this.math.walk.apply(this.document, state, entry), count: this.entries.length };
  }

  /** The state after an entry's part, where it was reckoned ahead from the entries there are. */
  #reckoned(part) {
    const { ahead } = this;
    this.thought = this.ahead = null;
    return ahead?.part === JSON.stringify(part) && ahead.count === this.entries.length ? ahead.state : null;
  }

  /**
   * Write an entry to the disk, the state following meanwhile, and what is done with it: resolves once the entry is there.
   * Rejects, with the state as it was, when it cannot be written.
   */
  async write(part, meanwhile) {
    const entry = { ...part, ...this.#signed() };
    const written = book.append(entry);
    this.pending = written.catch(() => undefined);
    await book.open();
    this.#follow(entry, this.#reckoned(part));
    meanwhile();
    try {
      await written;
    } catch (fault) {
      this.load(this.all.filter((one) => one !== entry));
      throw fault;
    }
    return entry;
  }

  #follow(entry, reckoned) {
    if (entry.kind === "strike") return this.load([...this.all, entry]);
    this.undoes.clear();
    this.all.push(entry);
    this.entries.push(entry);
    this.state = reckoned ?? this.math.walk.apply(this.document, this.state, entry);
    return this.#keepLater();
  }

  #signed() {
    const highest = this.all.reduce((n, entry) => Math.max(n, entry.n), 0);
    return {
      id: crypto.randomUUID(), n: highest + 1, device: this.device, at: new Date().toISOString(),
      revision: this.document.digest, job: this.document.job.id,
    };
  }

  /** What undo would strike: the latest of this step, else (when `elsewhere`) of the step last worked on. */
  undoable(step, elsewhere) {
    const places = elsewhere ? [step, ...this.entries.map((entry) => entry.step).reverse()] : [step];
    for (const place of new Set(places)) {
      const strikes = this.#undo(place);
      if (strikes !== "") return { step: place, strikes };
    }
    return null;
  }

  /** Asked more than once a screen, answered once. */
  #undo(step) {
    if (!this.undoes.has(step)) this.undoes.set(step, this.math.walk.undo(this.document, this.entries, step));
    return this.undoes.get(step);
  }

  /** A message of the field as text, in the words the document carries. */
  text(message) {
    return this.math.say.sentence(this.document.words, message, this.units);
  }

  /** A point's name. */
  name(point) {
    const { word, slots } = this.document.yard.points[point].name;
    return this.text({ key: word, slots: slots ?? {} });
  }

  /** The verdict of the entry made last, where it belongs to this ask's step; a move leaves nothing to say but to pull again. */
  verdict(ask) {
    if (this.entries.at(-1)?.kind === "move") return null;
    return this.state.step === ask.step || ask.ask === "end" ? ask.verdict : null;
  }

  show(inches) {
    return this.math.tape.show(inches, this.units);
  }

  total(inches) {
    return this.math.tape.total(inches, this.units);
  }
}
