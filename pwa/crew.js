/** The others on the screens of an open job: what is sent and what waits, what they did, and steps that follow them only between taps. */
import { isTold, lineOf, othersOf, sentenceOf, standingOf } from "./crewtold.js";
import { entriesOf, inOrder } from "./data/book.js";
import { walk } from "./data/walking.js";
import { make, present } from "./ui/element.js";
import { say } from "./ui/sayings.js";
import { lookOf, stepView } from "./ui/step.js";

const STILL = 700; // ms without a finger on the screen
const AGAIN = 300;
/** What is under a finger on a step: while all of it is the same, the rest may change. */
const UNDER = ["ask", "say", "shown", "total", "next", "caution", "undo", "move", "title", "index", "afters"];

/** @type {Worker|undefined} */
let worker;
/** @type {Crew|null} */
let current = null;
const finger = { down: false, last: 0 };

/** Start the worker, once, and tell it when trying again is worth while. */
export function begin() {
  if (worker) return;
  worker = new Worker(new URL("./data/sync.js", import.meta.url), { type: "module" });
  worker.onmessage = ({ data }) => current?.hear(data);
  worker.onerror = (fault) => console.warn(fault.message);
  window.addEventListener("online", look);
  document.addEventListener("visibilitychange", look);
  look();
}

function look() {
  worker?.postMessage({ act: "look", job: current?.job.id ?? "", seen: document.visibilityState === "visible" });
}

for (const [type, down] of Object.entries({ pointerdown: true, pointerup: false, pointercancel: false })) {
  document.addEventListener(type, () => Object.assign(finger, { down, last: performance.now() }), { capture: true, passive: true });
}

export class Crew {
  /** @param {import("./job.js").JobScreens} job */
  constructor(job) {
    this.job = job;
    /** @type {any} how the book stands with the server */
    this.state = null;
    /** @type {any[]} entries in the book that the walk on the screen does not know */
    this.fresh = [];
    /** @type {any} the walk with them, made ahead; and the one it was made from */
    this.next = null;
    this.from = { walking: job.walking, count: 0 };
    this.changed = false;
    this.told = "";
    this.strip = make("div", { class: "news", role: "status" });
    job.plan.element.append(this.strip);
    current = this;
    begin();
    look();
  }

  leave() {
    if (current === this) current = null;
    clearTimeout(this.timer);
    look();
  }

  hear(data) {
    if (data.job !== this.job.id) return;
    if (data.told === "folded") this.#folded(data);
    else {
      this.state = data;
      this.job.sent.textContent = lineOf(data);
      this.list();
      this.#tell();
    }
  }

  /** Entries were written, here or elsewhere. */
  take(entries) {
    const fresh = this.#unknown(entries);
    this.fresh.push(...fresh);
    if (fresh.length > 0) this.#fold();
  }

  #unknown(entries) {
    const here = new Set([...this.job.walking.all, ...this.fresh].map(({ id }) => id));
    return entries.filter(({ id }) => !here.has(id));
  }

  #fold() {
    this.next = null;
    worker?.postMessage({ act: "fold", job: this.job.id });
  }

  /** The worker has folded the book. Where it read more than was heard here, or less, the book is read anew. */
  async #folded({ count, folded }) {
    const { walking, writing } = this.job;
    const entries = [...walking.all, ...this.fresh].sort(inOrder);
    if (writing || count !== entries.length) return this.#later(() => this.#catchUp());
    const { document, math, device } = walking;
    this.next = walk({ document, math }, { entries, kept: folded, device });
    this.from = { walking, count: walking.all.length };
    return this.offer();
  }

  async #catchUp() {
    await this.job.walking.pending;
    this.fresh.push(...this.#unknown(await entriesOf(this.job.id)));
    if (this.fresh.length > 0) this.#fold();
  }

  #later(work) {
    clearTimeout(this.timer);
    this.timer = setTimeout(work, AGAIN);
  }

  /** Whether the walk made ahead still goes on from the one on the screen. */
  get #holds() {
    return this.from.walking === this.job.walking && this.from.count === this.job.walking.all.length;
  }

  /** The screen follows, where that moves nothing under a finger; else it says that there is something to follow. */
  offer() {
    if (this.fresh.length === 0) return;
    if (!this.next || !this.#holds) return this.#fold();
    if (isBusy(this.job)) return this.#later(() => this.offer());
    const { screen } = this.job.route;
    if (screen === "step") this.#offerStep();
    else if (screen === "list" || screen === "truth") this.#renew();
    return undefined;
  }

  #offerStep() {
    const { job } = this;
    const then = this.#viewThen();
    if (then && alike(job.view, then)) {
      this.#absorb();
      job.plan.look(lookOf(job.walking, job.ask));
    } else if (this.#areMine() || (then && UNDER.every((part) => alike(job.view[part], then[part])))) this.#renew();
    else this.changed = true;
    this.#tell();
  }

  /** What the step would show; null where it would not be walked any more. */
  #viewThen() {
    const { job, next } = this;
    const step = job.route.step || job.lingering;
    if (step && !next.isWalked(step)) return null;
    const then = Object.create(job, { walking: { value: next }, note: { value: () => null } });
    return stepView(then, then.ask);
  }

  #areMine() {
    return this.fresh.every(({ device }) => device === this.job.walking.device);
  }

  /** The same screen, made anew where it stands. */
  async #renew() {
    const { job } = this;
    const { scrollY } = window;
    this.#absorb();
    if (job.route.step && !job.walking.isWalked(job.route.step)) return job.show(job.route);
    await job[`_${job.route.screen}`](job.route);
    return window.scrollTo(0, scrollY);
  }

  /** A tap leads to another screen: it is made of all there is. */
  follow() {
    if (this.next && this.#holds && !this.job.writing) this.#absorb();
  }

  #absorb() {
    const { job } = this;
    job.walking = this.next;
    this.next = null;
    this.fresh = [];
    this.changed = false;
    if (!job.walking.isWalked(job.lingering)) job.lingering = "";
  }

  /** One line over the top of the drawing: it stays till it is tapped, and nothing moves for it. */
  #tell() {
    const text = this.#news();
    if (text === this.told) return;
    if (isBusy(this.job)) return this.#laterTell();
    this.told = text;
    const word = say(this.changed ? "phone.crew.go-on" : "phone.crew.seen");
    const line = text && make("button", { type: "button", class: this.changed ? "new" : "", onclick: () => this.#tapped() }, make("span", {}, text), make("b", {}, word));
    this.strip.replaceChildren(...present([line]));
  }

  #laterTell() {
    clearTimeout(this.telling);
    this.telling = setTimeout(() => this.#tell(), AGAIN);
  }

  #news() {
    const { walking } = this.next ? { walking: this.next } : this.job;
    const ids = new Set(this.state?.news);
    const told = walking.all.filter((entry) => ids.has(entry.id) && isTold(entry));
    const [last] = told.slice(-1);
    const parts = [last && sentenceOf(walking, last), told.length > 1 && say("phone.crew.more", { count: told.length - 1 }), this.changed && say("phone.crew.changed")];
    return parts.filter(Boolean).join(" ");
  }

  #tapped() {
    worker?.postMessage({ act: "seen", job: this.job.id });
    this.state = { ...this.state, news: [] };
    if (this.changed) this.#goOn();
    finger.last = 0;
    this.#tell();
  }

  #goOn() {
    this.changed = false;
    this.follow();
    this.job.lingering = "";
    this.job.show(this.job.route);
  }

  /** On the list of steps: this phone, then each other one with what it did last; nothing where there is nothing to tell. */
  list() {
    const rows = this.job.route.screen === "list" ? [...standingOf(this.state), ...othersOf(this.job.walking)] : [];
    const lines = rows.map((texts) => make("li", {}, ...texts.map((text) => make("p", {}, text))));
    const section = rows.length > 0 ? make("section", { class: "crew", "aria-labelledby": "crew" }, make("h2", { id: "crew" }, say("phone.crew.title")), make("ul", {}, ...lines)) : "";
    this.job.others.replaceChildren(section);
  }
}

function isBusy({ writing }) {
  return writing || finger.down || performance.now() - finger.last < STILL || document.querySelector("dialog[open]") !== null;
}

function alike(one, other) {
  return textOf(one) === textOf(other);
}

function textOf(view) {
  return JSON.stringify(view, (name, value) => (name === "status" ? undefined : value));
}
