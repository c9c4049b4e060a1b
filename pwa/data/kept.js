/** The job documents and field math kept on the phone, each under its digest, and the list of them, in a cache of their own. */

const CACHE = "yardtrue-kept";
const LIST = "jobs/kept.json";
const BASE = new URL("../", import.meta.url);
const PATIENCE = 6000;

const at = (path) => new URL(path, BASE).href;

/** What the server offers: [{id, name, digest, files}], or null when it cannot be reached. */
export async function offered() {
  try {
    const answer = await fetch(at("jobs/index.json"), { cache: "no-store", signal: AbortSignal.timeout(PATIENCE) });
    return answer.ok ? (await answer.json()).jobs : null;
  } catch {
    return null;
  }
}

/** Offered and kept jobs as one list by id: {id, name, kept, offered}. */
export function together(kept, offers) {
  const rows = new Map(kept.map((record) => [record.id, { id: record.id, name: record.name, kept: record, offered: null }]));
  for (const record of offers ?? []) {
    const row = rows.get(record.id) ?? { id: record.id, name: record.name, kept: null, offered: null };
    rows.set(record.id, { ...row, offered: record });
  }
  return [...rows.values()];
}

/**
 * Fetch every file of a job, check all are there, then remember it. Rejects when any is missing.
 * @param {Record<string, any>} [carries] what carries over from earlier revisions that its document does not name
 */
export async function keep(record, carries = {}) {
  const cache = await caches.open(CACHE);
  await Promise.all(record.files.map((path) => fill(cache, path)));
  const document = await documentOf(record);
  if (document.digest !== record.digest) throw new Error(`${record.id}: another document than its name says`);
  if (!(await whole(record))) throw new Error(`${record.id}: not all files were kept`);
  await remember({ id: record.id, name: record.name, digest: record.digest, files: record.files, carries });
  navigator.storage?.persist?.();
}

/** Jobs kept on this phone: [{id, name, digest, files, carries}]. The list lies beside the files: they stay or go together. */
export async function keptJobs() {
  const cache = await caches.open(CACHE);
  const list = await cache.match(at(LIST));
  return list ? list.json() : [];
}

export async function keptJob(id) {
  return (await keptJobs()).find((record) => record.id === id);
}

/** One window at a time writes the list. */
function remember(record) {
  return navigator.locks.request(CACHE, async () => {
    const others = (await keptJobs()).filter((one) => one.id !== record.id);
    const cache = await caches.open(CACHE);
    await cache.put(at(LIST), asJson([...others, record]));
  });
}

function asJson(value) {
  return new Response(JSON.stringify(value), { headers: { "Content-Type": "application/json" } });
}

async function fill(cache, path) {
  if (await cache.match(at(path))) return;
  const answer = await fetch(at(path));
  if (!answer.ok) throw new Error(`${path}: ${answer.status}`);
  await cache.put(at(path), answer);
}

/** Is every file of this job on the phone? */
export async function whole(record) {
  const cache = await caches.open(CACHE);
  const found = await Promise.all(record.files.map((path) => cache.match(at(path))));
  return found.every((answer) => answer !== undefined);
}

/**
 * The plan offered, fetched whole: {document, math, carries}. `carries` tells of each revision this phone has walked what carries over,
 * where the document itself does not: the one that made it knew nothing of them.
 */
export async function looked(record, offered) {
  const cache = await caches.open(CACHE);
  await Promise.all(offered.files.map((path) => fill(cache, path)));
  const [mine, document, math] = await Promise.all([documentOf(record), documentOf(offered), field(offered)]);
  const walked = new Set([record.digest, ...Object.keys(record.carries ?? {}), ...Object.keys(mine.carries ?? {})]);
  const carries = {};
  for (const digest of walked) {
    const before = digest in (document.carries ?? {}) ? null : await documentOf({ ...record, digest }).catch(() => null);
    if (before) carries[digest] = math.carry.between(before, document);
  }
  return { document, math, carries };
}

/** All that a kept job is opened with: {record, document, math}; null where it is not kept. */
export async function keptWhole(id) {
  const record = await keptJob(id);
  if (!record) return null;
  const [document, math] = await Promise.all([documentOf(record), field(record)]);
  return { record, document: withCarries(document, record.carries), math };
}

/** A document that knows what carries over from the earlier ones of this phone, besides those it names itself. */
export function withCarries(document, carries = {}) {
  return { ...document, carries: { ...carries, ...document.carries } };
}

/** The document of a kept job. */
export async function documentOf(record) {
  const cache = await caches.open(CACHE);
  const answer = await cache.match(at(pathOf(record)));
  if (!answer) throw new Error(`${record.id}: its document is not on this phone`);
  return answer.json();
}

function pathOf(record) {
  return `jobs/${record.id}/${record.digest}.json`;
}

/** The field math of a kept job, one module: {walk, tape, say, ...}. */
function field(record) {
  return import(at(record.files.find((path) => path.startsWith("field/"))));
}

/** Keep the document that came inside a field book, and the field math it names. */
export async function adopt(document) {
  const { id, name } = document.job;
  const modules = document.field.modules.map((module) => `field/${document.field.digest}/${module}`);
  const record = { id, name, digest: document.digest, files: [pathOf({ id, digest: document.digest }), ...modules] };
  const cache = await caches.open(CACHE);
  await cache.put(at(pathOf(record)), asJson(document));
  const mine = await keptJob(id);
  await keep(record, mine && (await looked(mine, record)).carries);
}
