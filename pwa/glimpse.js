/** The last step as it was seen, put up at once at the next start until the job itself is open. It decides nothing. */
import { make } from "./ui/element.js";
import { Plan } from "./ui/plan.js";
import { say } from "./ui/sayings.js";
import { Step } from "./ui/step.js";

const placeOf = (job) => `glimpse/${job}`;
const SOON = 300;

let waiting = 0;

/** Remember a step screen once it has been shown. A glimpse that cannot be kept is done without. */
export function keepGlimpse(job, view, drawing, look) {
  clearTimeout(waiting);
  waiting = window.setTimeout(() => {
    try {
      localStorage.setItem(placeOf(job), JSON.stringify({ view: textsOf(view), drawing, look }));
    } catch (fault) {
      console.warn(fault);
    }
  }, SOON);
}

/** The step screen as last seen, or null: its element, and what is tapped on it meanwhile. */
export function glimpseOf(job) {
  const kept = JSON.parse(localStorage.getItem(placeOf(job)) ?? "null");
  if (!kept) return null;
  const plan = new Plan(kept.drawing, say("phone.plan", { name: kept.view.job }));
  const step = new Step(plan);
  const glimpse = { element: step.element, tapped: "", same: (view) => sameTexts(view, kept.view) };
  step.addEventListener("tap", (event) => (glimpse.tapped = /** @type {CustomEvent} */ (event).detail));
  plan.look(kept.look);
  step.show({ ...kept.view, status: make("span", {}, say("phone.checking")) });
  return glimpse;
}

function sameTexts(view, seen) {
  return JSON.stringify(textsOf(view)) === JSON.stringify(seen);
}

function textsOf({ status, ...texts }) {
  return texts;
}
