// Rates in words, as they are told wherever they are.

import { day, near, percent, percents } from "./units.js";
import { ballsText } from "./words.js";

/**
 * rateText says a rate, the interval that holds it with 80 % probability, and the
 * balls it rests on: "58 % inside 5 ft (51 to 65 %), from 120 balls".
 */
export function rateText(rate) {
  return `${percent(rate.mean)} inside ${near(rate.radius_m)} (${percents(rate.interval_80.low, rate.interval_80.high)}), from ${ballsBehind(rate)}`;
}

function ballsBehind({ balls, elsewhere }) {
  if (elsewhere.length === 0) return ballsText(balls);
  const judged = elsewhere.map((e) => near(e.radius_m)).join(" and ");
  const others = elsewhere.reduce((sum, e) => sum + e.balls, 0);
  return balls ? `${ballsText(balls)} and ${others} judged at ${judged}` : `${ballsText(others)} judged at ${judged}`;
}

/** nextText says what the next session will bring, 4 times out of 5. */
export const nextText = (next) => `${percents(next.interval_80.low, next.interval_80.high)} of about ${ballsText(next.balls)} inside, 4 times out of 5`;

/** Days for which a change of the rules is told. */
const TOLD = 90;

/** changeText tells since when technique has not counted for a skill, or nothing once that is old. */
export function changeText({ technique_until: until, test_only: only }) {
  if (!until || Date.now() - Date.parse(until) > TOLD * 86_400_000) return "";
  return `Since ${day(until)} technique is not tested: balls in a row count in ${only ? "tests" : "warm-ups and tests"}. What was passed before stays passed.`;
}

/** sureText explains the ranges that stand in brackets. */
export const sureText = "A range in brackets holds the true figure with 80 % probability.";
