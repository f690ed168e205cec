// What the places of one session took, as a phone counts it without a network.

import { count } from "./units.js";

/** playedIn sums up the finished places of balls: { places, strokes, saved }. */
export function playedIn(balls) {
  const done = balls.filter((b) => b.strokes);
  return { places: done.length, strokes: done.reduce((n, b) => n + b.strokes, 0), saved: done.filter((b) => b.strokes <= 2).length };
}

/** playedText says what one session's places took, "" without any. */
export function playedText(balls) {
  const { places, strokes, saved } = playedIn(balls);
  return places ? `${count(places, "place")} played out in ${count(strokes, "stroke")}, ${saved} up and down.` : "";
}
