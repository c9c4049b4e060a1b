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
export async function keepOrSay(record, carries = {}) {
  try {
    await kept.keep(record, carries);
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

/** A new plan of the job: offered, never forced. A fault in fetching it only means that it is offered another time. @param {import("./job.js").JobScreens} job */
export async function offerRevision(job) {
  const { record, app: page } = job;
  const offered = (await kept.offered())?.find(({ id }) => id === record.id);
  if (!offered || offered.digest === record.digest) return;
  const looked = await kept.looked(record, offered).catch((fault) => console.warn(fault));
  if (!looked) return;
  const { offer, tell } = await import("./ui/sheet.js");
  const between = looked.document.carries[record.digest] ?? looked.carries[record.digest];
  const same = isSame(between, looked.document);
  const text = say(same ? "phone.revision.same" : "phone.revision.offer", { name: offered.name });
  if (!(await offer(page.offers, text, say(same ? "phone.revision.take" : "phone.revision.look"), say("phone.later")))) return;
  if ((!same && !(await wantsIt(job, offered, looked, between))) || !(await keepOrSay(offered, looked.carries))) return;
  await page.reopen();
  tell(say("phone.revision.taken"));
}

/** Whether every act and every point of a plan is as it was. */
function isSame({ acts, points, gone }, { steps, yard }) {
  return Object.keys(acts).length === steps.flatMap((step) => step.acts).length && points.length === Object.keys(yard.points).length && gone.length === 0;
}

/** What changes is shown before it is taken: the entries there are now, as the newer plan would have them. */
async function wantsIt({ walking }, { name }, { document, math, carries }, between) {
  const { changesOf, showChanges } = await import("./ui/changes.js");
  const then = kept.withCarries(document, carries);
  const state = math.walk.fold(then, structuredClone(walking.all));
  return showChanges(say("phone.revision.title", { name }), changesOf(walking, { document: then, math, state }, between));
}
