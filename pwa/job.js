/** The screens of an open job, and what each tap in them does. */
import { hashOf } from "./routes.js";
import { make } from "./ui/element.js";
import { Plan } from "./ui/plan.js";
import { say } from "./ui/sayings.js";
import { footingOf, lookOf, Step, stepView } from "./ui/step.js";

const LATE = 1000; // ms
const CALM = ["step", "list", "truth"]; // nothing is being entered there

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
    this.sent = make("span", {});
    this.others = make("div", {});
    this.step = new Step(this.plan);
    this.lingering = "";
    this.pushed = false;
    this.writing = false;
    this.step.addEventListener("tap", (event) => this.tap(/** @type {CustomEvent} */ (event).detail));
  }

  async leave() {
    clearTimeout(this.late);
    this.crew?.leave();
    (await import("./data/awake.js")).mayRest();
  }

  /** The head's note: one line as given, one of what is sent and what waits. */
  note(first = this.readiness) {
    return make("span", { class: "both" }, first, this.sent);
  }

  async status() {
    const { ready } = await import("./keeping.js");
    const alone = await ready(this.record, this.app);
    this.readiness.textContent = say(alone ? "phone.ready" : "phone.not-ready.short");
  }

  /** The others' side of the walk: fetched once a step is up and nothing else waits, or when another wrote into the book. */
  crewed() {
    this.joining ??= import("./crew.js").then(({ Crew }) => (this.crew = new Crew(this)));
    return this.joining;
  }

  async refresh(entries) {
    (await this.crewed()).take(entries);
  }

  /** @param {import("./routes.js").Route} route @param {boolean} [made] whether the step's screen has been made ahead */
  async show(route, made = false) {
    if (route.step && !this.walking.isWalked(route.step)) return location.replace(hashOf({ job: this.id }));
    if (route.screen !== "step" || route.step) this.lingering = route.step === this.lingering ? this.lingering : "";
    if (route.screen === "step") this.pushed = false;
    if (!made && CALM.includes(route.screen)) this.crew?.follow();
    this.route = route;
    await this[`_${route.screen}`](route, made);
    this.crew?.offer();
    window.scrollTo(0, 0);
    document.querySelector(".steps .now, .steps + .afters")?.scrollIntoView({ block: "center" });
    document.querySelector("h1")?.focus({ preventScroll: true });
    const [{ stayAwake }] = await Promise.all([import("./data/awake.js"), beside()]);
    stayAwake();
    this.late ??= setTimeout(() => this.crewed().catch((fault) => console.warn(fault)), LATE);
    this.asked ??= Promise.all([this.status(), import("./keeping.js").then(({ offerRevision }) => offerRevision(this))]);
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
      const { ask } = await import("./ui/sheet.js");
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
      cannot: () => this.#cannot(), undo: () => this.#beside("takeBack"), next: () => this.to(hashOf({ job: this.id })), truth: () => (location.hash = hashOf({ job: this.id, part: "truth" })),
      strings: () => this.#beside("takeAfter", "strings"), marks: () => this.#beside("takeAfter", "marks"),
    };
    return taps[what]();
  }

  /** To another screen of the job; to the one that is up, made anew. */
  to(hash) {
    this.lingering = "";
    if (location.hash === hash) this.show(this.route);
    else location.hash = hash;
  }

  async #beside(what, ...more) {
    (await beside())[what](this, ...more);
  }

  #open(part) {
    this.pushed = true;
    location.hash = this.hash(part);
  }

  async #cannot() {
    const { ask } = this;
    const cannot = await (await beside()).whyNot();
    if (cannot) await this.#answer(ask, { cannot });
  }
}

/** The other screens, asked for once. */
function beside() {
  return import("./beside.js");
}
