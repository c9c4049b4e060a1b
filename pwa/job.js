/** The screens of an open job, and what each tap in them does. */
import { mayRest, stayAwake } from "./data/awake.js";
import { bookFile, canShare, save, share } from "./data/exchange.js";
import { openJob } from "./data/walking.js";
import { hashOf } from "./routes.js";
import { make } from "./ui/element.js";
import { list } from "./ui/list.js";
import { Off } from "./ui/off.js";
import { Pad } from "./ui/pad.js";
import { Plan } from "./ui/plan.js";
import { known, say } from "./ui/sayings.js";
import { ask as question, tell } from "./ui/sheet.js";
import { Step } from "./ui/step.js";
import { Truth } from "./ui/truth.js";
import { stepView, truthView } from "./views.js";

export class JobScreens {
  /** @param {any} record @param {{put: Function, ready: () => Promise<boolean>, shows: (hash: string) => void}} app */
  static async open(record, app) {
    return new JobScreens(record, app, await openJob(record));
  }

  constructor(record, app, walking) {
    this.id = record.id;
    this.app = app;
    this.walking = walking;
    this.plan = new Plan(walking.document.drawing, say("phone.plan", { name: walking.document.job.name }));
    this.readiness = make("span", {}, "");
    this.step = new Step(this.plan);
    this.truth = new Truth(this.plan);
    this.lingering = "";
    this.pushed = false;
    this.#listen();
    this.status();
    stayAwake();
  }

  #listen() {
    this.step.addEventListener("tap", (event) => this.#tap(/** @type {CustomEvent} */ (event).detail));
    this.truth.addEventListener("save", () => this.#book(save));
    this.truth.addEventListener("share", () => this.#book(share));
  }

  leave() {
    mayRest();
  }

  async status() {
    const ready = await this.app.ready();
    this.readiness.textContent = say(ready ? "phone.ready" : "phone.not-ready");
  }

  /** Another window wrote into the book. */
  async refresh() {
    await this.walking.reload();
    if (["step", "list", "truth"].includes(this.route.screen)) this.show(this.route);
  }

  /** @param {import("./routes.js").Route} route */
  show(route) {
    if (route.screen === "step" && route.step !== this.lingering) this.lingering = route.step ? "" : this.lingering;
    this.route = route;
    this[`_${route.screen}`]();
    window.scrollTo(0, 0);
    document.querySelector("h1")?.focus({ preventScroll: true });
  }

  text(message) {
    return message ? this.walking.text(message, known()) : "";
  }

  name(point) {
    return this.walking.name(point, known());
  }

  hash(part = "") {
    return hashOf({ job: this.id, step: this.route.step, part });
  }

  /** What is to be done: of the step in the address, of the one just ended, or the next one open. */
  get ask() {
    return this.walking.ask(this.route.step || this.lingering);
  }

  _step() {
    const { ask } = this;
    this.plan.light(ask.lit ?? [], this.#stakedIds());
    this.step.show(stepView(this, ask));
    this.app.put(this.step.element, this.#between(ask));
    if (ask.arrow) this.plan.point(`point-${ask.point}`, ask.arrow);
  }

  #stakedIds() {
    return this.walking.truth().marks.filter((mark) => mark.staked).map((mark) => `point-${mark.point}`);
  }

  #between(ask) {
    return ask.ask === "nothing" || ask.ask === "end" || this.walking.undoable(ask.step, false) === null;
  }

  _list() {
    const steps = this.walking.steps().map((step) => ({ ...step, title: this.text(step.title) }));
    const view = { job: this.walking.document.job.name, hash: hashOf({ job: this.id }), now: this.walking.next().step, steps };
    this.app.put(list(view), true);
    document.querySelector(".steps .now")?.scrollIntoView({ block: "center" });
  }

  async _truth() {
    this.plan.light([], this.#stakedIds());
    const file = await bookFile(this.walking.document);
    this.truth.show({ ...truthView(this), share: canShare(file) });
    this.app.put(this.truth.element, true);
  }

  _read() {
    const { ask, walking } = this;
    if (ask.ask !== "pull" && ask.ask !== "again") return this.#close();
    const pad = new Pad({
      units: walking.units, target: ask.target, longest: walking.document.yard.tape.length, task: this.text(ask.say), wanted: walking.show(ask.target), back: this.hash(),
      draft: sessionStorage.getItem(this.#draft(ask)) ?? "",
      read: ({ text, held }) => walking.math.tape.reading(text, ask.target, walking.units, held),
      show: (inches) => walking.show(inches), message: (message) => this.text(message),
      keep: (draft) => sessionStorage.setItem(this.#draft(ask), draft),
    });
    pad.addEventListener("use", (event) => this.#use(pad, ask, /** @type {CustomEvent} */ (event).detail));
    pad.addEventListener("choose", (event) => this.#use(pad, ask, { inches: /** @type {CustomEvent} */ (event).detail }));
    return this.app.put(pad.element, false);
  }

  #draft(ask) {
    return `draft/${this.id}/${ask.step}/${ask.from}/${ask.to}`;
  }

  _off() {
    const { ask, walking } = this;
    if (ask.ask !== "stake") return this.#close();
    const off = new Off({ units: walking.units, longest: walking.document.yard.tape.length, back: this.hash(), task: this.text(ask.say), show: (inches) => walking.show(inches) });
    off.addEventListener("use", (event) => this.#answer(ask, /** @type {CustomEvent} */ (event).detail));
    return this.app.put(off.element, false);
  }

  async #use(pad, ask, answer) {
    const result = await this.#answer(ask, answer);
    if (result.status === "ask") pad.question();
    else if (result.status === "bad") pad.refuse(result);
    else if (result.status === "ok") sessionStorage.removeItem(this.#draft(ask));
  }

  /** Weigh, write, then show. What cannot be written stays on the screen. */
  async #answer(ask, answer) {
    const result = this.walking.weigh(ask, answer);
    if (result.status !== "ok" || !(await this.#write(result.entry))) return result.status === "ok" ? { status: "unwritten" } : result;
    navigator.vibrate?.(30);
    this.#after(ask);
    return result;
  }

  async #write(part) {
    try {
      await this.walking.write(part);
      return true;
    } catch (fault) {
      console.warn(fault);
      await question(say("phone.unwritten"), [{ text: say("phone.understood"), value: true, main: true }], say("phone.unwritten.fix"));
      return false;
    }
  }

  /** A check that has just ended stays up with its verdict; any other step gives way to the next. */
  #after(ask) {
    const ended = this.walking.ask(ask.step).ask === "nothing";
    this.lingering = ended && ask.target !== null && ask.target !== undefined ? ask.step : "";
    this.#close();
  }

  /** From a pad back to its step, leaving no pad behind in the history. */
  #close() {
    if (this.route.screen === "step") return this.show(this.route);
    const hash = this.hash();
    this.app.shows(hash);
    if (this.pushed) history.back();
    else location.replace(hash);
    this.pushed = false;
    return this.show({ ...this.route, screen: "step" });
  }

  #tap(what) {
    const taps = {
      done: () => this.#answer(this.ask, { done: true }), read: () => this.#open("read"), off: () => this.#open("off"),
      cannot: () => this.#cannot(), undo: () => this.#undo(), next: () => this.#next(), truth: () => (location.hash = hashOf({ job: this.id, part: "truth" })),
    };
    return taps[what]();
  }

  #open(part) {
    this.pushed = true;
    location.hash = this.hash(part);
  }

  async #cannot() {
    const { ask } = this;
    const reasons = ["blocked", "too long", "alone"].map((value) => ({ text: say(`phone.cannot.${value.replace(" ", "-")}`), value }));
    const cannot = await question(say("phone.cannot"), [...reasons, { text: say("phone.cannot.never-mind"), value: null }]);
    if (cannot) await this.#answer(ask, { cannot });
  }

  async #undo() {
    const { ask } = this;
    const last = this.walking.undoable(ask.step, !this.route.step);
    if (!last || !(await this.#write({ kind: "strike", step: last.step, strikes: last.strikes }))) return;
    this.lingering = "";
    tell(say("phone.undone"));
    this.show(this.route);
  }

  #next() {
    this.lingering = "";
    if (this.route.step) location.hash = hashOf({ job: this.id });
    else this.show(this.route);
  }

  async #book(how) {
    how(await bookFile(this.walking.document));
  }
}
