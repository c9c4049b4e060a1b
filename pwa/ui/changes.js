/** What a newer plan changes, on one sheet, before it is taken: marks that moved, went or came, and what is to be done again. */
import { key, make, sentence } from "./element.js";
import { say } from "./sayings.js";

/** How a thing in the yard is told, by what has been done with it so far. */
const STANDS = { staked: "phone.revision.stake", marked: "phone.revision.mark", nail: "phone.revision.nail" };

/**
 * What changes for somebody who has walked so far.
 * @param {any} walking the walk as it is @param {any} then {document, math, state}: the newer plan, and the same entries folded by it
 * @param {{moved: any[], gone: any[], new: any[]}} between
 */
export function changesOf(walking, then, between) {
  const text = (message) => then.math.say.sentence(then.document.words, message, walking.units);
  const name = ({ name: { word, slots } }) => capital(text({ key: word, slots: slots ?? {} }));
  const rows = [
    ...between.moved.map((one) => ({ name: name(one), what: movedText(walking, one), todo: standsText(walking, one.point) })),
    ...between.gone.map((one) => ({ name: name(one), what: say("phone.revision.gone"), todo: standsText(walking, one.point) })),
    ...between.new.map((one) => ({ name: name(one), what: say("phone.revision.new"), todo: "" })),
  ];
  const done = new Set(walking.steps().filter(({ state }) => state !== "open").map(({ id }) => id));
  const again = then.math.walk.step_list(then.document, then.state).filter(({ id, state }) => state === "open" && done.has(id));
  return { rows, again: again.map(({ title }) => text(title)) };
}

function movedText({ units, math }, { dx, dy }) {
  const side = (off, minus, plus) => {
    const amount = math.tape.show(Math.abs(off), units);
    return amount === math.tape.show(0, units) ? "" : say(`phone.revision.${off < 0 ? minus : plus}`, { amount });
  };
  return [side(dx, "left", "right"), side(dy, "toward", "away")].filter(Boolean).join(", ");
}

/** What stands in the yard of a point, and what to do with it; "" where nothing was made yet. */
function standsText({ state, document }, point) {
  const mark = state.marks[point];
  if (mark) return say(mark.staked ? STANDS.staked : STANDS.marked);
  if (!(point in state.born)) return "";
  return say(document.yard.points[point].kind === "nail" ? STANDS.nail : STANDS.marked);
}

function capital(text) {
  return text.slice(0, 1).toUpperCase() + text.slice(1);
}

/** Show what changes; true when the newer plan is to be taken. @param {string} title @param {{rows: {name: string, what: string, todo: string}[], again: string[]}} changes */
export function showChanges(title, { rows, again }) {
  return new Promise((resolve) => {
    const close = (value) => {
      dialog.remove();
      resolve(value);
    };
    const list = make("ul", { class: "changes", tabindex: "0", "aria-labelledby": "changed" }, ...rows.map(row));
    const rest = again.length > 0 ? make("p", {}, make("b", {}, say("phone.revision.again")), " ", again.join(" · ")) : make("p", {}, say("phone.revision.nothing-again"));
    const keys = make("div", { class: "pair" }, key(say("phone.later"), () => close(false)), key(say("phone.revision.take"), () => close(true), { class: "key strong" }));
    const dialog = make("dialog", { class: "sheet changed", "aria-labelledby": "changed", oncancel: () => close(false) }, make("h2", { id: "changed" }, title), list, rest, make("p", { class: "note" }, say("phone.revision.keeps")), keys);
    document.body.append(dialog);
    dialog.showModal();
  });
}

function row({ name, what, todo }) {
  return make("li", {}, make("p", {}, make("b", {}, `${name}:`), " ", ...sentence(what)), todo && make("p", { class: "todo" }, todo));
}
