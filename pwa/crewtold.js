/** What the crew does, in words: what is sent and what waits, and what was done on which phone. */
import { say } from "./ui/sayings.js";

/** Entries that are told, by kind: what each of them is about. */
const TOLD = { set: ({ point }) => [point], stake: ({ point }) => [point], move: ({ point }) => [point], reading: ({ from, to }) => [from, to], strike: () => [], way: () => [], after: () => [] };

export function isTold({ kind }) {
  return kind in TOLD;
}

/** What is sent and what waits, in one short line; nothing where there is no desk to send to. */
export function lineOf({ waiting, refused, reach }) {
  if (reach === "no desk") return "";
  if (reach === "shut") return say(waiting > 0 ? "phone.crew.line.shut" : "phone.crew.line.out", { waiting });
  if (waiting > 0 && reach === "no signal") return counted(waiting, "phone.crew.line.waits-1", "phone.crew.line.waits");
  if (waiting > 0) return counted(waiting, "phone.crew.line.sending-1", "phone.crew.line.sending");
  return refused.length > 0 ? counted(refused.length, "phone.crew.line.refused-1", "phone.crew.line.refused") : say("phone.crew.line.sent");
}

/** The same at length, and what to do about it: lines of one sentence each. */
export function standingOf(state) {
  if (!state || state.reach === "no desk") return [];
  const { waiting, refused, reach } = state;
  const shut = reach === "shut" ? say("phone.crew.shut") : "";
  const waits = waiting > 0 ? counted(waiting, "phone.crew.waits-1", "phone.crew.waits") : say("phone.crew.sent");
  const [why] = refused;
  const out = why ? `${counted(refused.length, "phone.crew.refused-1", "phone.crew.refused")} ${why.error.message}` : "";
  return [waits, shut, out].filter(Boolean).map((text) => [text]);
}

/** @param {number} count @param {string} one @param {string} many @param {Record<string, string>} [slots] */
function counted(count, one, many, slots = {}) {
  return count === 1 ? say(one, slots) : say(many, { ...slots, count });
}

/** Each other phone: how much came from it, then what it did last. */
export function othersOf(walking) {
  const others = [...new Set(walking.all.map(({ device }) => device))].filter((device) => device !== walking.device);
  return others.map((device) => otherOf(walking, device));
}

function otherOf(walking, device) {
  const its = walking.all.filter((entry) => entry.device === device);
  const last = its.findLast(isTold);
  const came = counted(its.length, "phone.crew.other-1", "phone.crew.other", { phone: phoneOf(walking, device) });
  return last ? [came, sentenceOf(walking, last)] : [came];
}

/** A phone's name as the field has it, by the order in which phones first wrote into the book. */
function phoneOf({ device, document, state }, other) {
  const name = other === device ? "this" : state.phones.indexOf(other) + 1;
  return document.words[`walk.phone.${name}`] ?? document.words["walk.phone.more"];
}

/** What an entry did, on which phone, when by that phone's clock. */
export function sentenceOf(walking, entry) {
  const slots = { phone: phoneOf(walking, entry.device), time: timeOf(entry.at) };
  const points = TOLD[entry.kind](entry);
  if (points.some((point) => !(point in walking.document.yard.points))) return say("phone.crew.entry", slots);
  const [what = "", to = ""] = points.map((point) => walking.name(point));
  return say(`phone.crew.did.${entry.kind}`, { ...slots, what, to });
}

/** The time of day, with the day where it is not today. */
function timeOf(at) {
  const when = new Date(at);
  if (Number.isNaN(when.getTime())) return say("phone.crew.no-time");
  const day = when.toDateString() === new Date().toDateString() ? {} : { month: "short", day: "numeric" };
  return when.toLocaleString(undefined, /** @type {any} */ ({ ...day, hour: "numeric", minute: "2-digit" }));
}
