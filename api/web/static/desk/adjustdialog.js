// A coach's own change for one student: what, for how long, and in which words.

import { blockKinds, kindName } from "../base/words.js";
import { Field, html, useState } from "../base/ui.js";
import { unitName } from "../base/units.js";
import { adjust } from "./act.js";
import { parseLength, parseLengths } from "./lengths.js";
import { Ask, today } from "./parts.js";

/** What may be changed, and what is asked for each. */
const kinds = [
  ["step", "An extra step, until passed"], ["radius", "The circle of the drills"], ["distance", "The distances of the drills"],
  ["shares", "A kind of block's share of the time"], ["earlier_skill", "The earlier skill of the warm-up"], ["sessions", "Fewer sessions a week"], ["minutes", "Shorter sessions"],
];

/** AdjustDialog changes something for a student on top of the programme; onClose is told whether it did. */
export function AdjustDialog({ student, skills, onClose }) {
  const [form, set] = useState({ kind: "step", skill_id: skills[0]?.skill_id ?? "", from: today(), share_kind: "test" });
  const { kind } = form;
  const input = (name) => ({ value: form[name] ?? "", onInput: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  const choice = (name) => ({ as: "select", value: form[name], onChange: (e) => set({ ...form, [name]: e.currentTarget.value }) });
  const circle = html`<${Field} label=${`Circle (${unitName()})`} hint="Where a ball counts as in." required ...${input("circle")} />`;
  const give = () => adjust({ student_id: student.id, kind, text: form.text || undefined, ...asked(form) });
  return html`<${Ask} title=${`Change something for ${student.name}`} verb="Save" onDo=${give} onClose=${onClose}>
    <p>Only for ${student.name}, who sees it at once. You can undo it.</p>
    <${Field} label="What" ...${choice("kind")}>${kinds.map(([k, name]) => html`<option value=${k}>${name}</option>`)}</${Field}>
    ${!["shares", "sessions", "minutes"].includes(kind) && html`<${Field} label="Skill" ...${choice("skill_id")}>${skills.map((s) => html`<option value=${s.skill_id}>${s.name}</option>`)}</${Field}>`}
    ${kind === "step" && html`<div class="trio"><${Field} label="In a row" type="number" min="1" max="200" required ...${input("run")} />${circle}<${Field} label="Of them holed" type="number" min="0" max="200" ...${input("holed")} /></div>`}
    ${kind === "radius" && circle}
    ${kind === "distance" && html`<${Field} label="Distances to the hole" hint="Separate with commas; such as 10 yd, 15 yd." required ...${input("distances")} />`}
    ${kind === "shares" && html`<div class="pair"><${Field} label="Kind of block" ...${choice("share_kind")}>${blockKinds.map((k) => html`<option value=${k}>${kindName(k)}</option>`)}</${Field}>
      <${Field} label="Share in per cent" type="number" min="1" max="100" required ...${input("share")} /></div>`}
    ${kind === "sessions" && html`<${Field} label="Sessions a week, at most" type="number" min="1" max="14" required ...${input("sessions")} />`}
    ${kind === "minutes" && html`<${Field} label="Minutes a session, at most" type="number" min="5" max="240" required ...${input("minutes")} />`}
    ${kind !== "step" && html`<div class="pair"><${Field} label="From" type="date" required ...${input("from")} /><${Field} label="Until" hint="Empty: until you undo it." type="date" ...${input("until")} /></div>`}
    <${Field} as="textarea" label=${`What ${student.name} will read`} rows="3" maxlength="1000" ...${input("text")} /></${Ask}>`;
}

/** asked gives what the form asks for, as the API takes it. */
function asked({ kind, skill_id, run, circle, holed, distances, share_kind, share, sessions, minutes, from, until }) {
  const radius = () => parseLength(circle) ?? 0;
  const dates = { from, until: until || undefined };
  switch (kind) {
    case "step": return { skill_id, tier: { run: Number(run), radius_m: radius(), holed: Number(holed) || 0 } };
    case "radius": return { skill_id, radius_m: radius(), ...dates };
    case "distance": return { skill_id, distances_m: parseLengths(distances) ?? [], ...dates };
    case "shares": return { shares: [{ kind: share_kind, share: Number(share) }], ...dates };
    case "earlier_skill": return { skill_id, ...dates };
    case "minutes": return { minutes: Number(minutes), ...dates };
    default: return { sessions_per_week: Number(sessions), ...dates };
  }
}
