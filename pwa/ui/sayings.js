/** The words of the phone, by key; lengths arrive as text already. */

/** @type {Record<string, string>} */
let words = {};

/** Fetch the words once; the worker answers when there is no signal. */
export async function learn() {
  const answer = await fetch("words.json");
  if (!answer.ok) throw new Error(`words.json: ${answer.status}`);
  words = await answer.json();
}

/**
 * @param {string} key
 * @param {Record<string, string|number>} [slots]
 */
export function say(key, slots = {}) {
  let text = words[key] ?? key;
  for (const [name, value] of Object.entries(slots)) text = text.replaceAll(`{${name}}`, String(value));
  return text;
}
