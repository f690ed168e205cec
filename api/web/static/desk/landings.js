// The balls of a session of which the student said where they landed and stopped.

import { Table } from "../base/chart.js";
import { inUnit, number, unitName } from "../base/units.js";
import { ballsText } from "../base/words.js";
import { html } from "../base/ui.js";

/** byClub gathers landings by club, in the order in which the clubs were first played. */
export function byClub(landings) {
  const clubs = new Map();
  for (const x of landings) clubs.set(x.club, [...(clubs.get(x.club) ?? []), x]);
  return [...clubs];
}

/** pairText says where a ball landed and stopped, in the reader's unit: "26 → 51". */
export const pairText = ({ carry_m: carry, total_m: total }) => `${far(carry)} → ${far(total)}`;

const far = (metres) => number(inUnit(metres), unitName() === "ft" ? 0 : 1);

/** aimText says where the balls were to land: "20", or "20 to 33" when that changed. */
export function aimText(landings) {
  const aims = landings.map((x) => x.aim_m).filter(Boolean);
  const texts = [...new Set([Math.min(...aims), Math.max(...aims)].map(far))];
  return aims.length ? texts.join(" to ") : "–";
}

/** greenText says how the green was: "9 ft on the stimpmeter, 1° downhill". */
export function greenText({ stimp_ft: stimp, slope_deg: slope }) {
  const way = slope ? `${number(Math.abs(slope), 1)}° ${slope > 0 ? "uphill" : "downhill"}` : "level";
  return `${number(stimp, 1)} ft on the stimpmeter, ${way}`;
}

/** Landings lists them, a row a club; nothing without one. */
export function Landings({ session: { landings = [], green } }) {
  if (landings.length === 0) return null;
  return html`<section class="session-block"><h2>Where balls landed and stopped</h2>
    <p>${ballsText(landings.length)} logged${green ? `; the green: ${greenText(green)}` : ""}.</p>
    <${Table} caption=${`Landed → stopped, in ${unitName()} from the ball`} columns=${["Club", "To land at", "Landed → stopped, in order"]}
      rows=${byClub(landings).map(([club, balls]) => [club, aimText(balls), balls.map(pairText).join(" · ")])} /></section>`;
}
