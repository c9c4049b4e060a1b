/** The jobs of this phone and of the server: keep one, open one. Tells "keep" {record}, "file" {file} and "link" {text}. */
import { key, make, way } from "./element.js";
import { say } from "./sayings.js";

export class Jobs extends EventTarget {
  constructor() {
    super();
    this.list = make("ul", { class: "jobs" });
    /** @type {Map<string, {told: string, element: Element}>} what stands in the list, by job: a row that says the same stays under the finger */
    this.rows = new Map();
    this.reach = make("p", { class: "note" });
    this.home = make("div");
    this.element = make(
      "div",
      { class: "screen" },
      make("header", { class: "head" }, make("div", { class: "titles" }, make("h1", { tabindex: "-1" }, say("phone.title")), this.reach)),
      make("main", {}, make("h2", {}, say("phone.jobs")), this.list, this.#opener(), this.#linker(), this.home),
    );
  }

  #opener() {
    const chosen = (event) => {
      const [file] = event.target.files;
      if (file) this.dispatchEvent(new CustomEvent("file", { detail: file }));
      event.target.value = "";
    };
    const input = make("input", { type: "file", accept: ".json,application/json", onchange: chosen, class: "file" });
    return make("label", { class: "key wide" }, say("phone.book.open"), input);
  }

  /** For a Yardtrue on the home screen, which no link opens: the link is pasted. It shows when it is wanted, and keeps what was typed. */
  #linker() {
    const input = make("input", { id: "link", type: "text", inputmode: "url", autocomplete: "off", autocapitalize: "off", spellcheck: "false", enterkeyhint: "go" });
    const go = (event) => {
      event.preventDefault();
      if (input.value.trim()) this.dispatchEvent(new CustomEvent("link", { detail: input.value }));
      else input.focus();
    };
    const form = make("form", { class: "typed", hidden: true, onsubmit: go }, make("label", { for: "link" }, say("phone.link.label")), input, make("button", { type: "submit", class: "key" }, say("phone.link.go")));
    const open = key(say("phone.link.open"), () => {
      form.hidden = false;
      input.focus();
    }, { class: "key small wide", "aria-controls": "linking" });
    form.id = "linking";
    return make("div", {}, open, form);
  }

  /**
   * @param {{id: string, name: string, kept: any, offered: any}[]} rows
   * @param {"asking"|"reached"|"no signal"} reach
   * @param {Record<string, boolean>} ready by job id
   */
  show(rows, reach, ready) {
    this.reach.textContent = say(`phone.reach.${reach.replace(" ", "-")}`);
    const elements = rows.map((row) => this.#standing(row, ready[row.id]));
    if (elements.length !== this.list.children.length || elements.some((element, index) => element !== this.list.children[index])) this.list.replaceChildren(...elements);
    if (rows.length === 0 && reach !== "asking") this.list.append(make("li", {}, make("p", {}, say(`phone.jobs.none-${reach.replace(" ", "-")}`))));
  }

  /** The next time a job's row is made anew: what was under way in it has ended. */
  forget(id) {
    this.rows.delete(id);
  }

  #standing(row, ready) {
    const told = JSON.stringify([row, ready]);
    const stands = this.rows.get(row.id);
    if (stands?.told === told) return stands.element;
    const element = this.#row(row, ready);
    this.rows.set(row.id, { told, element });
    return element;
  }

  #row(row, ready) {
    const name = make("h3", {}, row.name);
    if (!row.kept) return make("li", {}, name, this.#state("open", say("phone.job.not-kept")), this.#keep(row));
    const state = this.#readiness(ready);
    return make("li", {}, name, state, way(say("phone.job.open"), `#/job/${row.id}`, { class: "key main", "aria-label": `${say("phone.job.open")}: ${row.name}` }));
  }

  #readiness(ready) {
    if (ready === undefined) return this.#state("open", say("phone.checking"));
    return ready ? this.#state("done", say("phone.ready")) : this.#state("unsure", say("phone.not-ready"));
  }

  #state(shape, text) {
    return make("p", { class: "state" }, make("span", { class: `shape ${shape}`, "aria-hidden": "true" }), text);
  }

  #keep(row) {
    const tap = (event) => {
      event.target.disabled = true;
      event.target.textContent = say("phone.job.keeping");
      this.dispatchEvent(new CustomEvent("keep", { detail: row.offered }));
    };
    return key(say("phone.job.keep"), tap, { class: "key main", "aria-label": `${say("phone.job.keep")}: ${row.name}` });
  }
}
