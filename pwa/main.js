/** The controller: start, addresses, which screen is up. The list of jobs is in listing.js, an open job's screens in job.js. */
import { keptWhole } from "./data/kept.js";
import { glimpseKey, routeOf } from "./routes.js";
import { make } from "./ui/element.js";
import { learn, say } from "./ui/sayings.js";

const app = /** @type {HTMLElement} */ (document.getElementById("app"));
const offers = /** @type {HTMLElement} */ (document.getElementById("offers"));

/** What each needs, asked for at once: a module that is found only inside another one costs a turn more. */
const LIST = ["./listing.js", "./keeping.js", "./ui/jobs.js"];
const STEP = ["./ui/step.js", "./ui/plan.js"];
const GLIMPSE = ["./glimpse.js", ...STEP];
const JOB = ["./job.js", "./data/walking.js", ...STEP];

const LATE = 1500; // ms until the field books are sent: the first tap comes first

/** Found after the first screen is up: the worker's side of the page, the field book.
 * @type {Promise<{worker: import("./data/worker.js").Worker, book: typeof import("./data/book.js")}>|undefined} */
let lasting;

/** @type {any} */
let open = null;
/** @type {any} */
let glimpse = null;
let shown = "";

/** What the other controllers may do with the page. */
const page = { words: learn(), put, offers, reopen, standing, isList: () => routeOf(location.hash).screen === "jobs", isBare: () => !app.firstChild, shows: (hash) => (shown = hash) };

/** Put a screen up; offers wait while a step is under way. */
function put(element, between) {
  if (app.firstChild !== element) app.replaceChildren(element);
  offers.hidden = !between;
}

async function route() {
  shown = location.hash;
  const to = routeOf(shown);
  if (to.screen === "crew") return join(to.link);
  if (to.screen === "jobs") return showJobs();
  if (open?.id !== to.job) await openJob(to);
  if (open && location.hash === shown) await open.show(to);
  return settle();
}

async function showJobs() {
  open?.leave();
  open = null;
  const [{ showList }] = await all(LIST);
  await showList(page);
}

/** A crew link stays neither in the address nor in the history: the list of jobs takes its place, then the job. */
async function join(link) {
  shown = "#/";
  history.replaceState(null, "", shown);
  await showJobs();
  const { takeLink } = await import("./books.js");
  await takeLink(link);
}

/** Open a job, what was last seen of it on the screen meanwhile. */
async function openJob(to) {
  if (mayGlimpse(to)) await lookBefore(to);
  const [kept, recalled, [{ JobScreens }, { walk }]] = await Promise.all([keptJob(to.job), recalledJob(to.job), all(JOB), page.words]);
  open = kept && new JobScreens(walk(kept, recalled), kept.record, page);
}

/** A job with its document and field math, read while the modules are still on their way; one that is only on the server is kept first. */
async function keptJob(id) {
  return (await keptWhole(id)) ?? fetchedJob(id);
}

/** Few starts need it: it is fetched when it is. */
async function fetchedJob(id) {
  const [{ keepOffered }] = await Promise.all([import("./keeping.js"), page.words]);
  return keepOffered(id);
}

async function recalledJob(id) {
  const { recall } = await import("./data/book.js");
  return recall(id);
}

/** Only the first open step is glimpsed, where it was seen before. */
function mayGlimpse({ screen, job, step }) {
  return screen === "step" && !step && localStorage.getItem(glimpseKey(job)) !== null;
}

/** The glimpse is painted before the rest is fetched; a page in the background paints nothing and goes on. */
async function lookBefore(to) {
  const [{ glimpseOf }] = await all(GLIMPSE);
  glimpse = glimpseOf(to.job);
  await page.words;
  if (routeOf(location.hash).job !== to.job) return;
  put(glimpse.show(), false);
  await new Promise((resolve) => {
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

function reopen() {
  open?.leave();
  open = null;
  return route();
}

function all(paths) {
  return Promise.all(paths.map((path) => import(path)));
}

/** Register the worker and listen to it and to the other windows, once. */
function standing() {
  lasting ??= Promise.all([import("./data/worker.js"), import("./data/book.js")]).then(([{ Worker }, book]) => {
    const worker = new Worker();
    worker.addEventListener("newer", () => offerNewer(worker));
    worker.addEventListener("ready", () => (open ? open.status() : page.isList() && showJobs()));
    worker.start().catch((fault) => console.warn(fault));
    book.heard(({ job, entries }) => open?.id === job && entries.length > 0 && open.refresh(entries));
    return { worker, book };
  });
  return lasting;
}

async function offerNewer(worker) {
  const { offer } = await import("./ui/sheet.js");
  if (await offer(offers, say("phone.newer.offer"), say("phone.newer.take"), say("phone.later"))) worker.take();
}

async function fail(fault) {
  console.error(fault);
  await page.words.catch(() => undefined);
  app.append(make("p", { role: "alert", class: "fault" }, say("phone.fault")));
}

window.addEventListener("hashchange", () => location.hash !== shown && route());
window.addEventListener("unhandledrejection", (event) => fail(event.reason));

history.scrollRestoration = "manual";
await route();
await standing();
setTimeout(() => import("./crew.js").then(({ begin }) => begin(), (fault) => console.warn(fault)), LATE);
