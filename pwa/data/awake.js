/** Keep the screen on while a job is walked, where the phone can. */

/** @type {any} */
let lock = null;
let wanted = false;

async function hold() {
  if (!wanted || document.visibilityState !== "visible" || (lock && !lock.released)) return;
  lock = (await navigator.wakeLock?.request("screen").catch(() => null)) ?? null;
}

export function stayAwake() {
  wanted = true;
  return hold();
}

export function mayRest() {
  wanted = false;
  lock?.release();
  lock = null;
}

document.addEventListener("visibilitychange", hold);
