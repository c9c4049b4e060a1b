/** What the truth screen shows, made of the field's truth: the verdict, and a row and a ring for every corner and footing mark. */
import { hashOf } from "./routes.js";
import { say } from "./ui/sayings.js";

/** How many times as large rings may be drawn. */
const TIMES = [60, 50, 40, 30, 24, 20, 15, 12, 10, 8, 6, 5, 4, 3, 2, 1];

/**
 * Where one corner or mark stands: plan and here in inches of the yard; `within` and `doubt` are 95 % radii about them.
 * @typedef {{point: string, set: boolean, staked: boolean, marked: boolean, inside: boolean, plan: number[], here: number[], within: number, doubt: number}} Stand
 */

export function truthView(job) {
  const { walking } = job;
  const truth = walking.truth();
  const [marks, corners, anchors] = [marksOf(walking, truth), cornersOf(walking, truth), anchorsOf(walking, truth)];
  const tolerance = walking.show(walking.document.yard.tolerance);
  return {
    job: walking.document.job.name, status: job.note(), hash: hashOf({ job: job.id }),
    title: verdictOf(job, truth, marks),
    more: say("phone.truth.more", { tolerance, count: marks.length, set: count(marks, "set"), staked: count(marks, "staked"), over: marks.filter(isOver).length }),
    together: truth.together.map((message) => job.text(message)), groups: groupsOf(job, { anchors, marks, corners }),
    ...picture([...corners, ...ringed(walking, marks, anchors), ...anchors], marks, walking.document.yard.tolerance), legend: legendOf([...marks, ...corners], anchors, tolerance), means: say("phone.truth.means", { tolerance }),
    counts: say("phone.truth.counts", { pulls: truth.pulls, moves: truth.moves, entries: walking.all.length }),
  };
}

/** What is listed, each under its name; no anchors before one is set. */
function groupsOf(job, stands) {
  const names = Object.keys(stands).filter((name) => stands[name].length > 0);
  return names.map((name) => ({ name, title: say(`phone.truth.${name}`), rows: stands[name].map((stand) => rowOf(job, stand, name === "marks")) }));
}

function legendOf(stands, anchors, tolerance) {
  if (!stands.some(isSet)) return "";
  return [say("phone.truth.legend", { tolerance }), anchors.length > 0 ? say("phone.truth.legend-anchors") : ""].join(" ").trim();
}

/** The marks that get a ring of their own: where an anchor stands, its mark is gone under it. */
function ringed(walking, marks, anchors) {
  const { points } = walking.document.yard;
  const over = new Set(anchors.map(({ point }) => points[point].as));
  return marks.filter(({ point }) => !over.has(point));
}

/** A footing mark is set once it is plumbed down, or the flag or corner it will be plumbed from is there. @returns {Stand[]} */
function marksOf(walking, truth) {
  const { points } = walking.document.yard;
  const made = new Set([...Object.keys(walking.state.born), ...truth.corners]);
  return truth.marks.map(({ point, staked }) => {
    const marked = point in walking.state.marks;
    return { ...standOf(walking, truth, point), set: marked || made.has(points[point].under), staked, marked };
  });
}

/** @returns {Stand[]} */
function cornersOf(walking, truth) {
  const { points } = walking.document.yard;
  const names = Object.keys(points).filter((name) => points[name].kind === "crossing").sort();
  return names.map((name) => ({ ...standOf(walking, truth, name), set: truth.corners.includes(name), staked: false, marked: false }));
}

/** Anchors are there once they are set, after digging or pouring. @returns {Stand[]} */
function anchorsOf(walking, truth) {
  return truth.anchors.map(({ point }) => ({ ...standOf(walking, truth, point), set: true, staked: true, marked: true }));
}

function standOf(walking, truth, point) {
  const { x, y, within, doubt } = truth.points[point];
  return { point, plan: walking.planned(point), here: [x, y], within, doubt, inside: within <= walking.document.yard.tolerance };
}

function isSet({ set }) {
  return set;
}

function isOver({ set, inside }) {
  return set && !inside;
}

function count(stands, what) {
  return stands.filter((stand) => stand[what]).length;
}

/** True, or what is missing: the mark that is least sure, else what is not set, else what is not staked. */
function verdictOf(job, truth, marks) {
  const { walking } = job;
  if (truth.true) return say("phone.truth.true", { tolerance: walking.show(walking.document.yard.tolerance) });
  const [worst] = marks.filter(isOver).sort((a, b) => b.within - a.within);
  if (worst) return say("phone.truth.over", { name: job.name(worst.point), within: walking.showDoubt(worst.within) });
  if (marks.every(({ staked }) => staked)) return say("phone.truth.twice");
  const lack = marks.every(({ set }) => set) ? "staked" : "set";
  return say(`phone.truth.un${lack}`, { open: marks.length - count(marks, lack), count: marks.length });
}

/** @param {Stand} stand */
function rowOf(job, stand, mark) {
  const { walking } = job;
  const name = job.name(stand.point);
  if (!stand.set) return { name, state: "open", stands: "", word: say("phone.truth.not-set") };
  const tolerance = walking.show(walking.document.yard.tolerance);
  const words = [say(stand.inside ? "phone.truth.inside" : "phone.truth.outside", { tolerance }), mark && say(`phone.truth.${madeWord(stand)}`)];
  return { name, state: stand.inside ? "done" : "over", stands: standsText(walking, stand), word: words.filter(Boolean).join(", ") };
}

function madeWord({ staked, marked }) {
  if (staked) return "staked";
  return marked ? "marked" : "flagged";
}

function standsText(walking, stand) {
  const [dx, dy] = offOf(stand);
  const where = [side(walking, dx, "left", "right"), side(walking, dy, "toward", "away")].filter(Boolean).join(", ");
  const known = stand.inside ? "stands-on" : "anywhere";
  return say(`phone.truth.${where ? "stands" : known}`, { where, within: walking.showDoubt(stand.within) });
}

function side(walking, off, minus, plus) {
  const amount = walking.show(Math.abs(off));
  return amount === walking.show(0) ? "" : say(`phone.truth.${off < 0 ? minus : plus}`, { amount });
}

function offOf({ plan, here }) {
  return [here[0] - plan[0], here[1] - plan[1]];
}

/** Rings as they are drawn, in inches of the yard: `times` as large, so that the farthest reach fills a third of the room between two marks. */
function picture(stands, marks, tolerance) {
  const set = stands.filter((stand) => stand.set);
  const reach = Math.max(tolerance, ...set.map((stand) => Math.hypot(...offOf(stand)) + stand.doubt));
  const most = room(marks.map((mark) => mark.plan)) / 3 / reach;
  const times = TIMES.find((one) => one <= most) ?? 1;
  const rings = stands.map((stand) => ({ ...stand, tolerance: times * tolerance, radius: times * stand.doubt, centre: stand.plan.map((at, axis) => at + times * (stand.here[axis] - at)) }));
  return { rings, scale: set.length === 0 ? say("phone.truth.no-rings") : say(times === 1 ? "phone.truth.scale-1" : "phone.truth.scale", { times }) };
}

/** The smallest distance between two of these places. */
function room(places) {
  const gaps = places.flatMap(([x, y], index) => places.slice(index + 1).map((other) => Math.hypot(other[0] - x, other[1] - y)));
  return Math.min(...gaps);
}
