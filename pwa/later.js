/** What can wait: done once nothing has happened for a while, or when the page is put away. */

const WHILE = 2000;

/** @type {Map<string, () => void>} */
const waiting = new Map();
/** @type {any} */
let timer = 0;

/** Do this later; another of the same name takes its place. @param {string} name @param {() => void} work */
export function later(name, work) {
  waiting.set(name, work);
  clearTimeout(timer);
  timer = setTimeout(now, WHILE);
}

function now() {
  const works = [...waiting.values()];
  waiting.clear();
  for (const work of works) work();
}

/** A worker is not put away: its page is. */
globalThis.document?.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && now());

/** Do this when the page has nothing else to do. @param {() => void} work */
export function idle(work) {
  if ("requestIdleCallback" in window) window.requestIdleCallback(work);
  else setTimeout(work, 100);
}
