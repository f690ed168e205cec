// The shot from the side, to scale: the ball, the landing spot, the roll, and where
// each club stops.

import { html } from "./ui.js";
import { at, PACE, paces, run, spreadOf } from "./ground.js";
import { clubText } from "./words.js";

const W = 340; // of the drawing, in its own units
const EDGE = 12;

/** How many times as steep a slope is drawn, or nobody would see it. */
const STEEPER = 4;

/** slopeText says so under the drawing; nothing of a level green. */
const slopeText = (deg) => (deg ? `${deg > 0 ? "Rises" : "Falls"} ${Math.abs(deg)}°, drawn ${STEEPER} times as steep.` : "");

/**
 * Side draws the clubs' shots to one spot, carry metres away; with left, as one who
 * plays left-handed sees it. Up and along have one scale, but for the slope. The green
 * begins a pace before the spot, which is as late as it may; bands are where eight balls
 * in ten stop, and hole is how far away it is; where no distance is set, the flag is
 * where the club in the middle stops.
 */
export function Side({ stations, carry, green, left, hole }) {
  const shots = stations.map((s, i) => ({
    name: s.name, i, apex: at(s.table, s.table.apex_m, carry), stop: carry + run(s, carry, green), stops: spreadOf(s, carry, green),
  }));
  const middle = shots[Math.floor((shots.length - 1) / 2)];
  const flag = hole ?? middle.stop;
  const far = Math.max(carry, flag, ...shots.map((s) => s.stops[1])) * 1.04;
  const scale = (W - 2 * EDGE) / far;
  const edge = Math.max(0, carry - PACE);
  const { slope_deg: slope = 0 } = green;
  const rise = (m) => Math.max(0, m - edge) * Math.tan((STEEPER * slope * Math.PI) / 180) * scale;
  const high = Math.max(...shots.map((s) => s.apex)) * scale;
  const ground = Math.max(34, high + 10, rise(far) + 26);
  const x = (m) => (left ? W - EDGE - m * scale : EDGE + m * scale);
  const y = (m) => ground - rise(m);
  const low = Math.max(ground, y(far)); // what is written stands below all of the ground
  // Labels under the ground, each on a line of its own where two would meet.
  const lines = [];
  const ordered = shots.toSorted((a, b) => a.stop - b.stop);
  const lineOf = new Map(ordered.map((s) => {
    let line = lines.findIndex((end) => Math.abs(x(s.stop) - end) > 46);
    if (line < 0) line = lines.length;
    lines[line] = x(s.stop);
    return [s.i, line];
  }));
  const height = low + 40 + 15 * Math.max(0, lines.length - 1);
  const told = ordered.map((s) => `${clubText(s.name)} stops at ${paces(s.stop)} paces`).join(", ");
  const along = (a, b, up) => `M${x(a)} ${y(a) - up}L${x(b)} ${y(b) - up}`;
  return html`<figure class="side-figure"><svg class="side" viewBox=${`0 0 ${W} ${height}`} role="img" aria-label=${`The shots from the side: land the ball at ${paces(carry)} paces; ${told}`}>
    <path class="side-fringe" d=${`M${left ? W : 0} ${ground}H${x(edge)}`} />
    <path class="side-ground" d=${`M${x(edge)} ${ground}L${x(far)} ${y(far)}`} />
    <path class="side-edge" d=${`M${x(edge)} ${ground - 6}v12`} />
    <path class="side-flag" d=${`M${x(flag)} ${y(flag)}v-22l9 4l-9 4`} />
    ${shots.map((s) => html`<path class=${`side-flight club-${s.i % 4}`} d=${`M${x(0)} ${ground}Q${(x(0) + x(carry)) / 2} ${ground - 2 * s.apex * scale} ${x(carry)} ${y(carry)}`} />
      <path class="side-spread" d=${along(...s.stops, 2 + s.i * 3)} />
      <path class=${`side-roll club-${s.i % 4}`} d=${along(carry, s.stop, 2 + s.i * 3)} />
      <circle class="side-ball" cx=${x(s.stop)} cy=${y(s.stop) - 2 - s.i * 3} r="3.5" />
      <text class="side-text" text-anchor="middle" x=${Math.min(W - 20, Math.max(20, x(s.stop)))} y=${low + 34 + 15 * lineOf.get(s.i)}>${letter(s.i)} ${paces(s.stop)}</text>`)}
    <path class="side-spot" d=${`M${x(carry)} ${y(carry) - 5}v10`} />
    <text class="side-text strong" text-anchor="middle" x=${x(carry)} y=${low + 18}>land ${paces(carry)}</text>
    <circle class="side-ball at" cx=${x(0)} cy=${ground - 3} r="3.5" />
  </svg><figcaption class="small">Green from ${paces(edge)} paces. ${hole ? "" : `Flag: where ${letter(middle.i)} stops. `}Wide lines: 8 balls in 10. ${slopeText(slope)}</figcaption></figure>`;
}

/** letter names a club in a drawing: A, B, C. */
export const letter = (i) => String.fromCharCode(65 + i);
