/** What comes from the others: a field book file (its entries by union, its document when this phone has none for the job), or a crew link. */
import { NotABook, readBook, takeIn } from "./data/exchange.js";
import { adopt, keptJob } from "./data/kept.js";
import { keepOrSay } from "./keeping.js";
import { hashOf } from "./routes.js";
import { ask, tell } from "./ui/sheet.js";
import { say } from "./ui/sayings.js";

/** Tells the job's id when it can be walked now, else "". */
export async function takeBook(file) {
  try {
    const book = await readBook(file);
    const fresh = await takeIn(book);
    const walkable = await documentFor(book);
    tell(say("phone.book.taken", { fresh, count: book.entries.length, name: book.name }));
    return walkable ? book.job : "";
  } catch (fault) {
    if (!(fault instanceof NotABook)) throw fault;
    await ask(say(fault.code), [understood()], say(`${fault.code}.fix`));
    return "";
  }
}

/** Make sure there is a plan to walk the book by: this phone's, or the one in the book. */
async function documentFor(book) {
  const mine = await keptJob(book.job);
  if (mine?.digest === book.document.digest) return true;
  if (mine && !(await ask(say("phone.book.other-plan"), planChoices()))) return true;
  return adopt(book.document).then(
    () => true,
    async () => {
      await ask(say("phone.book.no-field"), [understood()], say("phone.book.no-field.fix"));
      return Boolean(mine);
    },
  );
}

function planChoices() {
  return [
    { text: say("phone.book.use-its-plan"), value: true, main: true },
    { text: say("phone.book.keep-my-plan"), value: false },
  ];
}

function understood() {
  return { text: say("phone.understood"), value: true, main: true };
}

const TOKEN = /^[\w-]{16,128}$/;
const PATIENCE = 15_000;

/** Open a crew link: what it is worth is asked of the desk, its job kept, then gone on to. False, with a sentence said, where it leads nowhere. */
export async function takeLink(text) {
  const link = text.trim().replace(/^.*#\/crew\//, "").replace(/\/$/, "");
  const { job, said, again } = TOKEN.test(link) ? await asked(link) : { said: "bad" };
  if (job) return goOn(job);
  const choices = again ? [{ text: say("phone.link.again"), value: true, main: true }, { text: say("phone.later"), value: false }] : [understood()];
  const tries = await ask(say(`phone.link.${said}`), choices, say(`phone.link.${said}.fix`));
  return again && tries ? takeLink(text) : false;
}

/** The job of a link, or what to say: it is wrong, there is no signal (worth another try), or this place has no desk. */
async function asked(link) {
  try {
    const answer = await fetch(new URL("../api/crew", import.meta.url), { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify({ link }), cache: "no-store", signal: AbortSignal.timeout(PATIENCE) });
    const body = await answer.json().catch(() => null);
    if (answer.ok && body?.job) return { job: body.job };
    if (answer.status === 404 && body?.error) return { said: "wrong" };
    const far = answer.ok || answer.status === 429 || (answer.status >= 500 && answer.status !== 501);
    return far ? { said: "unheard", again: true } : { said: "no-desk" };
  } catch {
    return { said: "unheard", again: true };
  }
}

/** A job that is on this phone already stays as it is: a newer plan of it is offered there. */
async function goOn(record) {
  if (!(await keptJob(record.id)) && !(await keepOrSay(record))) return false;
  location.replace(hashOf({ job: record.id }));
  return true;
}
