// Days that go otherwise, in words.

import { count } from "./units.js";
import { clubText } from "./words.js";

const days = { short: "only 20 min", one_ball: "only one ball", rain: "rain" };
const surfaces = { mat: "chipping mat", carpet: "carpet", garden: "garden" };

/** dayText says what was otherwise on a session's day: "green closed: carpet"; empty when nothing was. */
export function dayText({ variant, surface }) {
  if (variant === "closed_green") return `green closed${surfaces[surface] ? `: ${surfaces[surface]}` : ""}`;
  return [days[variant], surfaces[surface] && `on: ${surfaces[surface]}`].filter(Boolean).join(", ");
}

/** bringText lists what to bring: "12 balls, 56° wedge, putter, 4 tees, string". */
export function bringText({ balls, soft_balls: soft, clubs, putter, tees, string, towel }) {
  return [
    count(balls, soft ? "soft practice ball" : "ball"), ...clubs.map(clubText), !clubs.length && !putter && "the club you play with",
    putter && "putter", tees > 0 && count(tees, "tee"), string && "string to measure the circle", towel && "towel",
  ].filter(Boolean).join(", ");
}
