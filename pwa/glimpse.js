/** The last step as it was seen, put up at once at the next start until the job itself is open. It decides nothing. */
import { glimpseKey } from "./routes.js";
import { make } from "./ui/element.js";
import { Plan } from "./ui/plan.js";
import { say } from "./ui/sayings.js";
import { Step } from "./ui/step.js";

/** Remember a step screen, later. A glimpse that cannot be kept is done without. */
export async function keepGlimpse(job, view, plan) {
  const { later } = await import("./later.js");
  later("glimpse", () => {
    try {
      localStorage.setItem(glimpseKey(job), JSON.stringify({ view: textsOf(view), drawing: plan.seen }));
    } catch (fault) {
      console.warn(fault);
    }
  });
}

/**
 * What was last seen of a job, where something is kept. The drawing is made ready at once; `show` needs the words and gives the element.
 * `tapped` is what was tapped meanwhile; `same` tells whether a step's view says just what this one says.
 */
export function glimpseOf(job) {
  const kept = JSON.parse(localStorage.getItem(glimpseKey(job)));
  const plan = new Plan(kept.drawing);
  plan.draw();
  const glimpse = { tapped: "", same: (view) => sameTexts(view, kept.view), show: () => stepOf(plan, kept.view, glimpse) };
  return glimpse;
}

function stepOf(plan, view, glimpse) {
  const step = new Step(plan);
  step.addEventListener("tap", (event) => (glimpse.tapped = /** @type {CustomEvent} */ (event).detail));
  step.show({ ...view, status: make("span", { class: "both" }, make("span", {}, say("phone.checking"))) });
  return step.element;
}

function sameTexts(view, seen) {
  return JSON.stringify(textsOf(view)) === JSON.stringify(seen);
}

function textsOf({ status, ...texts }) {
  return texts;
}
