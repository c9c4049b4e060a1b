/** What is kept on the phone: the list of jobs, keeping one, whether it is ready, and a newer plan when there is one. */
import * as kept from "./data/kept.js";
import { Jobs } from "./ui/jobs.js";
import { say } from "./ui/sayings.js";

/**
 * @typedef {{words: Promise<void>, put: (element: Element, between: boolean) => void, offers: HTMLElement, reopen: () => Promise<void>, isList: () => boolean,
 *   standing: () => Promise<{worker: any, book: any}>, shows: (hash: string) => void}} Page
 */

/** Is this phone able to go on with the job alone? All three must be true now. @param {Page} page */
export async function ready(record, page) {
  const { worker, book } = await page.standing();
  const [shell, files, database] = await Promise.all([worker.whole(), kept.whole(record), book.open().then(() => true, () => false)]);
  return shell && files && database;
}

/** The list's one screen, and what was last known of the server and of readiness: a list shown again starts from there.
 * @type {{screen: Jobs|null, offered: any[]|null, readies: Record<string, boolean>, asked: number}} */
const list = { screen: null, offered: null, readies: {}, asked: 0 };

/** The list of jobs: those on the phone at once, those of the server when it answers. The newest asking speaks. @param {Page} page */
export async function showList(page) {
  const asked = ++list.asked;
  const [mine] = await Promise.all([kept.keptJobs(), page.words]);
  if (asked !== list.asked) return;
  list.screen ??= listScreen(page);
  list.screen.show(kept.together(mine, list.offered), "asking", list.readies);
  if (page.isList()) page.put(list.screen.element, true);
  const [offered, readies] = await Promise.all([kept.offered(), readyByJob(mine, page)]);
  if (asked !== list.asked) return;
  Object.assign(list, { offered, readies });
  list.screen.show(kept.together(mine, offered), offered ? "reached" : "no signal", readies);
  const { homeScreen } = await import("./ui/home.js");
  homeScreen(list.screen.home);
}

/** @param {Page} page */
function listScreen(page) {
  const screen = new Jobs();
  screen.addEventListener("keep", async (event) => {
    const record = /** @type {CustomEvent} */ (event).detail;
    await keepOrSay(record);
    screen.forget(record.id);
    if (page.isList()) await showList(page);
  });
  screen.addEventListener("file", (event) => openBook(/** @type {CustomEvent} */ (event).detail));
  return screen;
}

async function readyByJob(records, page) {
  const states = await Promise.all(records.map((record) => ready(record, page)));
  return Object.fromEntries(records.map((record, index) => [record.id, states[index]]));
}

/** Keep a job; when a file cannot be had, say so. True when kept. */
async function keepOrSay(record, same = []) {
  try {
    await kept.keep(record, same);
    return true;
  } catch (fault) {
    console.warn(fault);
    await tellFault(say("phone.job.keep-failed"), say("phone.job.keep-failed.fix"));
    return false;
  }
}

async function tellFault(text, fix) {
  const { ask } = await import("./ui/sheet.js");
  await ask(text, [{ text: say("phone.understood"), value: true, main: true }], fix);
}

/** The record of a job to open; one that is only on the server is kept first. Null, and back to the list, when there is none. */
export async function recordFor(id, page) {
  const mine = await kept.keptJob(id);
  if (mine) {
    kept.offered().then((jobs) => offerRevision(mine, jobs?.find((job) => job.id === id), page));
    return mine;
  }
  const record = (await kept.offered())?.find((job) => job.id === id);
  if (record && (await keepOrSay(record))) return record;
  if (!record) await tellFault(say("phone.job.unknown"), say("phone.job.unknown.fix"));
  location.replace("#/");
  return null;
}

/** A new plan of the job: offered, never forced. A fault in fetching it only means that it is offered another time. */
async function offerRevision(record, offered, page) {
  if (!offered || offered.digest === record.digest) return;
  const same = await kept.countOn(record, offered).catch(() => null);
  if (!same) return;
  const { offer, tell } = await import("./ui/sheet.js");
  const text = say(same.length > 0 ? "phone.revision.same" : "phone.revision.offer", { name: offered.name });
  if (!(await offer(page.offers, text, say("phone.revision.take"), say("phone.later"))) || !(await keepOrSay(offered, same))) return;
  await page.reopen();
  tell(say("phone.revision.taken"));
}

async function openBook(file) {
  const { takeBook } = await import("./books.js");
  const id = await takeBook(file);
  if (id) location.hash = `#/job/${encodeURIComponent(id)}`;
}
