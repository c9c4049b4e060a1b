/** What can wait: done once nothing has happened for a while, or when the page is put away. */

const WHILE = 2000;

/** @type {Map<string, () => void>} */
const waiting = new Map();
let timer = 0;

/** Do this later; another of the same name takes its place. @param {string} name @param {() => void} work */
export function later(name, work) {
  waiting.set(name, work);
  clearTimeout(timer);
  timer = window.setTimeout(now, WHILE);
}

function now() {
  const works = [...waiting.values()];
  waiting.clear();
  for (const work of works) work();
}

document.addEventListener("visibilitychange", () => document.visibilityState === "hidden" && now());
