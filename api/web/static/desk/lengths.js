// Lengths as a coach types them: "5 ft", "12 yd", "1.5 m", or a bare number in
// the usual unit of the field.

import { units } from "../base/settings.js";
import { number } from "../base/units.js";

const FOOT = 0.3048;
const metresIn = { m: 1, ft: FOOT, yd: 3 * FOOT };

/** usual is the unit of a bare number: long for the distance to a hole, else for a radius. */
const usual = (long, system) => (system === "metres" ? "m" : long ? "yd" : "ft");

/** parseLength reads a length as metres, to a tenth of a millimetre; null when it is none. */
export function parseLength(text, long = false, system = units.value) {
  const m = /^(\d{1,5}(?:[.,]\d{1,6})?)\s*(m|ft|yd)?$/i.exec(text.trim());
  if (!m) return null;
  const metres = Number(m[1].replace(",", ".")) * metresIn[(m[2] ?? usual(long, system)).toLowerCase()];
  return Math.round(metres * 10_000) / 10_000;
}

/** writeLength writes metres so that parseLength reads the same again, in the reader's unit where that is short. */
export function writeLength(metres, long = false, system = units.value) {
  const order = system === "metres" ? ["m"] : long && metres >= 30 * FOOT - 0.001 ? ["yd", "ft"] : ["ft", "yd"];
  for (const unit of order) {
    const n = metres / metresIn[unit];
    const text = number(n, 2);
    if (Math.abs(Number(text) * metresIn[unit] - metres) < 0.000_06) return `${text} ${unit}`;
  }
  return `${number(metres, 4)} m`;
}

/** parseLengths reads lengths separated by commas or semicolons; a unit may stand once, at the end. */
export function parseLengths(text, system = units.value) {
  const parts = text.split(/[;,]\s+|;|,(?!\d)/).map((p) => p.trim()).filter(Boolean);
  const unit = /(m|ft|yd)$/i.exec(parts.at(-1) ?? "")?.[1] ?? "";
  const lengths = parts.map((p) => parseLength(/(m|ft|yd)$/i.test(p) ? p : p + unit, true, system));
  return lengths.includes(null) ? null : lengths;
}

/** writeLengths writes what parseLengths reads, in one unit where all are whole in it. */
export function writeLengths(list, system = units.value) {
  const far = Math.max(...list) >= 20 * metresIn.yd;
  const unit = (system === "metres" ? ["m"] : far || list.every((m) => m >= 10 * metresIn.yd - 0.001) ? ["yd", "ft"] : ["ft", "yd"]).find((u) => list.every((m) => whole(m / metresIn[u])));
  if (!unit || list.length === 0) return list.map((m) => writeLength(m, true, system)).join(", ");
  return `${list.map((m) => number(m / metresIn[unit])).join(", ")} ${unit}`;
}

const whole = (n) => Math.abs(n - Math.round(n)) < 0.000_1;

/** parseWords reads words separated by commas. */
export const parseWords = (text) => text.split(",").map((w) => w.trim()).filter(Boolean);

/** writeWords writes what parseWords reads. */
export const writeWords = (list) => list.join(", ");
