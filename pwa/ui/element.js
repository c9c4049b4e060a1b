/** Make elements. Text is only ever set as text. */

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

/** A place to go that is written in the address, so that the way back works. */
export function way(text, hash, props = {}) {
  return make("a", { class: "key", ...props, href: hash }, text);
}
