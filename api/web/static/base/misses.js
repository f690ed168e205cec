// The misses as a picture: the circle from above, seen from where it was played,
// with a petal for each way, as long as there are misses.

import { count } from "./units.js";
import { html } from "./ui.js";

const ways = { long: 270, right: 0, short: 90, left: 180 }; // degrees, clockwise from the right

/** missesOf counts how balls missed and were struck. */
export function missesOf(balls) {
  const counts = { short: 0, long: 0, left: 0, right: 0, thin: 0, fat: 0 };
  for (const b of balls) for (const word of [b.miss, b.contact]) if (word in counts) counts[word]++;
  return counts;
}

const spot = (degrees, r) => [100 + r * Math.cos((degrees * Math.PI) / 180), 100 + r * Math.sin((degrees * Math.PI) / 180)].map((n) => n.toFixed(1)).join(" ");

const RING = 30; // the circle, in the picture's units
const LONGEST = 44; // the petal of most misses

/** Misses draws counts, such as missesOf gives, and says the same; nothing where nothing was told. */
export function Misses({ counts }) {
  const told = Object.keys(ways).reduce((n, way) => n + (counts?.[way] ?? 0), 0);
  const most = Math.max(...Object.keys(ways).map((way) => counts?.[way] ?? 0));
  const struck = (counts?.thin ?? 0) + (counts?.fat ?? 0);
  if (!told && !struck) return null;
  const said = Object.keys(ways).filter((way) => counts[way]).map((way) => `${counts[way]} ${way}`).join(", ");
  return html`<figure class="misses">
    ${told > 0 && html`<svg viewBox="0 0 200 200" role="img" aria-label=${`Misses: ${said}`}>
      <circle class="misses-ring" cx="100" cy="100" r=${RING} /><circle class="misses-hole" cx="100" cy="100" r="4" />
      ${Object.entries(ways).map(([way, degrees]) => counts[way] > 0 && html`<path class="misses-petal" d=${`M ${spot(degrees - 40, RING + 3)} L ${spot(degrees, RING + 3 + (LONGEST * counts[way]) / most)} L ${spot(degrees + 40, RING + 3)} Z`} />`)}
      ${Object.entries(ways).map(([way, degrees]) => html`<text x=${spot(degrees, 88).split(" ")[0]} y=${spot(degrees, 88).split(" ")[1]}>${counts[way]} ${way}</text>`)}
    </svg>`}
    <figcaption>${told > 0 && html`${count(told, "miss", "misses")} with a direction. ${counts.lean ?? ""} `}${struck > 0 && `${counts.thin} thin, ${counts.fat} fat.`}</figcaption>
  </figure>`;
}
