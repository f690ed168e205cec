// What was changed for one student on top of the programme: in words, with the way
// back.

import { useLoad } from "../base/load.js";
import { count, day, fars, near } from "../base/units.js";
import { kindName, tierText } from "../base/words.js";
import { Button, html, useSend, useState, Wrong } from "../base/ui.js";
import { endAdjustment } from "./act.js";
import { AdjustDialog } from "./adjustdialog.js";
import { useKeptFocus } from "./parts.js";

const words = {
  step: (a) => (a.begins ? `begins with ${tierText(a.tier)}` : `${tierText(a.tier)}, until passed`),
  radius: (a) => `drills inside ${near(a.radius_m)}`,
  distance: (a) => (a.distance_percent ? `drills from closer in, at ${a.distance_percent} % of their distances` : `drills from ${fars(a.distances_m)}`),
  shares: (a) => `time: ${a.shares.map((s) => `${kindName(s.kind).toLowerCase()} ${s.share} %`).join(", ")}`,
  earlier_skill: () => "warm-up with this skill",
  minutes: (a) => `at most ${a.minutes} minutes a session`,
  sessions: (a) => `${count(a.sessions_per_week, "session")} a week`,
};

/** adjustmentText says an adjustment: "Pitch: 10 in a row inside 3 ft, until passed". */
export function adjustmentText(a, skillName) {
  const text = words[a.kind]?.(a) ?? a.kind;
  return skillName ? `${skillName}: ${text}` : `${text[0].toUpperCase()}${text.slice(1)}`;
}

const whenText = (a) => `from ${day(a.from)}${a.until ? ` to ${day(a.until)}` : ""}`;

/** useAdjustments reads a student's adjustments. */
export const useAdjustments = (id) => useLoad(`/v1/students/${id}/adjustments`);

/**
 * Adjustments lists what stands for a student, with undo, and what was ended, folded.
 * all is what useAdjustments gave; skills are the student's, to name them; open says
 * that there is a programme to change; onChange reads again what depends on them.
 */
export function Adjustments({ student, skills, all, open, onChange }) {
  const [ref, heading] = useKeptFocus();
  const [asking, ask] = useState(false);
  const items = all.body?.items ?? [];
  if (items.length === 0 && !open) return null;
  const now = items.filter((a) => !a.ended_at);
  const ended = items.filter((a) => a.ended_at);
  const name = (a) => skills.find((s) => s.skill_id === a.skill_id)?.name;
  return html`<section ref=${ref}><h2 ref=${heading} tabindex="-1">Changed for ${student.name}</h2>
    ${now.length === 0 ? html`<p>Nothing: the programme is as published.</p>` : html`<ul class="plain">${now.map((a) => html`<li key=${a.id}><${Standing} adjustment=${a} text=${adjustmentText(a, name(a))} onUndone=${onChange} /></li>`)}</ul>`}
    ${open && html`<p><${Button} onClick=${() => ask(true)}>Change something</${Button}></p>`}
    ${asking && html`<${AdjustDialog} student=${student} skills=${skills} onClose=${(done) => (ask(false), done && onChange())} />`}
    ${ended.length > 0 && html`<details class="panel"><summary>Ended: ${ended.length}</summary><ul class="plain">${ended.map((a) => html`<li key=${a.id}>${adjustmentText(a, name(a))}, ended ${day(a.ended_at)}</li>`)}</ul></details>`}</section>`;
}

/** Standing is an adjustment that stands, in words, with undo. */
export function Standing({ adjustment, text, onUndone }) {
  const undo = useSend(async () => {
    await endAdjustment(adjustment.id);
    onUndone();
  });
  return html`<p>${text}, ${whenText(adjustment)}${adjustment.text ? `: “${adjustment.text}”` : "."} <${Button} kind="quiet" busy=${undo.busy} aria-label=${`Undo: ${text}`} onClick=${undo.run}>Undo</${Button}></p><${Wrong} problem=${undo.problem} />`;
}
