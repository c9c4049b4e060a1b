/** The only file that knows the database: field book entries (append-only), this phone's own id, states folded from entries, what the server has yet to take. */

const NAME = "yardtrue";
const VERSION = 3;
const NEWS = 200; // as many of the others' entries are told at most
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
    request.onupgradeneeded = (event) => lay(request.result, event.oldVersion, /** @type {IDBTransaction} */ (request.transaction));
    request.onerror = () => reject(request.error);
    request.onsuccess = () => {
      request.result.onversionchange = () => request.result.close();
      request.result.onclose = () => (opening = undefined);
      resolve(request.result);
    };
  });
}

/**
 * Stores: `unsent` and `refused` name entries by [job, n, id]; an entry in neither is held by the server. `syncs` has of each job {job, since, joining, news}:
 * how far the server's entries have come in, whether they still come in for the first time, ids of the others' that nobody here has seen.
 */
function lay(database, before, transaction) {
  if (before < 1) {
    database.createObjectStore("entries", { keyPath: "id" }).createIndex("job", "job");
    database.createObjectStore("self", { keyPath: "key" });
  }
  if (before < 2) database.createObjectStore("states", { keyPath: "job" });
  for (const name of ["unsent", "refused"]) database.createObjectStore(name, { keyPath: ["job", "n", "id"] });
  database.createObjectStore("syncs", { keyPath: "job" });
  if (before > 0) each(transaction.objectStore("entries").getAll(), (entry) => transaction.objectStore("unsent").add(markOf(entry)));
}

/** What names an entry in `unsent` and `refused`. */
function markOf({ job, n, id }) {
  return { job, n, id };
}

function keyOf({ job, n, id }) {
  return [job, n, id];
}

/** Every mark of a job: arrays sort behind numbers. */
function marksOf(job) {
  return IDBKeyRange.bound([job], [job, []]);
}

/** Do this with each that a request finds. */
function each(request, work) {
  request.onsuccess = () => request.result.forEach(work);
}

/** Run one strict transaction: resolved only when the bytes are on the disk. @param {string|string[]} stores */
function strictly(stores, work) {
  return writing(stores, work, "strict");
}

async function writing(stores, work, durability) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(stores, "readwrite", { durability });
    const done = work((name) => transaction.objectStore(name), transaction);
    transaction.oncomplete = () => resolve(done);
    transaction.onabort = transaction.onerror = () => reject(transaction.error ?? new Error("not written"));
  });
}

/** What several requests find, all in one turn. */
async function readAll(stores, ask) {
  const database = await open();
  const transaction = database.transaction(stores);
  const asked = ask((name) => transaction.objectStore(name));
  await new Promise((resolve, reject) => {
    transaction.oncomplete = resolve;
    transaction.onabort = () => reject(transaction.error);
  });
  return asked.map((request) => request.result);
}

/** Every entry of a job, in the order of the book: n, then device. */
export async function entriesOf(job) {
  const [entries] = await readAll("entries", (store) => [store("entries").index("job").getAll(job)]);
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
  await strictly(["entries", "unsent"], (store, transaction) => {
    enter(store, entry);
    transaction.commit?.();
  });
  others?.postMessage({ job: entry.job, entries: [entry], wrote: true });
}

function enter(store, entry) {
  store("entries").add(entry);
  store("unsent").add(markOf(entry));
}

/** Add the entries that are not here yet, all or none; tells how many came in. They wait for the server like those made here. */
export async function unite(job, entries) {
  const here = new Set((await entriesOf(job)).map((entry) => entry.id));
  const fresh = entries.filter((entry) => !here.has(entry.id));
  if (fresh.length > 0) await strictly(["entries", "unsent"], (store) => fresh.forEach((entry) => enter(store, entry)));
  others?.postMessage({ job, entries: fresh, wrote: true });
  return fresh.length;
}

/** Keep a state. One that is lost costs a fold. */
export function keepState(kept) {
  return writing("states", (store) => store("states").put(kept), "relaxed");
}

/** Hear of entries written by another window of this phone, or come in from the server: {job, entries, wrote}. */
export function heard(listen) {
  others?.addEventListener("message", (event) => listen(event.data));
}

/** All that a job is opened with, in one turn: its entries in order, the state kept of them (or undefined), this phone's id. */
export async function recall(job) {
  const [entries, kept, self] = await readAll(["entries", "states", "self"], (store) => [store("entries").index("job").getAll(job), store("states").get(job), store("self").get("device")]);
  return { entries: entries.sort(inOrder), kept, device: self?.value ?? (await newDevice()) };
}

/** This phone's id, made once: of two windows that make one, the first one's counts. */
async function newDevice() {
  const fresh = crypto.randomUUID();
  const made = await strictly("self", (store) => {
    const found = store("self").get("device");
    found.onsuccess = () => found.result ?? store("self").add({ key: "device", value: fresh });
    return found;
  });
  return made.result?.value ?? fresh;
}

/** How a job stands with the server: how many entries wait, which it refused ({id, error}), the others' that nobody here has seen (ids). */
export async function standing(job) {
  const [waiting, refused, sync] = await readAll(["unsent", "refused", "syncs"], (store) => [store("unsent").count(marksOf(job)), store("refused").getAll(marksOf(job)), store("syncs").get(job)]);
  return { waiting, refused, news: sync?.news ?? [] };
}

/** The jobs of which entries wait. */
export async function waitingJobs() {
  const found = [];
  await readAll("unsent", (store) => {
    const asked = store("unsent").openKeyCursor();
    asked.onsuccess = () => {
      if (!asked.result) return;
      found.push(asked.result.key[0]);
      asked.result.continue([asked.result.key[0], []]);
    };
    return [];
  });
  return found;
}

/** What goes up next, at most so many, oldest first, and from where on the server is asked. */
export async function outgoing(job, most) {
  const [marks, sync] = await readAll(["unsent", "syncs"], (store) => [store("unsent").getAll(marksOf(job), most || 1), store("syncs").get(job)]);
  const entries = await readAll("entries", (store) => marks.slice(0, most).map(({ id }) => store("entries").get(id)));
  return { entries, since: sync?.since ?? 0 };
}

/**
 * Take an answer of the server in, in one turn: what it holds waits no more, what it refused stays and says why, what is new is written, then the cursor.
 * Tells the entries that were not here.
 */
export async function settle(job, sent, { kept, refused, entries, since, more }) {
  const held = new Set(kept);
  const whys = new Map(refused.map(({ id, error }) => [id, error]));
  const fresh = [];
  await strictly(["entries", "unsent", "refused", "syncs", "self"], (store) => {
    for (const entry of sent) answered(store, entry, held.has(entry.id), whys.get(entry.id));
    const first = store("entries").index("job").getKey(job);
    for (const entry of entries) receive(store, entry, fresh);
    const self = store("self").get("device");
    const sync = store("syncs").get(job);
    sync.onsuccess = () => store("syncs").put(gone(sync.result ?? { job, joining: first.result === undefined, news: [] }, { since, more }, fresh.filter(({ device }) => device !== self.result?.value)));
  });
  if (fresh.length + sent.length > 0) others?.postMessage({ job, entries: fresh, wrote: false });
  return fresh;
}

function answered(store, entry, held, why) {
  if (held || why) store("unsent").delete(keyOf(entry));
  if (why) store("refused").put({ ...markOf(entry), error: why });
}

/** An entry that is here stays as it is; either way the server has it. */
function receive(store, entry, fresh) {
  const here = store("entries").getKey(entry.id);
  here.onsuccess = () => {
    store("unsent").delete(keyOf(entry));
    if (here.result !== undefined) return;
    store("entries").add(entry);
    fresh.push(entry);
  };
}

/** A book's cursor gone on. A phone that has only just joined takes what was done before as known. */
function gone(sync, { since, more }, fresh) {
  const news = sync.joining ? sync.news : [...sync.news, ...fresh.map(({ id }) => id)].slice(-NEWS);
  return { ...sync, since, news, joining: sync.joining && more };
}

/** The others' entries that were told were seen. */
export function seen(job) {
  return writing("syncs", (store) => each(store("syncs").getAll(job), (sync) => store("syncs").put({ ...sync, news: [] })), "relaxed");
}

/** What the server refused waits once more. */
export function sendAgain(job) {
  return strictly(["unsent", "refused"], (store) => {
    each(store("refused").getAll(marksOf(job)), (mark) => store("unsent").put(markOf(mark)));
    store("refused").delete(marksOf(job));
  });
}

/** The server knows less than it did: everything waits once more, and is asked for from the start. */
export function startOver(job) {
  return strictly(["entries", "unsent", "syncs"], (store) => {
    each(store("entries").index("job").getAll(job), (entry) => store("unsent").put(markOf(entry)));
    each(store("syncs").getAll(job), (sync) => store("syncs").put({ ...sync, since: 0 }));
  });
}
