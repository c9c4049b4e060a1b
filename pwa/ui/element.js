/** Make elements: keys, ways, lengths set large, the frame of a screen. Text is only ever set as text. */

const FRACTION = /\s*(\d+\/\d+)/;

/**
 * @param {string} tag
 * @param {Record<string, any>} [props] attributes; `onNAME` is a listener, true is a bare attribute, false none
 * @param {...(Node|string|null|undefined)} children
 * @returns {any}
 */
export function make(tag, props = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) give(element, name, value);
  element.append(...present(children));
  return element;
}

function give(element, name, value) {
  if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
  else if (value === true) element.setAttribute(name, "");
  else if (value !== false && value !== null && value !== undefined) element.setAttribute(name, value);
}

/** The children that are there. */
export function present(children) {
  return children.filter((child) => child !== null && child !== undefined && child !== "");
}

/** A key to tap: real button, real text. */
export function key(text, tap, props = {}) {
  return make("button", { type: "button", class: "key", ...props, onclick: tap }, text);
}

/** A key that says under its name what it is for. @param {string} text @param {string} means */
export function telling(text, means, tap, props = {}) {
  const told = key(text, tap, { ...props, class: "key telling" });
  told.append(make("span", { class: "means" }, means));
  return told;
}

/** A place to go that is written in the address, so that the way back works. */
export function way(text, hash, props = {}) {
  return make("a", { class: "key", ...props, href: hash }, text);
}

const LENGTH = /((?:\d+' )?(?:\d+ )?\d+(?:\/\d+)?(?:"| mm))/;

/** A sentence whose lengths do not break across lines. */
export function sentence(text) {
  return text.split(LENGTH).map((part) => (LENGTH.test(part) ? make("span", { class: "length" }, part) : part));
}

/** A length set large: whole units at full size, the fraction smaller, as a tape prints it. @param {string} text */
export function reading(text, props = {}) {
  const [whole, fraction, rest] = text.split(FRACTION);
  if (fraction === undefined) return make("p", { class: "reading", ...props }, text);
  return make("p", { class: "reading", ...props }, whole, make("span", { class: "fraction" }, ` ${fraction}${rest}`));
}

/**
 * The frame of a screen: a head with the way back, a body, and the foot under the thumb.
 * @param {{title: string, back?: {text: string, hash: string}, note?: Node|string, side?: Node|null}} head
 * @param {Node[]} body
 * @param {Node[]} foot
 */
export function frame({ title, back, note = "", side = null }, body, foot = []) {
  const top = make(
    "header",
    { class: "head" },
    back ? way(back.text, back.hash, { class: "back" }) : null,
    make("div", { class: "titles" }, make("h1", { tabindex: "-1" }, title), note && make("p", { class: "note" }, note)),
    side,
  );
  const bottom = foot.length > 0 ? make("footer", { class: "foot" }, ...foot) : null;
  return make("div", { class: "screen" }, top, make("main", {}, ...body), bottom);
}
