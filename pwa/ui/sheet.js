/** A question with a promised answer: modal at the thumb (ask), or a strip on top that waits (offer). */
import { key, make, telling } from "./element.js";

/**
 * @param {string} question
 * @param {{text: string, value: any, main?: boolean, means?: string, now?: boolean}[]} choices what each means, and which one is so now
 * @param {string} [more]
 * @returns {Promise<any>} the value of the chosen key; null when closed
 */
export function ask(question, choices, more = "") {
  return new Promise((resolve) => {
    const close = (value) => {
      dialog.remove();
      resolve(value);
    };
    const keys = choices.map((choice) => choiceKey(choice, close));
    const title = make("h2", { id: "question" }, question);
    const dialog = make("dialog", { class: "sheet", "aria-labelledby": "question", oncancel: () => close(null) }, title, more && make("p", {}, more), ...keys);
    document.body.append(dialog);
    dialog.showModal();
  });
}

function choiceKey({ text, value, main = false, means = "", now }, close) {
  const pressed = now === undefined ? null : String(now);
  if (means) return telling(text, means, () => close(value), { "aria-pressed": pressed });
  return key(text, () => close(value), { class: main ? "key main" : "key", "aria-pressed": pressed });
}

/** Offer something without stopping the work; answered with true or false. The same offer stands only once. */
export function offer(place, text, yes, no) {
  for (const strip of place.children) if (strip.getAttribute("aria-label") === text) strip.remove();
  return new Promise((resolve) => {
    const close = (value) => {
      strip.remove();
      resolve(value);
    };
    const keys = make("div", { class: "pair" }, key(no, () => close(false)), key(yes, () => close(true), { class: "key strong" }));
    const strip = make("section", { class: "offer", "aria-label": text }, make("p", {}, text), keys);
    place.append(strip);
  });
}

/** Say in a line what has just happened; also to those who listen instead of look. */
export function tell(text) {
  const line = document.getElementById("said");
  if (!line) return;
  line.textContent = text;
  line.classList.add("fresh");
  clearTimeout(Number(line.dataset.timer));
  line.dataset.timer = String(setTimeout(() => line.classList.remove("fresh"), 5000));
}
