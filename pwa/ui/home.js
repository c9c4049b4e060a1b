/** How to put Yardtrue on the home screen: the browser's own question where there is one, a short text where not. */
import { key, make } from "./element.js";
import { say } from "./sayings.js";

/** @type {any} */
let prompt = null;
const places = new Set();

window.addEventListener("beforeinstallprompt", (event) => {
  event.preventDefault();
  prompt = event;
  places.forEach(fill);
});

/** Fill a place with the way to the home screen. */
export function homeScreen(place) {
  places.add(place);
  fill(place);
}

function fill(place) {
  if (matchMedia("(display-mode: standalone)").matches) return place.replaceChildren();
  const way = prompt ? key(say("phone.home.add"), () => prompt.prompt(), { class: "key wide" }) : make("p", {}, say("phone.home.how"));
  return place.replaceChildren(make("h2", {}, say("phone.home")), make("p", {}, say("phone.home.why")), way);
}
