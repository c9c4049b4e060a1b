/** The list of jobs: those on this phone and those of the server, keeping one, opening a field book file. */
import * as kept from "./data/kept.js";
import { keepOrSay, ready } from "./keeping.js";
import { Jobs } from "./ui/jobs.js";

/** @typedef {import("./keeping.js").Page} Page */

/** The list's one screen, and what was last known of the server and of readiness: a list shown again starts from there.
 * @type {{screen: Jobs|null, offered: any[]|null, readies: Record<string, boolean>, asked: number}} */
const list = { screen: null, offered: null, readies: {}, asked: 0 };

/** The list of jobs: those on the phone at once, those of the server when it answers. The newest asking speaks. @param {Page} page */
export async function showList(page) {
  const asked = ++list.asked;
  const [mine] = await Promise.all([kept.keptJobs(), page.words]);
  if (asked !== list.asked) return;
  list.screen ??= listScreen(page);
  list.screen.show(kept.together(mine, list.offered), "asking", list.readies);
  if (page.isList()) page.put(list.screen.element, true);
  const [offered, readies] = await Promise.all([kept.offered(), readyByJob(mine, page)]);
  if (asked !== list.asked) return;
  Object.assign(list, { offered, readies });
  list.screen.show(kept.together(mine, offered), offered ? "reached" : "no signal", readies);
  const { homeScreen } = await import("./ui/home.js");
  homeScreen(list.screen.home);
}

/** @param {Page} page */
function listScreen(page) {
  const screen = new Jobs();
  screen.addEventListener("keep", async (event) => {
    const record = /** @type {CustomEvent} */ (event).detail;
    await keepOrSay(record);
    screen.forget(record.id);
    if (page.isList()) await showList(page);
  });
  screen.addEventListener("link", async (event) => (await import("./books.js")).takeLink(/** @type {CustomEvent} */ (event).detail));
  screen.addEventListener("file", (event) => openBook(/** @type {CustomEvent} */ (event).detail));
  return screen;
}

async function readyByJob(records, page) {
  const states = await Promise.all(records.map((record) => ready(record, page)));
  return Object.fromEntries(records.map((record, index) => [record.id, states[index]]));
}

async function openBook(file) {
  const { takeBook } = await import("./books.js");
  const id = await takeBook(file);
  if (id) location.hash = `#/job/${encodeURIComponent(id)}`;
}
