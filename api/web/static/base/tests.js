// What first tests and end tests say of a student, for the coach's page and the
// student's own.

import { useLoad } from "./load.js";
import { count, day, near } from "./units.js";
import { ballsText } from "./words.js";
import { html } from "./ui.js";

/** testNames are the purposes as headings. */
export const testNames = { first_test: "First test", end_test: "End test" };

/** useTests reads a student's tests. */
export const useTests = (id) => useLoad(`/v1/students/${id}/tests`);

/** testText says a test: "First test on 3 May: 8 of 20 inside 4 ft." */
export const testText = (t) => `${testNames[t.purpose]} on ${day(t.day)}: ${t.inside} of ${t.balls} inside ${near(t.radius_m)}.`;

/** Measured is what was measured at a skill. */
export function Measured({ skill: { first, end, change, unfinished, warm } }) {
  return html`${change ? html`<p>${change.text}</p>` : [first, end].filter(Boolean).map((t) => html`<p>${testText(t)}</p>`)}
    ${unfinished && html`<p>${testNames[unfinished.purpose]} on ${day(unfinished.day)}: ${unfinished.balls} of ${ballsText(unfinished.balls + unfinished.left)}, ${unfinished.left} missing. A test is struck on one day; on another it begins anew.</p>`}
    ${warm && html`<p>${testNames[warm.purpose]} on ${day(warm.day)}: struck after other balls, so it is not compared.</p>`}`;
}

/** askedText says which tests a student is asked for: "First test of 20 balls each: Chip, Pitch." */
export function askedText(due) {
  const some = due.filter((d) => d.purpose === due[0].purpose);
  return `${testNames[due[0].purpose]} of ${count(20, "ball")} each: ${some.map((d) => d.skill_name).join(", ")}.`;
}
