/** The job documents and field modules kept on the phone, each under its digest, in a cache of its own. */
import { keptJob, keptJobs, rememberJob } from "./book.js";

const CACHE = "yardtrue-kept";
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

/** Fetch every file of a job, check all are there, then remember it. Rejects when any is missing. */
export async function keep(record) {
  const cache = await caches.open(CACHE);
  await Promise.all(record.files.map((path) => fill(cache, path)));
  const document = await documentOf(record);
  if (document.digest !== record.digest) throw new Error(`${record.id}: another document than its name says`);
  if (!(await whole(record))) throw new Error(`${record.id}: not all files were kept`);
  await rememberJob({ id: record.id, name: record.name, digest: record.digest, files: record.files });
  navigator.storage?.persist?.();
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

/** The field math of a kept job, all modules asked for at once: {walk, tape, say}. */
export async function field(record) {
  const paths = record.files.filter((path) => path.startsWith("field/"));
  const modules = await Promise.all(paths.map((path) => import(at(path))));
  const named = (name) => modules[paths.findIndex((path) => path.endsWith(`/${name}.js`))];
  return { walk: named("walk"), tape: named("tape"), say: named("say") };
}

/** Keep the document that came inside a field book, and the field math it names. */
export async function adopt(document) {
  const { id, name } = document.job;
  const modules = document.field.modules.map((module) => `field/${document.field.digest}/${module}`);
  const record = { id, name, digest: document.digest, files: [pathOf({ id, digest: document.digest }), ...modules] };
  const cache = await caches.open(CACHE);
  const body = new Response(JSON.stringify(document), { headers: { "Content-Type": "application/json" } });
  await cache.put(at(pathOf(record)), body);
  await keep(record);
}

export { keptJob, keptJobs };
