/** Take a field book file in: its entries by union, its document when this phone has none for the job. */
import { NotABook, readBook, takeIn } from "./data/exchange.js";
import { adopt, keptJob } from "./data/kept.js";
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
