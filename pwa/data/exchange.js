/** The field book as a file: save it, share it, open one. */
import { entriesOf, unite } from "./book.js";

const KIND = "yardtrue field book";
const SCHEMA = 1;

/** A file that is no field book; `code` names the sentence to say. */
export class NotABook extends Error {
  constructor(code) {
    super(code);
    this.code = code;
  }
}

/** The whole field book of a job, every revision's entries in it, as a file. */
export async function bookFile(document) {
  const { id, name } = document.job;
  const book = { schema: SCHEMA, kind: KIND, job: id, name, document, entries: await entriesOf(id) };
  const day = new Date().toISOString().slice(0, 10);
  return new File([JSON.stringify(book)], `field-book-${id}-${day}.json`, { type: "application/json" });
}

export function canShare(file) {
  return Boolean(navigator.canShare?.({ files: [file] }));
}

/** Hand the file to another app; true when it went. */
export async function share(file) {
  try {
    await navigator.share({ files: [file], title: file.name });
    return true;
  } catch {
    return false;
  }
}

/** Save the file where the browser saves files. */
export function save(file) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}

/** Read a chosen file as a field book. Raises NotABook. */
export async function readBook(file) {
  const book = parsed(await file.text());
  if (book?.kind !== KIND) throw new NotABook("phone.book.other-kind");
  if (book.schema !== SCHEMA) throw new NotABook("phone.book.other-schema");
  if (!isDocument(book.document, book.job)) throw new NotABook("phone.book.no-document");
  if (!Array.isArray(book.entries) || !book.entries.every((entry) => isEntry(entry, book.job))) throw new NotABook("phone.book.bad-entry");
  return book;
}

function parsed(text) {
  try {
    return JSON.parse(text);
  } catch {
    throw new NotABook("phone.book.not-json");
  }
}

function isDocument(document, job) {
  return typeof document?.digest === "string" && document.job?.id === job && Array.isArray(document.steps) && typeof document.field?.digest === "string";
}

/** Whether this has what every entry of a job's book has. */
export function isEntry(entry, job) {
  const texts = ["id", "device", "at", "revision", "step", "kind"];
  return texts.every((name) => typeof entry?.[name] === "string") && Number.isInteger(entry.n) && entry.job === job;
}

/** Add a book's entries to this phone's, all or none; tells how many were new. */
export function takeIn(book) {
  return unite(book.job, book.entries);
}
