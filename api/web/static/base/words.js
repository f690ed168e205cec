// The words of the trade, as pages write them.

import { count, fars, near } from "./units.js";

const kinds = {
  warmup: ["Warm-up", "A skill of an earlier week, to warm up."],
  technique: ["Technique", "One spot, one club."],
  stations: ["Stations", "Several clubs, one landing spot."],
  random: ["Random", "A new lie, distance and club for every ball: one ball, one chance."],
  test: ["Test", "One spot: how many in a row?"],
  playout: ["Played out", "One ball from a new place each time, until it is holed."],
};

/** kinds of block, in the usual order of a session. */
export const blockKinds = Object.keys(kinds);

/** kindName is a block's kind as a heading. */
export const kindName = (kind) => kinds[kind]?.[0] ?? kind;

/** kindText says what a kind of block is for. */
export const kindText = (kind) => kinds[kind]?.[1] ?? "";

const outcomes = { out: "Out", in: "In", holed: "Holed" };

/** ballOutcomes are where a ball may finish, from the worst to the best. */
export const ballOutcomes = Object.keys(outcomes);

/** outcomeName is a ball's outcome as a label. */
export const outcomeName = (outcome) => outcomes[outcome] ?? outcome;

/** tierText says a tier: "9 in a row inside 5 ft, 1 of them holed". */
export function tierText(tier, unit) {
  const holed = tier.holed ? `, ${tier.holed} of them holed` : "";
  return tier.run === 1 ? `1 ball inside ${near(tier.radius_m, unit)}${tier.holed ? ", holed" : ""}` : `${tier.run} in a row inside ${near(tier.radius_m, unit)}${holed}`;
}

/** SEASON is how many sessions ahead are spoken of; nothing more exact is said of what lies beyond. */
export const SEASON = 30;

/**
 * waitText says how many sessions a tier takes, from a range whose ends are
 * missing when they are very far; pace adds the days.
 */
export function waitText({ low, high }, pace = "") {
  if (low == null || low > SEASON) return `more than ${SEASON} sessions`;
  if (high == null || high > SEASON) return `at least ${count(Math.round(low), "session")}, perhaps more than ${SEASON}`;
  const [a, b] = [Math.round(low), Math.round(high)];
  return `most likely ${a === b ? count(a, "session") : `${a} to ${b} sessions`}${pace}`;
}

/** runText says a run: "7, 1 holed". */
export const runText = (run) => `${run.length}${run.holed ? `, ${run.holed} holed` : ""}`;

/** clubText is a club's name: "9-iron", "56°", "sand wedge". */
export const clubText = (club) => (/^\d\d$/.test(club) ? `${club}°` : club.replace(/^(\d)( iron)?$/i, "$1-iron"));

/** taskText says what to play: "light rough · 12 yd · 56°", in the unit of the distances beside it. Empty parts are left out. */
export function taskText({ lie, distance_m, club }, unit, beside) {
  return [lie, distance_m ? fars([distance_m], unit, beside) : "", club && clubText(club)].filter(Boolean).join(" · ");
}

/** ballsText counts balls: "1 ball", "40 balls". */
export const ballsText = (n) => count(n, "ball");

const roles = { owner: "Owner", coach: "Coach", student: "Student", guardian: "Guardian" };

/** roleName is a member's role as a label. */
export const roleName = (role) => roles[role] ?? role;
