/** What an address means: #/, #/crew/TOKEN, #/job/ID, #/job/ID/step/STEP, each step with /read, /off or /move, #/job/ID/list, #/job/ID/truth. */

/** @typedef {{screen: "jobs"|"crew"|"step"|"read"|"off"|"move"|"list"|"truth", job: string, step: string, link?: string}} Route */

const PARTS = new Set(["read", "off", "move", "list", "truth"]);

/** @returns {Route} */
export function routeOf(hash) {
  const [, place, job, ...rest] = hash.replace(/^#/, "").split("/").map(decodeURIComponent);
  if (place === "crew" && job) return { screen: "crew", job: "", step: "", link: job };
  if (place !== "job" || !job) return { screen: "jobs", job: "", step: "" };
  const step = rest[0] === "step" ? (rest[1] ?? "") : "";
  const last = rest.at(-1) ?? "";
  const part = PARTS.has(last) && (rest[0] !== "step" || rest.length > 2);
  return { screen: /** @type {any} */ (part ? last : "step"), job, step };
}

/** @param {{job: string, step?: string, part?: string}} to */
export function hashOf({ job, step = "", part = "" }) {
  const pieces = ["#", "job", job, ...(step ? ["step", step] : []), ...(part ? [part] : [])];
  return pieces.map((piece, index) => (index === 0 ? piece : encodeURIComponent(piece))).join("/");
}

/** Where the last screen of a job is kept for the next start. */
export function glimpseKey(job) {
  return `glimpse/${job}`;
}
