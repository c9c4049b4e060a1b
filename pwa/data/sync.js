/** A worker that keeps this phone's field books and the server's alike, away from the page: no tap waits for it. It also folds, when entries of others have come in. */
import * as book from "./book.js";
import { isEntry } from "./exchange.js";
import { keptWhole } from "./kept.js";
import { walk } from "./walking.js";

const MOST = 500; // entries in one part
const EVERY = 20_000; // ms between two askings while the page is seen
const SOON = 800; // ms after an entry: the next tap comes first
const LONGEST = 300_000; // ms between two tries without signal
const PATIENCE = 15_000;
const LOCK = "yardtrue-sync";

/** How the last asking ended. @typedef {"reached"|"no signal"|"shut"|"no desk"} Reach */

/** What the page said last: the job that is open, whether it is seen. */
let page = { job: "", seen: true };
/** @type {Map<string, Reach>} */
const reaches = new Map();
/** Jobs whose refused entries were sent once more: once in the life of a page. */
const again = new Set();
let pause = 0;
let notBefore = 0;
let timer = 0;
let running = false;
let missed = false;
/** Parts of a long book are still coming in, and the job to fold once they are there. */
let coming = false;
let waiting = "";

const acts = {
  /** The page started, opened another job, was seen again or has signal again: what was put off is tried now. */
  look: (said) => {
    page = said;
    pause = notBefore = 0;
    for (const [job, reach] of reaches) if (reach !== "reached") reaches.delete(job);
    tell(page.job);
    soon(0);
  },
  fold: ({ job }) => (coming ? (waiting = job) : fold(job)),
  seen: ({ job }) => book.seen(job).then(() => tell(job)),
};

self.onmessage = ({ data }) => acts[data.act](data);

book.heard(({ job, wrote }) => {
  tell(job);
  if (wrote) soon(SOON);
});

/** Go round in so many milliseconds, or when the pause without signal is over. */
function soon(wait) {
  clearTimeout(timer);
  timer = self.setTimeout(round, Math.max(wait, notBefore - Date.now()));
}

/** One window at a time goes round; what is said meanwhile is heard in another round. */
async function round() {
  if (running) return void (missed = true);
  running = true;
  missed = false;
  await navigator.locks.request(LOCK, { signal: AbortSignal.timeout(LONGEST) }, everyJob).catch((fault) => console.warn(fault));
  running = false;
  if (missed) soon(SOON);
  else if (page.seen) soon(EVERY);
  return undefined;
}

async function everyJob() {
  const jobs = new Set([page.job, ...(await book.waitingJobs())].filter(Boolean));
  for (const job of jobs) {
    if (["shut", "no desk"].includes(reaches.get(job) ?? "")) continue;
    const reach = await oneJob(job).finally(arrived);
    reaches.set(job, reach);
    await tell(job);
    if (reach === "no signal") return wait();
  }
  pause = 0;
}

/** What came in is folded once, whole. */
function arrived() {
  coming = false;
  if (waiting) fold(waiting);
  waiting = "";
}

/** Without signal each try is put off twice as long as the one before. */
function wait() {
  pause = Math.min(Math.max(2 * pause, EVERY), LONGEST);
  notBefore = Date.now() + pause;
}

/** Part after part, until nothing waits here or there; where nobody has answered yet, nothing is sent before somebody does. @returns {Promise<Reach>} */
async function oneJob(job) {
  if (!again.has(job)) await book.sendAgain(job);
  again.add(job);
  let most = reaches.get(job) === "reached" ? MOST : 0;
  for (;;) {
    const part = await book.outgoing(job, most);
    const { reach, answer, error } = await asked(job, part);
    if (reach === "unread" && part.entries.length > 1) most = Math.ceil(part.entries.length / 2);
    else if (reach === "unread" && part.entries.length === 1) await book.settle(job, part.entries, refusal(part, error));
    else if (reach !== "reached") return reach === "unread" ? "no signal" : reach;
    else if (!(await taken(job, part, answer)) && most > 0) return "reached";
    else most ||= MOST;
  }
}

/** An entry that the server cannot even read stays here and is told. */
function refusal({ entries: [{ id }], since }, error) {
  return { kept: [], refused: [{ id, error }], entries: [], since, more: true };
}

/** Take an answer in; true while there is more to say or to hear. An answer that brings nothing on ends it. */
async function taken(job, part, answer) {
  if (answer.since < part.since) {
    await book.startOver(job);
    return true;
  }
  await book.settle(job, part.entries, { ...answer, entries: answer.entries.filter((entry) => isEntry(entry, job)) });
  coming = answer.more;
  const answered = new Set([...answer.kept, ...answer.refused.map(({ id }) => id)]);
  const moved = part.entries.some(({ id }) => answered.has(id)) || answer.since > part.since;
  return moved && (answer.more || (await book.standing(job)).waiting > 0);
}

/** Ask the server: its answer, or how it did not come. */
async function asked(job, part) {
  if (navigator.onLine === false) return { reach: "no signal" };
  try {
    const address = new URL(`../../api/jobs/${encodeURIComponent(job)}/entries`, import.meta.url);
    const headers = { "Content-Type": "application/json" };
    const answer = await fetch(address, { method: "POST", headers, body: JSON.stringify(part), cache: "no-store", redirect: "error", signal: AbortSignal.timeout(PATIENCE) });
    return meaning(answer.status, await answer.json().catch(() => null));
  } catch {
    return { reach: "no signal" };
  }
}

/** What an answer means. A place that answers, but not as Yardtrue does, is no desk. @returns {{reach: Reach|"unread", answer?: any, error?: any}} */
function meaning(status, body) {
  if (status === 200) return isAnswer(body) ? { reach: "reached", answer: body } : { reach: "no signal" };
  if (status === 408 || status === 429 || (status >= 500 && status !== 501)) return { reach: "no signal" };
  if (!body?.error) return { reach: "no desk" };
  return [400, 413, 422].includes(status) ? { reach: "unread", error: body.error } : { reach: "shut" };
}

function isAnswer(body) {
  return Array.isArray(body?.kept) && Array.isArray(body.refused) && Array.isArray(body.entries) && Number.isInteger(body.since);
}

/** Tell the page how its job stands. */
async function tell(job) {
  if (!job || job !== page.job) return;
  self.postMessage({ told: "standing", job, reach: reaches.get(job) ?? "asking", ...(await book.standing(job)) });
}

/** Fold every entry there is by the plan that is kept; the page walks on from it. */
async function fold(job) {
  const [whole, recalled] = await Promise.all([keptWhole(job), book.recall(job)]);
  if (whole) self.postMessage({ told: "folded", job, count: recalled.entries.length, folded: walk(whole, recalled).folded });
}
