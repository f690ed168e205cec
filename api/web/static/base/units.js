// Lengths, times and numbers as people read them. Everything is stored in
// metres, seconds and UTC; only this module turns it into words. A length keeps its
// number and its unit on one line.

import { phoneZone, settings, units, zone } from "./settings.js";

const FOOT = 0.3048;
const YARD = 3 * FOOT;

/** number writes a number with at most so many decimals and no more than it needs. */
export function number(value, decimals = 0) {
  return value.toLocaleString("en-GB", { maximumFractionDigits: decimals, useGrouping: false });
}

/** near writes a short length, a radius or a leave: "5 ft" or "1.5 m". */
export function near(metres, unit = units.value) {
  return unit === "feet" ? `${number(metres / FOOT, 1)}\u00a0ft` : `${number(metres, 2)}\u00a0m`;
}

/**
 * far writes a distance to the hole: "12 yd", "30 ft" when it is shorter than
 * ten yards, or "11 m".
 */
export function far(metres, unit = units.value) {
  if (unit !== "feet") return `${number(metres, metres < 10 ? 1 : 0)}\u00a0m`;
  return metres < 10 * YARD - 0.001 ? `${number(metres / FOOT)}\u00a0ft` : `${number(metres / YARD)}\u00a0yd`;
}

/**
 * fars writes several distances in one unit, which suits those beside them, too:
 * "26, 36 ft", or yards once one is 20 yd or longer.
 */
export function fars(list, unit = units.value, beside = list) {
  const ends = new Set([...list, ...beside].map((m) => far(m, unit).split("\u00a0")[1]));
  if (ends.size < 2) return list.length ? `${list.map((m) => far(m, unit).split("\u00a0")[0]).join(", ")}\u00a0${[...ends][0]}` : "";
  const [size, name] = Math.max(...list, ...beside) < 20 * YARD - 0.001 ? [FOOT, "ft"] : [YARD, "yd"];
  return `${list.map((m) => number(m / size)).join(", ")}\u00a0${name}`;
}

/** unitName is the short unit's name: "ft" or "m". */
export const unitName = (unit = units.value) => (unit === "feet" ? "ft" : "m");

/** toMetres reads a short length that a person typed in their unit. */
export const toMetres = (value, unit = units.value) => (unit === "feet" ? value * FOOT : value);

/** inUnit gives a short length in the reader's unit, as a number. */
export const inUnit = (metres, unit = units.value) => (unit === "feet" ? metres / FOOT : metres);

/** clock writes seconds as a clock does: "7:05", "1:02:30". */
export function clock(seconds) {
  const s = Math.max(0, Math.floor(seconds));
  const two = (n) => String(n).padStart(2, "0");
  const [h, m] = [Math.floor(s / 3600), Math.floor(s / 60) % 60];
  return h ? `${h}:${two(m)}:${two(s % 60)}` : `${m}:${two(s % 60)}`;
}

/** minutes writes seconds as whole minutes: "12 min", "under 1 min", "11 h 30 min". */
export function minutes(seconds) {
  const m = Math.round(seconds / 60);
  if (m === 0) return seconds > 0 ? "under 1 min" : "0 min";
  if (m < 120) return `${m} min`;
  return m % 60 ? `${Math.floor(m / 60)} h ${m % 60} min` : `${m / 60} h`;
}

/** span writes a stretch of time in words: "3 hours", "2 days". */
export function span(ms) {
  const abs = Math.abs(ms);
  const steps = [[86_400_000, "day"], [3_600_000, "hour"], [60_000, "minute"], [1_000, "second"]];
  const [unit, word] = steps.find(([unit]) => abs >= unit) ?? steps.at(-1);
  return count(Math.round(abs / unit), word);
}

/** count writes how many: "1 ball", "3 balls". */
export const count = (n, one, many = `${one}s`) => `${n} ${n === 1 ? one : many}`;

/** percent writes a chance or a share from 0 to 1; never 0 % or 100 % for what is neither. */
export function percent(p) {
  if (p > 0 && p < 0.005) return "under 1 %";
  if (p < 1 && p > 0.995) return "over 99 %";
  return `${Math.round(100 * p)} %`;
}

/** percents writes an interval: "52 to 71 %". */
export const percents = (lo, hi) => `${Math.round(100 * lo)} to ${Math.round(100 * hi)} %`;

/** lastSessions names the latest so many sessions: "Last session", "Last 4 sessions". */
export const lastSessions = (n) => (n === 1 ? "Last session" : `Last ${n} sessions`);

const formats = new Map();

function format(options) {
  const key = JSON.stringify(options);
  if (!formats.has(key)) formats.set(key, new Intl.DateTimeFormat("en-GB", options));
  return formats.get(key);
}

function parts(when, timeZone) {
  const found = format({ timeZone, year: "numeric", month: "2-digit", day: "2-digit", hour: "2-digit", minute: "2-digit", hourCycle: "h23" }).formatToParts(new Date(when));
  return Object.fromEntries(found.map((p) => [p.type, p.value]));
}

/**
 * day writes a date: "4 May 2026", or "2026-05-04" where the device is set to
 * dates in numbers. when is an instant, or a plain date "2026-05-04".
 */
export function day(when, timeZone = zone.value) {
  const plain = typeof when === "string" && when.length === 10;
  const inNumbers = plain ? when : isoDay(when, timeZone);
  if (settings.value.dates === "numbers") return inNumbers;
  return format({ timeZone: "UTC", day: "numeric", month: "short", year: "numeric" }).format(new Date(`${inNumbers}T00:00:00Z`));
}

/** isoDay is the local date of an instant, "2026-05-04". */
export function isoDay(when, timeZone = zone.value) {
  const p = parts(when, timeZone);
  return `${p.year}-${p.month}-${p.day}`;
}

/** time writes an instant's time of day: "17:30". */
export function time(when, timeZone = zone.value) {
  const p = parts(when, timeZone);
  return `${p.hour}:${p.minute}`;
}

/** dayTime writes both. */
export const dayTime = (when, timeZone) => `${day(when, timeZone)}, ${time(when, timeZone)}`;

/** dayTimeAt writes both as they were somewhere, and names the place where its clock differs: "4 May 2026, 17:30 (Tokyo)". */
export function dayTimeAt(when, timeZone) {
  const there = dayTime(when, timeZone);
  return there === dayTime(when) ? there : `${there} (${timeZone.split("/").at(-1).replaceAll("_", " ")})`;
}

/** awayZone is the device's time zone while its clock is not that of the member's, else undefined. */
export function awayZone(now = Date.now()) {
  const here = phoneZone();
  // A device that does not know where it is says Etc/Unknown.
  return here && here !== "Etc/Unknown" && dayTime(now, here) !== dayTime(now) ? here : undefined;
}
