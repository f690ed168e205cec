// A block of a plan, with its drill.

import { blockKinds, kindName, kindText } from "../base/words.js";
import { Switch } from "../base/choices.js";
import { Field, html, useState } from "../base/ui.js";
import { fars, near } from "../base/units.js";
import { units } from "../base/settings.js";
import { atOf, Parsed, Wrongs } from "./edit.js";
import { SkillOptions } from "./editweek.js";
import { parseLength, parseLengths, parseWords, writeLength, writeLengths, writeWords } from "./lengths.js";

/** Block edits a block: edit gets a function that changes it. */
export function Block({ block, index, base, minutes, problems, skills, weekSkill, edit, order }) {
  const at = atOf(problems, base);
  const { drill = {} } = block;
  const inDrill = problems.filter((p) => p.pointer.startsWith(`${base}/drill`)).length;
  const [open, setOpen] = useState(!drill.text);
  const setDrill = (name, value) => edit((b) => {
    b.drill ??= {};
    if (value === "" || value === 0 || value?.length === 0) delete b.drill[name];
    else b.drill[name] = value;
  });
  const share = (e) => e.currentTarget.value !== "" && edit((b) => (b.share = Math.trunc(Number(e.currentTarget.value))));
  const example = units.value === "metres" ? ["1.5 m", "9, 12 or 15 m"] : ["5 ft", "20 ft, 12 yd"];
  return html`<section class=${`block-edit ${block.kind}`} data-at=${base} tabindex="-1">
    <div class="edit-head"><h4>Block ${index + 1}: ${kindName(block.kind)}${minutes !== undefined ? `, ${minutes} min` : ""}</h4>${order}</div>
    <p class="small">${kindText(block.kind)}</p>
    <div class="trio"><${Field} as="select" label="Kind" ...${at("/kind")} value=${block.kind} onChange=${(e) => edit((b) => (b.kind = e.currentTarget.value))}>${blockKinds.map((k) => html`<option value=${k}>${kindName(k)}</option>`)}</${Field}>
      <${Field} label="Share in per cent" type="number" min="0" max="100" ...${at("/share")} value=${block.share} onInput=${share} />
      <${Field} as="select" label="Skill" ...${at("/skill_id")} value=${block.skill_id ?? ""} onChange=${(e) => edit((b) => (e.currentTarget.value ? (b.skill_id = e.currentTarget.value) : delete b.skill_id))}><${SkillOptions} skills=${skills} value=${block.skill_id} none=${weekSkill ? `The week's: ${weekSkill.name}` : "The week's"} /></${Field}></div>
    <details class="drill" open=${open} onToggle=${(e) => setOpen(e.currentTarget.open)} data-at=${`${base}/drill`}><summary>Drill: ${drillText(drill)}${inDrill > 0 ? html` <strong>(${inDrill} to do)</strong>` : ""}</summary>
      <${Wrongs} problems=${problems} at=${`${base}/drill`} />
      <${Field} as="textarea" label="What the student does" hint="In plain words." rows="2" maxlength="4000" ...${at("/drill/text")} value=${drill.text ?? ""} onInput=${(e) => setDrill("text", e.currentTarget.value)} />
      <div class="trio"><${Parsed} label="Target radius" hint=${`Such as ${example[0]}.`} ...${at("/drill/radius_m")} value=${drill.radius_m ?? 0} parse=${(t) => (t.trim() === "" ? 0 : parseLength(t))} write=${(v) => (v ? writeLength(v) : "")} wrong=${`is no length; write one such as ${example[0]}`} onValue=${(v) => setDrill("radius_m", v)} />
        <${Parsed} label="Distances" hint=${`To the hole, such as ${example[1]}.`} ...${at("/drill/distances_m")} value=${drill.distances_m ?? []} parse=${(t) => parseLengths(t)} write=${(v) => writeLengths(v)} wrong=${`are no lengths; write them such as ${example[1]}`} onValue=${(v) => setDrill("distances_m", v)} />
        <${Field} label="Share of the way in the air" hint="Per cent, where it matters." type="number" min="0" max="100" ...${at("/drill/carry_percent")} value=${drill.carry_percent || ""} onInput=${(e) => setDrill("carry_percent", Math.trunc(Number(e.currentTarget.value)))} /></div>
      <div class="pair"><${Parsed} label="Lies" hint="Separate with commas." ...${at("/drill/lies")} value=${drill.lies ?? []} parse=${parseWords} write=${writeWords} onValue=${(v) => setDrill("lies", v)} />
        <${Parsed} label="Clubs" hint="Separate with commas." ...${at("/drill/clubs")} value=${drill.clubs ?? []} parse=${parseWords} write=${writeWords} onValue=${(v) => setDrill("clubs", v)} /></div>
      ${block.kind === "random" && html`<${Switch} label="Deal each student more of what they miss most" hint="By the balls of their last sessions; one task at most three times as often as another." on=${!!drill.more_of_misses} onChange=${(on) => setDrill("more_of_misses", on || "")} />`}
    </details></section>`;
}

/** drillText says a drill, its text in short unless whole is wanted. */
export function drillText(drill, whole) {
  const parts = [
    drill.radius_m && `inside ${near(drill.radius_m)}`, drill.distances_m?.length > 0 && `from ${fars(drill.distances_m)}`,
    drill.lies?.join(", "), drill.clubs?.length > 0 && `with ${drill.clubs.join(", ")}`, drill.text && (!whole && drill.text.length > 60 ? `${drill.text.slice(0, 58).replace(/\s+\S*$/, "")} …` : drill.text),
  ].filter(Boolean);
  return parts.length ? parts.join("; ") : "nothing said yet";
}
