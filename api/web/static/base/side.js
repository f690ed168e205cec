// The shot from the side, to scale: the ball, the landing spot, the roll, and where
// each club stops.

import { html } from "./ui.js";
import { at, paces, run } from "./ground.js";
import { clubText } from "./words.js";

const W = 340; // of the drawing, in its own units
const EDGE = 12;

/**
 * Side draws the clubs' shots to one spot, carry metres away; with left, as one who
 * plays left-handed sees it. Up and along have one scale.
 */
export function Side({ stations, carry, green, left }) {
  const shots = stations.map((s, i) => ({ name: s.name, i, apex: at(s.table, s.table.apex_m, carry), stop: carry + run(s, carry, green) }));
  const far = Math.max(carry, ...shots.map((s) => s.stop)) * 1.04;
  const scale = (W - 2 * EDGE) / far;
  const high = Math.max(...shots.map((s) => s.apex)) * scale;
  const ground = Math.max(34, high + 10);
  const x = (m) => (left ? W - EDGE - m * scale : EDGE + m * scale);
  // Labels under the ground, each on a line of its own where two would meet.
  const lines = [];
  const ordered = shots.toSorted((a, b) => a.stop - b.stop);
  const lineOf = new Map(ordered.map((s) => {
    let line = lines.findIndex((end) => Math.abs(x(s.stop) - end) > 46);
    if (line < 0) line = lines.length;
    lines[line] = x(s.stop);
    return [s.i, line];
  }));
  const height = ground + 40 + 15 * Math.max(0, lines.length - 1);
  const told = ordered.map((s) => `${clubText(s.name)} stops at ${paces(s.stop)} paces`).join(", ");
  return html`<svg class="side" viewBox=${`0 0 ${W} ${height}`} role="img" aria-label=${`The shots from the side: land the ball at ${paces(carry)} paces; ${told}`}>
    <path class="side-ground" d=${`M0 ${ground}H${W}`} />
    ${shots.map((s) => html`<path class=${`side-flight club-${s.i % 4}`} d=${`M${x(0)} ${ground}Q${(x(0) + x(carry)) / 2} ${ground - 2 * s.apex * scale} ${x(carry)} ${ground}`} />
      <path class=${`side-roll club-${s.i % 4}`} d=${`M${x(carry)} ${ground - 2 - s.i * 3}H${x(s.stop)}`} />
      <circle class="side-ball" cx=${x(s.stop)} cy=${ground - 2 - s.i * 3} r="3.5" />
      <text class="side-text" text-anchor="middle" x=${Math.min(W - 20, Math.max(20, x(s.stop)))} y=${ground + 34 + 15 * lineOf.get(s.i)}>${letter(s.i)} ${paces(s.stop)}</text>`)}
    <path class="side-spot" d=${`M${x(carry)} ${ground - 5}v10`} />
    <text class="side-text strong" text-anchor="middle" x=${x(carry)} y=${ground + 18}>land ${paces(carry)}</text>
    <circle class="side-ball at" cx=${x(0)} cy=${ground - 3} r="3.5" />
  </svg>`;
}

/** letter names a club in a drawing: A, B, C. */
export const letter = (i) => String.fromCharCode(65 + i);
