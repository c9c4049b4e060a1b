/* The server writes VERSION (digest of the shipped bytes) and FILES (what is in this folder) above this line. */
/* global VERSION, FILES */
const BASE = new URL("./", self.location.href);
const PREFIX = `yardtrue-shell-${BASE.pathname}-`;
const SHELL = PREFIX + VERSION;
const KEPT = "yardtrue-kept";
const PAGE = new URL("index.html", BASE).href;
const SHELL_URLS = new Set(FILES.map((path) => new URL(path, BASE).href));
const BY_DIGEST = /^(jobs\/[^/]+\/[0-9a-f]+\.json|field\/[0-9a-f]+\/[^/]+\.js)$/;

/** @type {Promise<Cache>|undefined} */
let shell;

function shellCache() {
  shell ??= caches.open(SHELL);
  return shell;
}

/** Every file or none: one that fails fails the whole installation. */
async function fill() {
  const cache = await caches.open(SHELL);
  try {
    await Promise.all([...SHELL_URLS].map((url) => fetched(cache, url)));
  } catch (fault) {
    await caches.delete(SHELL);
    throw fault;
  }
}

async function fetched(cache, url) {
  const answer = await fetch(url, { cache: "reload" });
  if (!answer.ok) throw new Error(`${url}: ${answer.status}`);
  await cache.put(url, answer.redirected ? plain(answer) : answer);
}

/** A redirected answer may not answer a navigation; its bytes may. */
function plain(answer) {
  return new Response(answer.body, { headers: answer.headers });
}

/** Only Yardtrue's own older shells go; what is kept stays. */
async function tidy() {
  const names = await caches.keys();
  const old = names.filter((name) => name.startsWith(PREFIX) && name !== SHELL);
  await Promise.all(old.map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function fromShell(url, request) {
  const cache = await shellCache();
  return (await cache.match(url)) ?? fetch(request);
}

async function fromKept(request) {
  const cache = await caches.open(KEPT);
  return (await cache.match(request.url)) ?? fetch(request);
}

async function isWhole() {
  const cache = await shellCache();
  const kept = new Set((await cache.keys()).map((request) => request.url));
  return [...SHELL_URLS].every((url) => kept.has(url));
}

self.addEventListener("install", (event) => event.waitUntil(fill()));
self.addEventListener("activate", (event) => event.waitUntil(tidy()));

self.addEventListener("message", (event) => {
  if (event.data === "take over") self.skipWaiting();
  if (event.data === "whole?") event.waitUntil(isWhole().then((whole) => event.ports[0].postMessage(whole)));
});

self.addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET" || !request.url.startsWith(BASE.href)) return;
  const url = request.url.split(/[?#]/)[0];
  if (request.mode === "navigate") event.respondWith(fromShell(PAGE, request));
  else if (SHELL_URLS.has(url)) event.respondWith(fromShell(url, request));
  else if (BY_DIGEST.test(url.slice(BASE.href.length))) event.respondWith(fromKept(request));
});
