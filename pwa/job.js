/** The screens of an open job, and what each tap in them does. */
import { hashOf } from "./routes.js";
import { make } from "./ui/element.js";
import { Plan } from "./ui/plan.js";
import { say } from "./ui/sayings.js";
import { footingOf, lookOf, Step, stepView } from "./ui/step.js";

export class JobScreens {
  /** @param {import("./data/walking.js").Walking} walking @param {any} record @param {import("./keeping.js").Page} app */
  constructor(walking, record, app) {
    this.record = record;
    this.id = walking.document.job.id;
    this.app = app;
    this.walking = walking;
    this.plan = new Plan(walking.document.drawing);
    if (app.isBare()) this.plan.drawSoon();
    else this.plan.draw();
    this.readiness = make("span", {}, say("phone.checking"));
    this.step = new Step(this.plan);
    this.lingering = "";
    this.pushed = false;
    this.writing = false;
    this.step.addEventListener("tap", (event) => this.tap(/** @type {CustomEvent} */ (event).detail));
  }

  async leave() {
    (await import("./data/awake.js")).mayRest();
  }

  async status() {
    const { ready } = await import("./keeping.js");
    const alone = await ready(this.record, this.app);
    this.readiness.textContent = say(alone ? "phone.ready" : "phone.not-ready");
  }

  /** Another window wrote into the book. */
  async refresh() {
    await this.walking.reload();
    if (!this.walking.isWalked(this.lingering)) this.lingering = "";
    if (["step", "list", "truth"].includes(this.route.screen)) this.show(this.route);
  }

  /** @param {import("./routes.js").Route} route @param {boolean} [made] whether the step's screen has been made ahead */
  async show(route, made = false) {
    if (route.step && !this.walking.isWalked(route.step)) return location.replace(hashOf({ job: this.id }));
    if (route.screen !== "step" || route.step) this.lingering = route.step === this.lingering ? this.lingering : "";
    if (route.screen === "step") this.pushed = false;
    this.route = route;
    await this[`_${route.screen}`](route, made);
    window.scrollTo(0, 0);
    document.querySelector(".steps .now, .steps + .afters")?.scrollIntoView({ block: "center" });
    document.querySelector("h1")?.focus({ preventScroll: true });
    const [{ stayAwake }] = await Promise.all([import("./data/awake.js"), beside()]);
    stayAwake();
    this.asked ??= Promise.all([this.status(), import("./keeping.js").then(({ offerRevision }) => offerRevision(this.record, this.app))]);
  }

  text(message) {
    return message ? this.walking.text(message) : "";
  }

  name(point) {
    return this.walking.name(point);
  }

  hash(part = "") {
    return hashOf({ job: this.id, step: this.route.step, part });
  }

  /** What is to be done: of the step in the address, of the one just ended, or the next one open. */
  get ask() {
    return this.walking.ask(this.route.step || this.lingering);
  }

  _step(route, made) {
    if (!made) this.#make();
    this.app.put(this.step.element, this.#between(this.ask));
    if (!this.route.step && !this.lingering) import("./glimpse.js").then(({ keepGlimpse }) => keepGlimpse(this.id, this.view, this.plan));
  }

  #make() {
    const { ask } = this;
    this.view = stepView(this, ask);
    this.plan.look(lookOf(this.walking, ask));
    this.step.show(this.view);
  }

  #between(ask) {
    return ask.ask === "nothing" || ask.ask === "end" || this.walking.undoable(ask.step, false) === null;
  }

  async _list(route) {
    const { listFor } = await beside();
    if (this.route === route) this.app.put(listFor(this), true);
  }

  async _truth(route) {
    const { truthFor } = await beside();
    const element = await truthFor(this);
    if (this.route !== route) return;
    this.app.put(element, true);
  }

  async _read(route) {
    const { ask } = this;
    if (ask.ask !== "pull" && ask.ask !== "again") return this.#close();
    const { padFor, draftOf } = await beside();
    if (this.route !== route) return undefined;
    const pad = padFor(this, ask);
    const draft = draftOf(this, ask);
    pad.addEventListener("ready", (event) => this.walking.reckon(ask, /** @type {CustomEvent} */ (event).detail));
    pad.addEventListener("use", (event) => this.#use(pad, ask, draft, /** @type {CustomEvent} */ (event).detail));
    pad.addEventListener("choose", (event) => this.#use(pad, ask, draft, { inches: /** @type {CustomEvent} */ (event).detail }));
    return this.app.put(pad.element, false);
  }

  async _off(route) {
    const { ask } = this;
    if (ask.ask !== "stake") return this.#close();
    const { offFor } = await beside();
    if (this.route !== route) return undefined;
    const off = offFor(this, ask);
    off.addEventListener("use", (event) => this.#answer(ask, /** @type {CustomEvent} */ (event).detail));
    return this.app.put(off.element, false);
  }

  async _move(route) {
    const { ask } = this;
    if (!footingOf(this.walking.document, ask)) return this.#close();
    const { moveFor } = await beside();
    const { element } = await moveFor(this, ask);
    return this.route === route ? this.app.put(element, false) : undefined;
  }

  async #use(pad, ask, draft, answer) {
    const result = await this.#answer(ask, answer);
    if (result.status === "ask") pad.question();
    else if (result.status === "bad") pad.refuse(result);
    else if (result.status === "ok") sessionStorage.removeItem(draft);
  }

  /** Weigh, write, then show. What cannot be written stays on the screen. */
  async #answer(ask, answer) {
    if (this.writing) return { status: "writing" };
    const result = this.walking.weigh(ask, answer);
    if (result.status !== "ok") return result;
    const made = this.route.screen !== "step";
    if (!(await this.write(result.entry, () => made && this.#ahead(ask)))) return { status: "unwritten" };
    navigator.vibrate?.(30);
    if (!made) this.#linger(ask);
    this.#close(made);
    return result;
  }

  /** Behind a pad the next screen is made while the disk writes; it is put up once that is done. */
  #ahead(ask) {
    this.#linger(ask);
    this.#make();
  }

  /** Write an entry, and say so where it cannot be; true once it is there. */
  async write(part, meanwhile = () => undefined) {
    this.writing = true;
    const { lingering } = this;
    try {
      await this.walking.write(part, meanwhile);
      return true;
    } catch (fault) {
      console.warn(fault);
      this.lingering = lingering;
      if (this.route.screen === "step") this.show(this.route);
      const { ask } = await sheet();
      await ask(say("phone.unwritten"), [{ text: say("phone.understood"), value: true, main: true }], say("phone.unwritten.fix"));
      return false;
    } finally {
      this.writing = false;
    }
  }

  /** A check that has just ended stays up with its verdict; any other step gives way to the next. */
  #linger(ask) {
    const ended = this.walking.ask(ask.step).ask === "nothing";
    this.lingering = ended && ask.target !== null && ask.target !== undefined ? ask.step : "";
  }

  /** From a pad back to its step, leaving no pad behind in the history. */
  #close(made = false) {
    if (this.route.screen === "step") return this.show(this.route);
    const hash = this.hash();
    this.app.shows(hash);
    if (this.pushed) history.back();
    else location.replace(hash);
    this.pushed = false;
    return this.show({ ...this.route, screen: "step" }, made);
  }

  tap(what) {
    const taps = {
      done: () => this.#answer(this.ask, { done: true }), read: () => this.#open("read"), off: () => this.#open("off"), move: () => this.#open("move"),
      cannot: () => this.#cannot(), undo: () => this.#undo(), next: () => this.to(hashOf({ job: this.id })), truth: () => (location.hash = hashOf({ job: this.id, part: "truth" })),
      strings: () => this.#after("strings"), marks: () => this.#after("marks"),
    };
    return taps[what]();
  }

  /** To another screen of the job; to the one that is up, made anew. */
  to(hash) {
    this.lingering = "";
    if (location.hash === hash) this.show(this.route);
    else location.hash = hash;
  }

  async #after(what) {
    (await beside()).takeAfter(this, what);
  }

  #open(part) {
    this.pushed = true;
    location.hash = this.hash(part);
  }

  async #cannot() {
    const { ask } = this;
    const { ask: question } = await sheet();
    const reasons = ["blocked", "too long", "alone"].map((value) => ({ text: say(`phone.cannot.${value.replace(" ", "-")}`), value }));
    const cannot = await question(say("phone.cannot"), [...reasons, { text: say("phone.cannot.never-mind"), value: null }]);
    if (cannot) await this.#answer(ask, { cannot });
  }

  async #undo() {
    const { ask } = this;
    const last = this.walking.undoable(ask.step, !this.route.step);
    if (!last || !(await this.write({ kind: "strike", step: last.step, strikes: last.strikes }))) return;
    this.lingering = "";
    this.show(this.route);
    (await sheet()).tell(say("phone.undone"));
  }
}

function sheet() {
  return import("./ui/sheet.js");
}

/** The other screens, asked for once. */
function beside() {
  return import("./beside.js");
}
