/** The controller: start, addresses, the list of jobs, what is offered between steps. An open job's screens are in job.js. */
import * as kept from "./data/kept.js";
import { Jobs } from "./ui/jobs.js";
import { make } from "./ui/element.js";
import { learn, say } from "./ui/sayings.js";
import { routeOf } from "./routes.js";

const app = /** @type {HTMLElement} */ (document.getElementById("app"));
const offers = /** @type {HTMLElement} */ (document.getElementById("offers"));

/** What a step needs, asked for at once: a module that is found only inside another one costs a turn more. */
const STEP = ["./job.js", "./data/walking.js", "./data/book.js", "./views.js"];
const GLIMPSE = ["./glimpse.js", "./ui/step.js", "./ui/plan.js"];

/** Found after the first screen is up: the worker's side of the page, the field book.
 * @type {Promise<{worker: import("./data/worker.js").Worker, book: typeof import("./data/book.js")}>|undefined} */
let lasting;

/** @type {any} */
let open = null;
/** @type {any} */
let glimpse = null;
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
  if (open?.id !== to.job) await openJob(to);
  if (open && location.hash === shown) await open.show(to);
  return settle();
}

/** Open a job, what was last seen of it on the screen meanwhile. */
async function openJob(to) {
  const [{ glimpseOf }] = await all(GLIMPSE);
  glimpse = to.screen === "step" && !to.step ? glimpseOf(to.job) : null;
  if (glimpse) await showGlimpse();
  open = await screensOf(to.job);
}

/** The glimpse is painted before the rest is fetched; a page in the background paints nothing and goes on. */
function showGlimpse() {
  put(glimpse.element, false);
  return new Promise((resolve) => {
    setTimeout(resolve, 300);
    requestAnimationFrame(() => setTimeout(resolve));
  });
}

/** What was tapped on the glimpse counts when the job, once open, asks just the same. */
function settle() {
  const { tapped, same } = glimpse ?? {};
  glimpse = null;
  if (tapped && open && same(open.view)) open.tap(tapped);
}

/** Is this phone able to go on with the job alone? All three must be true now. */
async function ready(record) {
  const { worker, book } = await standing();
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
  const mine = await kept.keptJobs();
  screen.show(kept.together(mine, null), "asking", {});
  if (routeOf(location.hash).screen === "jobs") put(screen.element, true);
  const [offered, readies] = await Promise.all([kept.offered(), readyByJob(mine)]);
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
async function keepOrSay(record, same = []) {
  try {
    await kept.keep(record, same);
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

/** The screens of a job, its document and field math fetched beside the modules that show them. */
async function screensOf(id) {
  const [[{ JobScreens }, { openJob: walk }], record] = await Promise.all([all(STEP), recordOf(id)]);
  if (!record) {
    await tellFault(say("phone.job.unknown"), say("phone.job.unknown.fix"));
    location.replace("#/");
    return null;
  }
  const walking = await walk(record);
  kept.offered().then((jobs) => offerRevision(record, jobs?.find((offered) => offered.id === id)));
  return new JobScreens(walking, { put, ready: () => ready(record), shows: (hash) => (shown = hash) });
}

function all(paths) {
  return Promise.all(paths.map((path) => import(path)));
}

/** A new plan of the job: offered, never forced. A fault in fetching it only means that it is offered another time. */
async function offerRevision(record, offered) {
  if (!offered || offered.digest === record.digest) return;
  const same = await kept.countOn(record, offered).catch(() => null);
  if (!same) return;
  const { offer, tell } = await import("./ui/sheet.js");
  const text = say(same.length > 0 ? "phone.revision.same" : "phone.revision.offer", { name: offered.name });
  if (!(await offer(offers, text, say("phone.revision.take"), say("phone.later"))) || !(await keepOrSay(offered, same))) return;
  await reopen();
  tell(say("phone.revision.taken"));
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

async function offerNewer(worker) {
  const { offer } = await import("./ui/sheet.js");
  if (await offer(offers, say("phone.newer.offer"), say("phone.newer.take"), say("phone.later"))) worker.take();
}

async function fail(fault) {
  console.error(fault);
  app.append(make("p", { role: "alert", class: "fault" }, say("phone.fault")));
}

/** Register the worker and listen to it and to the other windows, once. */
function standing() {
  lasting ??= Promise.all([import("./data/worker.js"), import("./data/book.js")]).then(([{ Worker }, book]) => {
    const worker = new Worker();
    worker.addEventListener("newer", () => offerNewer(worker));
    worker.addEventListener("ready", () => (open ? open.status() : routeOf(location.hash).screen === "jobs" && showJobs()));
    worker.start().catch((fault) => console.warn(fault));
    book.heard((job) => open?.id === job && open.refresh());
    return { worker, book };
  });
  return lasting;
}

window.addEventListener("hashchange", () => location.hash !== shown && route());
window.addEventListener("unhandledrejection", (event) => fail(event.reason));

history.scrollRestoration = "manual";
const first = routeOf(location.hash).job ? all(GLIMPSE) : kept.keptJobs();
await Promise.all([learn(), first]);
await route();
await standing();
