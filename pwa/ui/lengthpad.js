/** The pad of the job's units. */
import { DigitPad } from "./digitpad.js";
import { TapePad } from "./tapepad.js";

/** @param {{units: string, near: number, longest: number, amount?: boolean, first?: string}} want */
export function lengthPad(want) {
  return want.units === "inch" ? new TapePad(want) : new DigitPad(want);
}
