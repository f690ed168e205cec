// A block of a plan, with its drill.

import { blockKinds, kindName, kindText } from "../base/words.js";
import { Switch } from "../base/choices.js";
import { Button, Field, html } from "../base/ui.js";
import { fars, near } from "../base/units.js";
import { units } from "../base/settings.js";
import { Clubs } from "./clubs.js";
import { atOf, countsWithin, Parsed, Remarks, Wrongs } from "./edit.js";
import { SkillOptions } from "./editweek.js";
import { changeBlock, fitOf, untouched } from "./fit.js";
import { useNarrow } from "./narrow.js";
import { parseLength, parseLengths, parseWords, writeLength, writeLengths, writeWords } from "./lengths.js";

/**
 * Block edits the block at a path, [week, plan, block]. open is whether its drill is
 * open; on a phone, the block itself.
 */
export function Block({ draft, block, path, open, onOpen, minutes, problems, warnings, skills, weekSkill, grip, order }) {
  const [w, p, index] = path;
  const base = `/weeks/${w}/plans/${p}/blocks/${index}`;
  const at = atOf(problems, base);
  const { drill = {} } = block;
  const skill = block.skill_id ? skills.get(block.skill_id) : weekSkill;
  const narrow = useNarrow();
  const inDrill = problems.filter((x) => x.pointer.startsWith(`${base}/drill`)).length;
  const edit = (fn) => draft.edit((c) => fn(c.weeks[w].plans[p].blocks[index]));
  const change = (name) => (e) => draft.act((c) => changeBlock(c, path, { [name]: e.currentTarget.value }, skills));
  const setDrill = (name, value) => edit((b) => {
    b.drill ??= {};
    if (value === "" || value === 0 || value?.length === 0) delete b.drill[name];
    else b.drill[name] = value;
  });
  const share = (e) => e.currentTarget.value !== "" && edit((b) => (b.share = Math.trunc(Number(e.currentTarget.value))));
  const again = () => draft.act((c) => {
    c.weeks[w].plans[p].blocks[index].drill = fitOf(skill, block.kind);
    return `Block ${index + 1} is reset to ${skill.name}.`;
  });
  const toggle = (e) => onOpen(e.currentTarget.open);
  const name = html`<h4>Block ${index + 1}: ${kindName(block.kind)}${minutes !== undefined ? `, ${minutes} min` : ""}</h4>`;
  const fields = html`<p class="small">${aboutKind(block.kind, skill)}</p><${Remarks} warnings=${warnings} at=${base} />
    <div class="trio"><${Field} as="select" label="Kind" ...${at("/kind")} value=${block.kind} onChange=${change("kind")}>${blockKinds.map((k) => html`<option value=${k}>${kindName(k)}</option>`)}</${Field}>
      <${Field} label="Share in per cent" type="number" min="0" max="100" ...${at("/share")} value=${block.share} onInput=${share} />
      <${Field} as="select" label="Skill" ...${at("/skill_id")} value=${block.skill_id ?? ""} onChange=${change("skill_id")}><${SkillOptions} skills=${skills} value=${block.skill_id} none=${weekSkill ? `The week's: ${weekSkill.name}` : "The week's"} /></${Field}></div>
    <details class="drill" open=${narrow || open} onToggle=${narrow ? undefined : toggle} data-at=${`${base}/drill`}><summary>Drill: ${drillText(drill)}${inDrill > 0 ? html` <strong>(${inDrill} to do)</strong>` : ""}</summary>
      <${Wrongs} problems=${problems} at=${`${base}/drill`} />
      <${DrillFields} drill=${drill} set=${setDrill} at=${(rest) => at(`/drill${rest}`)}>
        <${Parsed} label="Target radius" hint=${circles(skill) || `Such as ${examples().radius}.`} ...${at("/drill/radius_m")} value=${drill.radius_m ?? 0} parse=${(t) => (t.trim() === "" ? 0 : parseLength(t))} write=${(v) => (v ? writeLength(v) : "")} wrong=${`is not a length; write one such as ${examples().radius}`} onValue=${(v) => setDrill("radius_m", v)} /></${DrillFields}>
      ${block.kind === "random" && html`<${Switch} label="Give each student more of what they miss most" hint="From their last sessions; no task comes more than three times as often as another." on=${!!drill.more_of_misses} onChange=${(on) => setDrill("more_of_misses", on || "")} />`}
      <${Switch} label="Ask for thin or fat" hint="One further touch after each ball, which the student may leave out." on=${!!drill.ask_contact} onChange=${(on) => setDrill("ask_contact", on || "")} />
      ${skill && !untouched(drill, skill, block.kind) && html`<p><${Button} kind="quiet" onClick=${again}>Reset to ${skill.name}</${Button}></p>`}
    </details>`;
  const place = { "data-at": base, "data-entry": `/weeks/${w}/plans/${p}/blocks` };
  if (!narrow) return html`<section class=${`block-edit ${block.kind}`} ...${place} tabindex="-1"><div class="edit-head"><div class="entry-name">${grip}${name}</div>${order}</div>${fields}</section>`;
  const facts = [drillText({ radius_m: drill.radius_m, distances_m: drill.distances_m }), ...countsWithin(base, problems, warnings)];
  return html`<details class=${`block-edit ${block.kind}`} ...${place} open=${open} onToggle=${toggle}><summary>${grip}<span>${name}<span class="small">${facts.join(", ")}</span></span></summary>${order}${fields}</details>`;
}

const examples = () => (units.value === "metres" ? { radius: "1.5 m", distances: "9, 12 or 15 m" } : { radius: "5 ft", distances: "20 ft, 12 yd" });

/** circles says the radii of a skill's ladder. */
const circles = (skill) => skill && `On the ladder: ${[...new Set(skill.ladder.tiers.map((t) => near(t.radius_m)))].join(", ")}.`;

/** aboutKind says what a kind of block is for; a putt has one club, and stations are places. */
const aboutKind = (kind, skill) => (kind === "stations" && /_putt$/.test(skill?.kind) ? "Several places, one hole." : kindText(kind));

/** DrillFields are the fields of a drill; children come first among the short ones. usual is what stands where a field is left empty. */
export function DrillFields({ drill, set, at, usual = {}, children }) {
  const { distances } = examples();
  return html`<${Field} as="textarea" label="What the student does" hint="The student reads this." rows="2" maxlength="4000" placeholder=${usual.text} ...${at("/text")} value=${drill.text ?? ""} onInput=${(e) => set("text", e.currentTarget.value)} />
    <div class="trio">${children}
      <${Parsed} label="Distances" hint=${`To the hole, such as ${distances}.`} placeholder=${writeLengths(usual.distances_m ?? [])} ...${at("/distances_m")} value=${drill.distances_m ?? []} parse=${(t) => parseLengths(t)} write=${(v) => writeLengths(v)} wrong=${`are not lengths; write them like ${distances}`} onValue=${(v) => set("distances_m", v)} />
      <${Field} label="Share of the way in the air" hint="Per cent, where it matters." type="number" min="0" max="100" placeholder=${usual.carry_percent} ...${at("/carry_percent")} value=${drill.carry_percent || ""} onInput=${(e) => set("carry_percent", Math.trunc(Number(e.currentTarget.value)))} /></div>
    <div class="pair"><${Parsed} label="Lies" hint="Separate with commas." placeholder=${writeWords(usual.lies ?? [])} ...${at("/lies")} value=${drill.lies ?? []} parse=${parseWords} write=${writeWords} onValue=${(v) => set("lies", v)} />
      <${Clubs} placeholder=${writeWords(usual.clubs ?? [])} ...${at("/clubs")} value=${drill.clubs ?? []} onValue=${(v) => set("clubs", v)} /></div>`;
}

/** drillText says a drill, its text in short unless whole is wanted. */
export function drillText(drill, whole) {
  const parts = [
    drill.radius_m && `inside ${near(drill.radius_m)}`, drill.distances_m?.length > 0 && `from ${fars(drill.distances_m)}`,
    drill.lies?.join(", "), drill.clubs?.length > 0 && `with ${drill.clubs.join(", ")}`, drill.text && (!whole && drill.text.length > 60 ? `${drill.text.slice(0, 58).replace(/\s+\S*$/, "")} …` : drill.text),
  ].filter(Boolean);
  return parts.length ? parts.join("; ") : "empty";
}
