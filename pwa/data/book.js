/** The only file that knows the database: field book entries (append-only), this phone's own id, and states folded from entries. */

const NAME = "yardtrue";
const VERSION = 2;
const others = "BroadcastChannel" in self ? new BroadcastChannel("yardtrue-book") : null;

/** @type {Promise<IDBDatabase>|undefined} */
let opening;

/** Open the database, once; a failed opening may be tried again. */
export function open() {
  opening ??= opened().catch((fault) => {
    opening = undefined;
    throw fault;
  });
  return opening;
}

/** @returns {Promise<IDBDatabase>} */
function opened() {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = (event) => lay(request.result, event.oldVersion);
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      request.result.onversionchange = () => request.result.close();
      request.result.onclose = () => (opening = undefined);
      resolve(request.result);
    };
  });
}

function lay(database, before) {
  if (before < 1) {
    database.createObjectStore("entries", { keyPath: "id" }).createIndex("job", "job");
    database.createObjectStore("self", { keyPath: "key" });
  }
  database.createObjectStore("states", { keyPath: "job" });
}

/** Run one strict transaction: resolved only when the bytes are on the disk. */
function strictly(store, work) {
  return writing(store, work, "strict");
}

async function writing(store, work, durability) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(store, "readwrite", { durability });
    const done = work(transaction.objectStore(store));
    transaction.oncomplete = () => resolve(done);
    transaction.onabort = transaction.onerror = () => reject(transaction.error ?? new Error("not written"));
  });
}

async function read(store, ask) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const request = ask(database.transaction(store).objectStore(store));
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** Every entry of a job, in the order of the book: n, then device. */
export async function entriesOf(job) {
  const entries = await read("entries", (store) => store.index("job").getAll(job));
  return entries.sort(inOrder);
}

/** The order of a book: n, then device, then id. */
export function inOrder(a, b) {
  return a.n - b.n || compare(a.device, b.device) || compare(a.id, b.id);
}

function compare(a, b) {
  if (a === b) return 0;
  return a < b ? -1 : 1;
}

/** Write one new entry, without waiting for a turn to say so. Rejects, with nothing written, when the phone cannot hold it. */
export async function append(entry) {
  await strictly("entries", (store) => {
    store.add(entry);
    store.transaction.commit?.();
  });
  others?.postMessage(entry.job);
}

/** Add the entries that are not here yet, all or none; tells how many came in. */
export async function unite(job, entries) {
  const here = new Set((await entriesOf(job)).map((entry) => entry.id));
  const fresh = entries.filter((entry) => !here.has(entry.id));
  if (fresh.length > 0) await strictly("entries", (store) => fresh.forEach((entry) => store.add(entry)));
  others?.postMessage(job);
  return fresh.length;
}

/** Keep a state. One that is lost costs a fold. */
export function keepState(kept) {
  return writing("states", (store) => store.put(kept), "relaxed");
}

/** Hear of entries written by another window of this phone. */
export function heard(listen) {
  others?.addEventListener("message", (event) => listen(event.data));
}

/** All that a job is opened with, in one turn: its entries in order, the state kept of them (or undefined), this phone's id. */
export async function recall(job) {
  const database = await open();
  const transaction = database.transaction(["entries", "states", "self"]);
  const asked = [transaction.objectStore("entries").index("job").getAll(job), transaction.objectStore("states").get(job), transaction.objectStore("self").get("device")];
  await new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error);
  });
  const [entries, kept, self] = asked.map((request) => request.result);
  return { entries: entries.sort(inOrder), kept, device: self?.value ?? (await newDevice()) };
}

/** This phone's id, made once: of two windows that make one, the first one's counts. */
async function newDevice() {
  const fresh = crypto.randomUUID();
  const made = await strictly("self", (store) => {
    const found = store.get("device");
    found.onsuccess = () => found.result ?? store.add({ key: "device", value: fresh });
    return found;
  });
  return made.result?.value ?? fresh;
}
