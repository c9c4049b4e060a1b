/** The job being walked: its document, its entries and the state folded from them. State changes here and nowhere else. */
import * as book from "./book.js";

/** Walk a kept job, from what the field book recalls of it. */
export function walk({ document, math }, { entries, kept, device }) {
  return new Walking(document, math, device, entries, kept);
}

export class Walking {
  constructor(document, math, device, entries, kept) {
    this.document = document;
    this.math = math;
    this.device = device;
    this.units = document.job.units;
    this.load(entries, kept?.revision === document.digest ? kept : null);
  }

  /** Fold, from a kept state as far as it holds. Entries of a revision that does not carry over stay in the book; they are not weighed. */
  load(entries, kept = this.folded) {
    this.undoes = new Map();
    this.ahead = null;
    this.all = entries;
    this.entries = entries.filter((entry) => this.math.carry.taken_as(this.document, entry) !== null);
    this.highest = new Map();
    this.#count(entries);
    this.state = this.math.walk.resume(this.document, kept, entries);
    if ((kept?.ids.length ?? 0) !== entries.length) this.#keepLater();
  }

  /** The highest n of each phone. */
  #count(entries) {
    for (const { device, n } of entries) this.highest.set(device, Math.max(this.highest.get(device) ?? 0, n));
  }

  /** The state and the entries it was folded from. */
  get folded() {
    return { job: this.document.job.id, revision: this.document.digest, ids: this.all.map((entry) => entry.id), state: this.state };
  }

  async #keepLater() {
    const { later } = await import("../later.js");
    later("state", () => book.keepState(this.folded).catch((fault) => console.warn(fault)));
  }

  next() {
    return this.math.walk.next_ask(this.document, this.state);
  }

  ask(step) {
    return step ? this.math.walk.step_ask(this.document, this.state, step) : this.next();
  }

  /** The way the yard is walked. */
  get way() {
    return this.math.walk.way_of(this.document, this.state);
  }

  /** Whether a step belongs to the way that is walked; one that is not there belongs to none. */
  isWalked(step) {
    const found = this.document.steps.find(({ id }) => id === step);
    return found !== undefined && this.math.walk.is_walked(this.document, this.state, found);
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

  /** What may be begun now: the strings go back up once every footing is staked, marks are looked at once one is. */
  get afters() {
    const { steps, yard } = this.document;
    const marks = Object.values(yard.points).filter(({ kind, after }) => kind === "ground" && !after);
    const staked = this.staked().length;
    const due = { strings: staked === marks.length, marks: staked > 0 };
    return Object.keys(due).filter((what) => due[what] && steps.some(({ after }) => after === what));
  }

  /** Whether it was begun before, and not taken back. */
  hasBegun(what) {
    return this.state.after[what] > 0;
  }

  /** The first step of what was begun. */
  firstAfter(what) {
    return this.document.steps.find(({ after }) => after === what).id;
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
    import("../later.js").then(({ idle }) => idle(() => this.thought === answer && this.#reckon(ask, answer)));
  }

  #reckon(ask, answer) {
    const { status, entry } = this.weigh(ask, answer);
    if (status !== "ok") return;
    const state = structuredClone(this.state);
    this.ahead = { part: JSON.stringify(entry), state: this.math.walk.apply(this.document, state, { ...entry, ...this.#signed() }), count: this.entries.length };
  }

  /** The state after an entry's part, where it was reckoned ahead from the entries there are. */
  #reckoned(part) {
    const { ahead } = this;
    this.thought = this.ahead = null;
    return ahead?.part === JSON.stringify(part) && ahead.count === this.entries.length ? ahead.state : null;
  }

  /** Write an entry to the disk, the state following meanwhile, and what is done with it. Rejects, with the state as it was, when it cannot be written. */
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
    this.#count([entry]);
    this.state = reckoned ?? this.math.walk.apply(this.document, this.state, entry);
    return this.#keepLater();
  }

  #signed() {
    const others = [...this.highest].filter(([device]) => device !== this.device).sort(([, one], [, other]) => other - one);
    return {
      id: crypto.randomUUID(), n: Math.max(0, ...this.highest.values()) + 1, device: this.device, at: new Date().toISOString(),
      seen: Object.fromEntries(others.slice(0, 50)), revision: this.document.digest, job: this.document.job.id,
    };
  }

  /** What undo would strike: what was just begun, else the latest of this step, else (when `elsewhere`) of the step last worked on. */
  undoable(step, elsewhere) {
    const newest = this.#newest();
    if (newest?.kind === "after" && (elsewhere || this.#after(step) === newest.what)) return { step: "", strikes: newest.id };
    const places = elsewhere ? [step, ...this.entries.map((entry) => entry.step).reverse()] : [step];
    for (const place of new Set(places)) {
      const strikes = this.#undo(place);
      if (strikes !== "") return { step: place, strikes };
    }
    return null;
  }

  /** Asked more than once a screen, answered once. */
  #undo(step) {
    if (!this.undoes.has(step)) this.undoes.set(step, this.math.walk.undo(this.document, this.#round(step), step));
    return this.undoes.get(step);
  }

  #newest() {
    return this.#counting().at(-1);
  }

  /** The entries that can be struck and are not; kept with the undoes, under no step. */
  #counting() {
    const { entries, undoes } = this;
    const struck = undoes.has(null) ? null : new Set(entries.filter(({ kind }) => kind === "strike").map(({ strikes }) => strikes));
    if (struck) undoes.set(null, entries.filter(({ id, kind }) => kind !== "strike" && kind !== "note" && !struck.has(id)));
    return undoes.get(null);
  }

  /** The entries in which a step can be undone: of one that comes after the walk, those since it was begun last. */
  #round(step) {
    const after = this.#after(step);
    if (!after) return this.entries;
    const begun = this.#counting().findLastIndex(({ kind, what }) => kind === "after" && what === after);
    return this.#counting().slice(begun + 1);
  }

  /** What has to be begun before a step is walked: "" for a step of the walk itself. */
  #after(step) {
    return this.document.steps.find(({ id }) => id === step)?.after ?? "";
  }

  /** The document's words, in which this phone is called so. */
  #words() {
    const own = `walk.phone.${this.state.phones.indexOf(this.device) + 1}`;
    const { words } = this.document;
    if (this.words?.own !== own) this.words = { own, all: own in words ? { ...words, [own]: words["walk.phone.this"] } : words };
    return this.words.all;
  }

  /** A message of the field as text. */
  text(message) {
    return this.math.say.sentence(this.#words(), message, this.units);
  }

  name(point) {
    const { word, slots } = this.document.yard.points[point].name;
    return this.text({ key: word, slots: slots ?? {} });
  }

  /** The verdict of the entry made last, where it belongs to this ask's step; after a move, or what was just begun, there is none to tell. */
  verdict(ask) {
    if (["move", "after"].includes(this.#newest()?.kind)) return null;
    return this.state.step === ask.step || ask.ask === "end" ? ask.verdict : null;
  }

  /** The act that the newest entry answered. */
  get lastAct() {
    return this.#newest()?.act ?? -1;
  }

  /** Where a point is on the plan, [x, y] in inches. */
  planned(point) {
    const { x, y } = this.document.yard.points[point];
    return [x, y];
  }

  show(inches) {
    return this.math.tape.show(inches, this.units);
  }

  /** A doubt as the tape shows it, rounded up: it never promises too much. */
  showDoubt(inches) {
    return this.show(this.math.tape.at_least(inches, this.units));
  }

  total(inches) {
    return this.math.tape.total(inches, this.units);
  }
}
