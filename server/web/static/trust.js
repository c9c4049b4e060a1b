// Does this phone trust the desk? A picture from the HTTPS address says so: it loads, or it does not.
const state = document.getElementById("state");
const again = document.getElementById("again");
const open = document.getElementById("open");
const RETRY = 2000; // ms between looks while the page is in front
let next = 0;

function show(name) {
  for (const part of state.querySelectorAll("[data-state]")) part.hidden = part.dataset.state !== name;
  open.hidden = name !== "trusted";
}

function loads(address) {
  return new Promise((resolve) => {
    const picture = new Image();
    picture.onload = () => resolve(true);
    picture.onerror = () => resolve(false);
    picture.src = `${address}?at=${Date.now()}`;
  });
}

// Why not: this phone's clock may be outside the certificate's days.
function reason() {
  const now = new Date();
  for (const clock of state.querySelectorAll(".clock")) clock.textContent = now.toISOString().slice(0, 10);
  if (now < new Date(state.dataset.begins)) return "early";
  return now < new Date(state.dataset.ends) ? "not-yet" : "late";
}

async function look() {
  clearTimeout(next);
  const trusted = await loads(state.dataset.seen);
  show(trusted ? "trusted" : reason());
  clearTimeout(next);
  if (!trusted) next = setTimeout(() => document.hidden || look(), RETRY);
}

again.addEventListener("click", (event) => {
  event.preventDefault();
  look();
});
document.addEventListener("visibilitychange", () => document.hidden || look());
look();
