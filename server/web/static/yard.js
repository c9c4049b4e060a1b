/** The yard renews itself while it is looked at: the same part of the page, asked for again every few seconds. */

const EVERY = 4000;
const status = document.getElementById("renewing");
const live = document.getElementById("live");

/** The part as the server has it now. Throws when there is no answer, or another page instead (who has to enter again). */
async function ask() {
  const answer = await fetch(status.dataset.part, { headers: { Accept: "text/html" }, redirect: "error" });
  if (!answer.ok) throw new Error(`${answer.status}`);
  return answer.text();
}

/** Put a fresh part in the place of the old, when something came; what was unfolded stays so. */
function put(text) {
  const old = live.querySelector(".live");
  const fresh = new DOMParser().parseFromString(text, "text/html").querySelector(".live");
  if (fresh.dataset.asOf === old.dataset.asOf) return;
  const open = [...old.querySelectorAll("details[open]")].map(({ id }) => id);
  for (const details of fresh.querySelectorAll("details")) details.open = open.includes(details.id);
  live.replaceChildren(document.adoptNode(fresh));
}

async function renew() {
  try {
    put(await ask());
    say(status.dataset.renews);
  } catch {
    say(status.dataset.late);
  }
}

/** Say it once: a line that did not change is not read out again. */
function say(text) {
  if (status.textContent !== text) status.textContent = text;
}

async function loop() {
  if (document.visibilityState === "visible") await renew();
  setTimeout(loop, EVERY);
}

document.addEventListener("visibilitychange", () => document.visibilityState === "visible" && renew());
loop();
