/** A reading as text, in any carpenter's form; what is typed is never taken away. Tells "change" and "enter". */
import { key, make } from "./element.js";
import { say } from "./sayings.js";

export class Typed extends EventTarget {
  /** @param {string} draft */
  constructor(draft) {
    super();
    this.input = make("input", {
      id: "typed", type: "text", value: draft, autocomplete: "off", autocapitalize: "off", spellcheck: "false", enterkeyhint: "done",
      "aria-describedby": "verdict-line", oninput: () => this.dispatchEvent(new Event("change")), onkeydown: (event) => event.key === "Enter" && this.dispatchEvent(new Event("enter")),
    });
    const signs = ["'", '"', "/", " "].map((sign) => key(sign === " " ? say("phone.typed.space") : sign, () => this.#insert(sign), { class: "key small", "aria-label": say("phone.typed.insert", { sign }) }));
    this.element = make("div", { class: "typed" }, make("label", { for: "typed" }, say("phone.typed.label")), this.input, make("div", { class: "keys" }, ...signs), make("p", { class: "note" }, say("phone.typed.forms")));
  }

  get text() {
    return this.input.value;
  }

  get missing() {
    return this.text.trim() === "" ? "text" : "";
  }

  #insert(sign) {
    const { selectionStart, selectionEnd } = this.input;
    this.input.setRangeText(sign, selectionStart, selectionEnd, "end");
    this.input.focus();
    this.dispatchEvent(new Event("change"));
  }

  /** Put the finger on the place that could not be read. */
  point(at) {
    this.input.focus();
    this.input.setSelectionRange(at, Math.min(at + 1, this.text.length));
  }
}
