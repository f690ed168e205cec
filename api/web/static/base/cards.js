// A match on the same cards, dealt from its code alone, so that phones without a
// network deal alike: as domain/curriculum/cards.go has it, and testdata/matches.json
// holds both to it.

import { hash32 } from "./hash.js";

/** kinds are the shots of which matches are dealt, and sizes how many cards one may have. */
export const kinds = ["chip_and_run", "pitch", "bunker_shot", "lag_putt"];
export const sizes = [6, 9, 12, 18];

/** SEEDS bounds the seed of a match. */
export const SEEDS = 2 ** 30;

const drills = {
  chip_and_run: { lies: ["fringe", "fairway", "light rough"], distances: [7, 11, 16], clubs: ["9", "low wedge"], circle: 2 },
  pitch: { lies: ["fairway", "light rough"], distances: [18, 25, 34], clubs: ["middle wedge", "high wedge"], circle: 4 },
  bunker_shot: { lies: ["bunker", "bunker, uphill lie", "bunker, downhill lie"], distances: [8, 12, 17], clubs: ["high wedge"], circle: 3 },
  lag_putt: { lies: ["uphill", "downhill", "across the slope"], distances: [7, 10, 14], clubs: ["putter"], circle: 1 },
};

/** circleOf is the radius in metres that all play to unless each plays to their own. */
export const circleOf = (match) => drills[match.kind].circle;

/** tasksOf lists every card of a shot: { lie, distance_m, club }. */
export const tasksOf = (kind) => drills[kind].lies.flatMap((lie) => drills[kind].distances.flatMap((distance_m) => drills[kind].clubs.map((club) => ({ lie, distance_m, club }))));

/** cardsOf deals a match { kind, balls, own, seed }. */
export function cardsOf(match) {
  const tasks = tasksOf(match.kind);
  let state = hash32(codeOf(match)) | 1;
  const below = (n) => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return (state >>> 0) % n;
  };
  const swap = (i, j) => ([tasks[i], tasks[j]] = [tasks[j], tasks[i]]);
  const cards = [];
  while (cards.length < match.balls) {
    for (let i = tasks.length - 1; i > 0; i--) swap(i, below(i + 1));
    if (cards.length > 0 && cards.at(-1) === tasks[0]) swap(0, 1);
    cards.push(...tasks.slice(0, match.balls - cards.length));
  }
  return cards;
}

const DIGITS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ";
const LENGTH = 8;

const numberOf = ({ kind, balls, own, seed }) => ((kinds.indexOf(kind) * 4 + sizes.indexOf(balls)) * 2 + (own ? 1 : 0)) * SEEDS + seed;

function matchOf(number) {
  const head = Math.floor(number / SEEDS);
  return { kind: kinds[head >> 3], balls: sizes[(head >> 1) & 3], own: (head & 1) === 1, seed: number % SEEDS };
}

const check = (digits) => digits.reduce((sum, d, i) => sum + (2 * i + 1) * d, 0) & 31;

/** codeOf writes a match for people: "3K7M-Q2XD". */
export function codeOf(match) {
  const digits = [];
  for (let n = numberOf(match); digits.length < LENGTH - 1; n = Math.floor(n / 32)) digits.unshift(n % 32);
  const text = [...digits, check(digits)].map((d) => DIGITS[d]).join("");
  return `${text.slice(0, LENGTH / 2)}-${text.slice(LENGTH / 2)}`;
}

/** readCode gives the match of a code as people type it, or { wrong } with what is wrong with it. */
export function readCode(text) {
  const typed = text.toUpperCase().replace(/[\s-]/g, "").replace(/[IL]/g, "1").replaceAll("O", "0");
  const strange = [...typed].find((c) => !DIGITS.includes(c));
  if (strange) return { wrong: `No code has a ${strange}. Read it from the other phone again.` };
  if (typed.length !== LENGTH) return { wrong: `A code has ${LENGTH} characters; this has ${typed.length}.` };
  const digits = [...typed].map((c) => DIGITS.indexOf(c));
  if (check(digits.slice(0, -1)) !== digits.at(-1)) return { wrong: "A character is wrong. Read it from the other phone again." };
  return matchOf(digits.slice(0, -1).reduce((n, d) => n * 32 + d, 0));
}

/** idOf is the match's identity, which every phone makes of the code alike. */
export function idOf(match) {
  const hex = (numberOf(match) * 32).toString(16).padStart(10, "0");
  return `${hex.slice(0, 8)}-${hex.slice(8)}00-8000-8000-6d6174636873`;
}

/** newMatch makes a match with cards of chance. */
export const newMatch = (kind, balls, own) => ({ kind, balls, own, seed: crypto.getRandomValues(new Uint32Array(1))[0] % SEEDS });
