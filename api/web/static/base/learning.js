// What a student passed, and what of it is held; first balls of the day; and quiet
// tests, with the word of both sides.

import * as api from "./api.js";
import { refreshed, useLoad } from "./load.js";
import { count, day, percent } from "./units.js";
import { tierText } from "./words.js";
import { Button, html, useSend, Wrong } from "./ui.js";

const pathOf = (student) => `/v1/students/${student}/learning`;

/**
 * Learning shows it all; side is who reads: "student", "guardian" or "coach", and junior
 * says that a guardian speaks for the student.
 */
export function Learning({ student, side, junior }) {
  const learning = useLoad(pathOf(student));
  const { body } = learning;
  if (!body) return null;
  const skills = body.skills.filter((s) => s.steps.length > 0 || s.cold.days > 0);
  return html`
    ${skills.length > 0 && html`<section><h2>Passed and held</h2>
      <p>Balls in a row after half an hour show what ${side === "student" ? "you" : "a student"} can do that day. What was learned shows later, with cold balls. A step is <strong>passed</strong> in practice; it is <strong>held</strong> when ten first balls of a day, a week or more later, bear it out.</p>
      ${skills.map((s) => html`<div key=${s.skill_id}><h3>${s.name}</h3>
        <p>${s.steps.length > 0 && html`<strong>${heldText(s)}</strong> `}${s.cold.text}</p>
        ${s.steps.length > 0 && html`<details><summary>Step by step<span class="unseen">, ${s.name}</span></summary><ul class="plain">${s.steps.map((step) => html`<li><strong>${tierText(step.tier)}:</strong> ${stepText(step)}</li>`)}</ul></details>`}</div>`)}
      <details><summary>How sure is that?</summary>
        <p>A step that is not held yet stays passed; another retest comes two to four weeks later. Ten balls are few: of simulated students whose gain was warm-up alone, 8 % were called held after two retests and 11 % after four; of those who had really gained, 47 % and 32 % were not held yet.</p>
        <p>In studies of movement, success in practice was a poor guide to what was kept: Schmidt and Bjork 1992, Kantak and Winstein 2012, Soderstrom and Bjork 2015. How well ten chips show it has not been studied.</p>
      </details></section>`}
    ${(side !== "guardian" || junior) && html`<${Quiet} student=${student} side=${side} junior=${junior} quiet=${body.quiet_tests} />`}`;
}

/** heldText sums up a skill's steps: how many are held, and whether a retest is due. */
export function heldText({ steps, retest_due: due }) {
  const held = steps.filter((s) => s.held_at).length;
  const all = held === steps.length;
  return `${count(steps.length, "step")} passed, ${all ? (held === 1 ? "and held" : "all held") : held ? `${held} held` : "none held yet"}${due ? "; a retest is due" : ""}.`;
}

/** stepText says what is known of a step that was passed. */
export function stepText({ passed_at: passed, held_at: held, retests, balls, inside, due_at: due }) {
  const cold = retests ? `${inside} of ${balls} cold balls inside` : "";
  if (held) return `passed ${day(passed)}, held ${day(held)}${cold ? ` (${cold})` : ", with a harder step"}.`;
  const next = due && (Date.parse(due) <= Date.now() ? "a retest is due" : `next retest from ${day(due)}`);
  return `passed ${day(passed)}, not held yet: ${cold || "not tried cold so far"}${next ? `; ${next}` : ""}.`;
}

/** Quiet is what quiet tests tell, and the word on them. */
export function Quiet({ student, side, junior, quiet }) {
  const own = quiet[side];
  // A junior says no to what a guardian agreed to, and takes that back.
  const yes = side === "student" && junior ? Boolean(quiet.guardian?.agrees && own?.agrees !== false) : own?.agrees ?? false;
  const say = useSend(async () => {
    await api.put(`/v1/students/${student}/quiet-tests`, { agrees: !yes });
    await refreshed(pathOf(student));
  });
  const tested = quiet.shown.tests + quiet.hidden.tests > 0;
  const mayAgree = side !== "student" || !junior || own?.agrees === false;
  return html`<section class="screen-only"><h2>Quiet tests</h2>
    <p>In a quiet test the balls in a row and the chance are hidden. Half of the tests are drawn for it by lot, so that the others show what watching the count does.${tested || quiet.agreed ? "" : " It takes the student, or a junior's guardian, and a coach; either may stop it at any time."}</p>
    ${tested && html`<p><strong>${quiet.text}</strong> ${armText("Shown", quiet.shown)} ${armText("Hidden", quiet.hidden)}</p>`}
    <p>${standsText(quiet, side, junior)}</p>
    ${(yes || mayAgree) && html`<p><${Button} busy=${say.busy} onClick=${say.run}>${yes ? "Stop quiet tests" : "Agree to quiet tests"}</${Button}></p>`}
    <${Wrong} problem=${say.problem} /></section>`;
}

const armText = (name, { tests, balls, inside }) => `${name}: ${count(tests, "test")}${balls ? `, ${percent(inside / balls)} of ${balls} balls inside` : ""}.`;

/** standsText says who agreed. */
export function standsText({ agreed, student, guardian, coach }, side, junior) {
  if (agreed) return "Both sides agree: tests are drawn.";
  if (junior && student?.agrees === false) return `${side === "student" ? "You have" : "The junior has"} said no: no test is drawn.`;
  const learner = { student: "You have", coach: "The student's side has", guardian: "You have" }[side];
  const teacher = side === "coach" ? "A coach has" : "Your coach has";
  const one = (junior ? guardian : student)?.agrees ? (junior && side === "student" ? "Your guardian has" : learner) : coach?.agrees ? (side === "guardian" ? "The coach has" : teacher) : "";
  return one ? `${one} agreed; the other side has not yet.` : "Nobody has agreed yet.";
}
