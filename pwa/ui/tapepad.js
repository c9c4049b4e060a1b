/** Feet, inch and sixteenth keys. Nothing is guessed: there is no length until each of the three was tapped. Tells "change". */
import { key, make } from "./element.js";
import { say } from "./sayings.js";

const SIXTEENTHS = ["0", "1/16", "1/8", "3/16", "1/4", "5/16", "3/8", "7/16", "1/2", "9/16", "5/8", "11/16", "3/4", "13/16", "7/8", "15/16"];
const STAGES = ["feet", "inch", "sixteenth"];
const BLANK = "–";

export class TapePad extends EventTarget {
  /** @param {{near: number, longest: number, amount?: boolean, first?: string}} want inches wanted and tape length; an amount starts at 0' 0", at its `first` part */
  constructor({ near, longest, amount = false, first = "sixteenth" }) {
    super();
    this.wanted = amount ? {} : partsOf(near);
    this.longest = Math.max(Math.ceil(longest / 12), 1);
    this.picked = amount ? { feet: 0, inch: 0, sixteenth: null } : { feet: null, inch: null, sixteenth: null };
    this.rows = {
      feet: make("div", { role: "group", "aria-label": say("phone.pad.feet"), class: "keys" }),
      inch: make("div", { role: "group", "aria-label": say("phone.pad.inch"), class: "keys" }),
      sixteenth: make("div", { role: "group", "aria-label": say("phone.pad.sixteenth"), class: "keys" }),
    };
    this.stages = make("div", { class: "stages", role: "group", "aria-label": say("phone.pad.parts") });
    this.element = make("div", { class: amount ? "tapepad staged" : "tapepad" }, this.stages, this.rows.feet, this.rows.inch, this.rows.sixteenth);
    this.#fill(around(partsOf(near).feet));
    this.#stage(amount ? first : "feet");
  }

  /** The length in inches, or null while a part is missing. */
  get inches() {
    const { feet, inch, sixteenth } = this.picked;
    if (this.missing) return null;
    return feet * 12 + inch + sixteenth / 16;
  }

  /** The first part not tapped yet: feet, inch or sixteenth; "" when all are. */
  get missing() {
    return STAGES.find((stage) => this.picked[stage] === null) ?? "";
  }

  /** What is built so far, missing parts as dashes. */
  get text() {
    const { feet, inch, sixteenth } = this.picked;
    const last = sixteenth === null ? `${inch ?? BLANK} ${BLANK}` : withFraction(inch ?? BLANK, sixteenth);
    return `${feet ?? BLANK}' ${last}`;
  }

  #fill(feet) {
    const more = feet.length > 3 ? [] : [key(say("phone.pad.other"), () => this.#fill(everyFoot(this.longest)), { class: "key tape" })];
    this.rows.feet.replaceChildren(...feet.map((foot) => this.#key("feet", foot, `${foot}'`)), ...more);
    this.rows.inch.replaceChildren(...range(12).map((inch) => this.#key("inch", inch, `${inch}"`)));
    this.rows.sixteenth.replaceChildren(...SIXTEENTHS.map((text, sixteenth) => this.#key("sixteenth", sixteenth, text)));
    this.#press();
  }

  #key(stage, value, text) {
    return key(text, () => this.#pick(stage, value), { class: this.wanted[stage] === value ? "key tape wanted" : "key tape", "data-stage": stage, "data-value": value, "aria-pressed": "false" });
  }

  #pick(stage, value) {
    this.picked[stage] = value;
    if (stage === "feet" && this.rows.feet.children.length > 4) this.#fill(around(value));
    this.#press();
    this.#stage(STAGES[Math.min(STAGES.indexOf(stage) + 1, 2)]);
    this.dispatchEvent(new Event("change"));
  }

  #press() {
    for (const tapped of this.element.querySelectorAll("[data-stage]")) {
      tapped.setAttribute("aria-pressed", String(this.picked[tapped.dataset.stage] === Number(tapped.dataset.value)));
    }
  }

  /** On a small screen one group is seen at a time; the three parts lead back to each. */
  #stage(now) {
    this.element.dataset.now = now;
    const parts = STAGES.map((stage) => key(this.#part(stage), () => this.#stage(stage), { class: "key small", "aria-pressed": String(stage === now) }));
    this.stages.replaceChildren(...parts);
  }

  #part(stage) {
    const value = this.picked[stage];
    const text = value === null ? BLANK : { feet: `${value}'`, inch: `${value}"`, sixteenth: SIXTEENTHS[value] }[stage];
    return say(`phone.pad.part-${stage}`, { value: text });
  }
}

/** Feet, inch and sixteenth of a length, as the tape shows it. */
function partsOf(inches) {
  const sixteenths = Math.floor(inches * 16 + 0.5);
  return { feet: Math.floor(sixteenths / 192), inch: Math.floor((sixteenths % 192) / 16), sixteenth: sixteenths % 16 };
}

function withFraction(inch, sixteenth) {
  return sixteenth === 0 ? `${inch}"` : `${inch} ${SIXTEENTHS[sixteenth]}"`;
}

function around(feet) {
  const first = Math.max(feet - 1, 0);
  return [first, first + 1, first + 2];
}

function everyFoot(longest) {
  return range(longest + 1);
}

function range(count) {
  return Array.from({ length: count }, (_, index) => index);
}
