/** The controller: start, addresses, the list of jobs, what is offered between steps. An open job's screens are in job.js. */
import * as book from "./data/book.js";
import * as kept from "./data/kept.js";
import { Worker } from "./data/worker.js";
import { Jobs } from "./ui/jobs.js";
import { make } from "./ui/element.js";
import { learn, say } from "./ui/sayings.js";
import { routeOf } from "./routes.js";

const app = /** @type {HTMLElement} */ (document.getElementById("app"));
const offers = /** @type {HTMLElement} */ (document.getElementById("offers"));
const worker = new Worker();

/** @type {any} */
let open = null;
let shown = "";

/** Put a screen up; offers wait while a step is under way. */
function put(element, between) {
  if (app.firstChild !== element) app.replaceChildren(element);
  offers.hidden = !between;
}

async function route() {
  shown = location.hash;
  const to = routeOf(location.hash);
  if (to.screen === "jobs") return showJobs();
  if (open?.id !== to.job) open = await openJob(to.job);
  return open ? open.show(to) : undefined;
}

/** Is this phone able to go on with the job alone? All three must be true now. */
async function ready(record) {
  const [shell, files, database] = await Promise.all([worker.whole(), kept.whole(record), book.open().then(() => true, () => false)]);
  return shell && files && database;
}

async function showJobs() {
  open?.leave();
  open = null;
  const screen = new Jobs();
  screen.addEventListener("keep", (event) => keepThenShow(/** @type {CustomEvent} */ (event).detail));
  screen.addEventListener("file", (event) => openBook(/** @type {CustomEvent} */ (event).detail));
  await fillJobs(screen);
}

async function fillJobs(screen) {
  const asked = kept.offered();
  const mine = await kept.keptJobs();
  screen.show(kept.together(mine, null), "asking", {});
  put(screen.element, true);
  performance.mark("yardtrue-shown");
  const [offered, readies] = await Promise.all([asked, readyByJob(mine)]);
  screen.show(kept.together(mine, offered), offered ? "reached" : "no signal", readies);
  const { homeScreen } = await import("./ui/home.js");
  homeScreen(screen.home);
}

async function readyByJob(records) {
  const states = await Promise.all(records.map(ready));
  return Object.fromEntries(records.map((record, index) => [record.id, states[index]]));
}

async function keepThenShow(record) {
  await keepOrSay(record);
  if (routeOf(location.hash).screen === "jobs") await showJobs();
}

/** Keep a job; when a file cannot be had, say so. True when kept. */
async function keepOrSay(record) {
  try {
    await kept.keep(record);
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

/** The record of a job on this phone; one that is only on the server is kept first. */
async function recordOf(id) {
  const mine = await kept.keptJob(id);
  if (mine) return mine;
  const record = (await kept.offered())?.find((job) => job.id === id);
  return record && (await keepOrSay(record)) ? record : null;
}

async function openJob(id) {
  const screens = import("./job.js");
  const record = await recordOf(id);
  if (!record) {
    await tellFault(say("phone.job.unknown"), say("phone.job.unknown.fix"));
    location.replace("#/");
    return null;
  }
  const { JobScreens } = await screens;
  const job = await JobScreens.open(record, { put, ready: () => ready(record), shows: (hash) => (shown = hash) });
  kept.offered().then((jobs) => offerRevision(record, jobs?.find((offered) => offered.id === id)));
  return job;
}

/** A new plan of the job: offered, never forced. */
async function offerRevision(record, offered) {
  if (!offered || offered.digest === record.digest) return;
  const { offer } = await import("./ui/sheet.js");
  const yes = await offer(offers, say("phone.revision.offer", { name: offered.name }), say("phone.revision.take"), say("phone.later"));
  if (yes && (await keepOrSay(offered))) reopen();
}

function reopen() {
  open?.leave();
  open = null;
  return route();
}

async function openBook(file) {
  const { takeBook } = await import("./books.js");
  const id = await takeBook(file, keepOrSay);
  if (id) location.hash = `#/job/${encodeURIComponent(id)}`;
}

async function offerNewer() {
  const { offer } = await import("./ui/sheet.js");
  if (await offer(offers, say("phone.newer.offer"), say("phone.newer.take"), say("phone.later"))) worker.take();
}

async function fail(fault) {
  console.error(fault);
  app.append(make("p", { role: "alert", class: "fault" }, say("phone.fault")));
}

window.addEventListener("hashchange", () => location.hash !== shown && route());
window.addEventListener("unhandledrejection", (event) => fail(event.reason));
book.heard((job) => open?.id === job && open.refresh());
worker.addEventListener("newer", offerNewer);
worker.addEventListener("ready", () => (open ? open.status() : routeOf(location.hash).screen === "jobs" && showJobs()));

await learn();
await route();
worker.start().catch((fault) => console.warn(fault));
