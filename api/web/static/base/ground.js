// Where to land a ball and where it stops, from the service's table: read between its
// entries as domain/greenside reads it, without a network.

/** A pace, and about the length of a club, in metres: common practice, no source. */
export const PACE = 0.9;

/** Bounds of a reading of the stimpmeter, in feet. */
export const SLOWEST = 4;
export const FASTEST = 16;

/** What slow, medium and fast read at a club, in feet: common practice, no source. */
export const speeds = [[8, "Slow"], [9, "Medium"], [10, "Fast"]];

/** The slopes to choose from, in degrees along the shot. */
export const slopes = [[-2, "Down"], [-1, "A little down"], [0, "Level"], [1, "A little up"], [2, "Up"]];

/** greenText says how a green runs: "9 ft, a little down". */
export const greenText = ({ stimp_ft, slope_deg = 0 }) =>
  `${Math.round(stimp_ft * 10) / 10} ft, ${slopes.reduce((a, b) => (Math.abs(b[0] - slope_deg) < Math.abs(a[0] - slope_deg) ? b : a))[1].toLowerCase()}`;

const linear = (a, b, part) => a * (1 - part) + b * part;
const harmonic = (a, b, part) => (a <= 0 || b <= 0 ? linear(a, b, part) : 1 / linear(1 / a, 1 / b, part));

function between(scale, x, mean, value) {
  const last = scale.length - 1;
  if (x <= scale[0]) return value(0);
  for (let i = 0; i < last; i++) if (x < scale[i + 1]) return mean(value(i), value(i + 1), (x - scale[i]) / (scale[i + 1] - scale[i]));
  return value(last);
}

/** at reads a row of numbers by the landing spots of a table. */
export const at = (table, row, carry) => between(table.carry_m, carry, linear, (i) => row[i]);

/** physicsRun is how far a ball runs by the table, in metres. */
export function physicsRun(table, carry, { stimp_ft, slope_deg = 0 }) {
  const inverse = table.stimp_ft.map((s) => -1 / s);
  return between(table.carry_m, carry, linear, (c) =>
    between(inverse, -1 / stimp_ft, harmonic, (i) => between(table.slope_deg, slope_deg, harmonic, (j) => table.run_m[c][i][j])));
}

/** run is how far the student's ball runs, in metres, once that was learned. */
export const run = (station, carry, green) => physicsRun(station.table, carry, green) * (station.learned?.run_factor ?? 1);

/** How far from the spot eight balls in ten land at most, as a share of the carry: the usual spread in domain/greenside. */
const LANDS = 1.28 * 0.08;

/** spreadOf is between which distances eight balls in ten stop that land about a spot, in metres: those that land short stop short. */
export const spreadOf = (station, carry, green) => [-LANDS, LANDS].map((by) => carry * (1 + by) + run(station, carry * (1 + by), green));

/** aim is where the student is to aim to land a ball at a spot. */
export const aim = (station, carry) => carry / (station.learned?.carry_factor ?? 1);

/** How far away a ball of a greenside shot stops at most, in metres: about across a large green (our choice). */
const LONGEST = 40;

/** The spots looked at, in half paces as far as the table goes. */
const spots = ({ table }) => Array.from({ length: Math.floor((2 * table.carry_m.at(-1)) / PACE) - 1 }, (_, i) => ((i + 2) * PACE) / 2);

/** stopping is the spot from which a club's balls stop so many metres away, or null. */
export const stopping = (station, metres, green) => spots(station).find((c) => c + run(station, c, green) >= metres) ?? null;

/**
 * half is the spot at which a club is half carry and half roll, or null when no shot
 * around the green is: the more it is hit, the greater is the part it carries.
 */
export function half(station, green) {
  const spot = spots(station).find((c) => c >= run(station, c, green));
  if (spot === undefined || spot + run(station, spot, green) > LONGEST) return null;
  return spot === PACE && run(station, spot, green) < 0.75 * spot ? null : spot;
}

/** paces says a distance in paces: "6", "6½". */
export function paces(metres) {
  const n = Math.round((2 * metres) / PACE) / 2;
  return `${n < 0 ? "−" : ""}${Math.floor(Math.abs(n)) || (n % 1 ? "" : "0")}${n % 1 ? "½" : ""}`;
}

/** lieOf is what of fairway, rough and sand a programme's words for a lie come to. */
export const lieOf = (words = "") => (/rough/i.test(words) ? "rough" : /bunker|sand/i.test(words) ? "sand" : "fairway");

/** stationsOf are the clubs of a drill from its first lie, of those that a now has. */
export function stationsOf(now, drill = {}) {
  const lie = lieOf(drill.lies?.[0]);
  return (drill.clubs ?? []).map((club) => now?.stations?.find((s) => s.name === club && s.lie === lie)).filter(Boolean);
}

/** How far away a spot is at most where a drill says no distance, in paces: a short pitch (our choice). */
const SHORT = 8;

/** usualSpot is where to land the balls of a drill: so that the club in the middle stops at its distance. */
export function usualSpot(stations, drill, green) {
  const middle = stations[Math.floor((stations.length - 1) / 2)];
  const whole = drill.distances_m?.length === 1 ? stopping(middle, drill.distances_m[0], green) : Math.min(SHORT * PACE, half(middle, green) ?? Infinity);
  return Math.max(PACE, Math.round((whole ?? SHORT * PACE) / PACE) * PACE);
}

/** The deceleration of a rolling ball on a green of a reading in feet, in m/s²: 1.83² / (2 · reading). */
const slowing = (feet) => (1.83 * 1.83) / (2 * feet * 0.3048);

/** greenOf is the green on which two rolls of a stimpmeter are so long, in feet, or null: Brede 1990, as in domain/greenside. */
export function greenOf(up, down) {
  if (!(up >= 1 && down >= up)) return null;
  const stimp = (2 * up * down) / (up + down);
  const slope = (Math.asin((slowing(up) - slowing(down)) / 2 / ((5 / 7) * 9.80665)) * 180) / Math.PI;
  return stimp >= SLOWEST && stimp <= FASTEST && slope <= 2 ? { stimp_ft: Math.round(stimp * 10) / 10, slope_deg: Math.round(slope) } : null;
}
