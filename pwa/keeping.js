/** A job on the phone: keeping it, whether it is ready, and a newer plan when there is one. */
import * as kept from "./data/kept.js";
import { say } from "./ui/sayings.js";

/**
 * @typedef {{words: Promise<void>, put: (element: Element, between: boolean) => void, offers: HTMLElement, reopen: () => Promise<void>, isList: () => boolean,
 *   isBare: () => boolean, standing: () => Promise<{worker: any, book: any}>, shows: (hash: string) => void}} Page
 */

/** Is this phone able to go on with the job alone? All three must be true now. @param {Page} page */
export async function ready(record, page) {
  const { worker, book } = await page.standing();
  const [shell, files, database] = await Promise.all([worker.whole(), kept.whole(record), book.open().then(() => true, () => false)]);
  return shell && files && database;
}

/** Keep a job; when a file cannot be had, say so. True when kept. */
export async function keepOrSay(record, same = []) {
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

/** A job that is only on the server, kept and then whole as it is opened. Null, and back to the list, when there is none. */
export async function keepOffered(id) {
  const record = (await kept.offered())?.find((job) => job.id === id);
  if (record && (await keepOrSay(record))) return kept.keptWhole(id);
  if (!record) await tellFault(say("phone.job.unknown"), say("phone.job.unknown.fix"));
  location.replace("#/");
  return null;
}

/** A new plan of the job: offered, never forced. A fault in fetching it only means that it is offered another time. @param {Page} page */
export async function offerRevision(record, page) {
  const offered = (await kept.offered())?.find((job) => job.id === record.id);
  if (!offered || offered.digest === record.digest) return;
  const same = await kept.countOn(record, offered).catch(() => null);
  if (!same) return;
  const { offer, tell } = await import("./ui/sheet.js");
  const text = say(same.length > 0 ? "phone.revision.same" : "phone.revision.offer", { name: offered.name });
  if (!(await offer(page.offers, text, say("phone.revision.take"), say("phone.later"))) || !(await keepOrSay(offered, same))) return;
  await page.reopen();
  tell(say("phone.revision.taken"));
}
