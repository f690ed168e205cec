// A week of a programme, and its plans.

import * as api from "../base/api.js";
import { to } from "../base/router.js";
import { count } from "../base/units.js";
import { blockKinds, kindName } from "../base/words.js";
import { Button, Dialog, Field, html, useEffect, useState } from "../base/ui.js";
import { atOf, countsWithin, Grip, moved, Remarks, Reorder, useOpened, Wrongs } from "./edit.js";
import { Block } from "./editblock.js";
import { changeWeekSkill, equalParts, newBlock } from "./fit.js";
import { Hour } from "./hour.js";
import { LadderPreview } from "./ladder.js";
import { useNarrow } from "./narrow.js";

/** Week edits a week; grip and order are what moves it about. */
export function Week({ draft, week, index, open, onOpen, problems, warnings, skills, grip, order }) {
  const base = `/weeks/${index}`;
  const at = atOf(problems, base);
  const set = (name) => (e) => draft.edit((c) => (c.weeks[index][name] = e.currentTarget.value));
  const narrow = useNarrow();
  const [unsaid] = useState(!week.text);
  const about = html`<${Field} as="textarea" label="What this week is about" hint="For the students." rows="2" maxlength="4000" ...${at("/text")} value=${week.text ?? ""} onInput=${set("text")} />`;
  const plans = week.plans ?? [];
  const skill = skills.get(week.skill_id);
  const movePlan = (i) => (by) => draft.act((c) => {
    moved(c.weeks[index].plans, i, by);
    return `Plan ${i + 1} is plan ${i + by + 1} now.`;
  });
  const facts = [skill?.name ?? "no skill yet", count(plans.length, "plan"), ...countsWithin(base, problems, warnings)];
  return html`<details class="week" open=${open} onToggle=${(e) => onOpen(e.currentTarget.open)} data-at=${base} data-entry="weeks">
    <summary><span class="week-about"><span class="week-name">Week ${index + 1}${week.title ? `: ${week.title}` : ""}</span> <span class="small">${facts.join(", ")}</span></span>${grip}</summary>
    ${open && html`<div class="week-body">${order}
      <div class="pair"><${Field} label="Title" maxlength="120" ...${at("/title")} value=${week.title ?? ""} onInput=${set("title")} />
        <${Field} as="select" label="Skill" ...${at("/skill_id")} value=${week.skill_id ?? ""} onChange=${(e) => draft.act((c) => changeWeekSkill(c, index, e.currentTarget.value, skills))}><${SkillOptions} skills=${skills} value=${week.skill_id} none="Choose a skill" /></${Field}></div>
      <${Remarks} warnings=${warnings} at=${base} except=${/^\/plans\//} />
      ${narrow && unsaid ? html`<details><summary>What this week is about</summary>${about}</details>` : about}
      ${skills.size === 0 && html`<p>There are no skills yet. <a href=${to("skill", "new")}>Describe one</a> or <a href=${to("skills")}>take one of ours</a>; this draft is kept.</p>`}
      ${skill && html`<details class="panel"><summary>Ladder of ${skill.name}: what each step takes</summary><${LadderPreview} skill=${skill} id=${skill.id} /><p><a href=${to("skill", skill.id)}>Change the skill, its ladder or its drills</a></p></details>`}
      <${Wrongs} problems=${problems} at=${`${base}/plans`} />
      ${plans.map((plan, i) => html`<${Plan} key=${i} draft=${draft} plan=${plan} path=${[index, i]} problems=${problems} warnings=${warnings} skills=${skills} weekSkill=${skill}
        grip=${html`<${Grip} group=${`${base}/plans`} index=${i} length=${plans.length} onMove=${movePlan(i)} />`}
        order=${html`<${Reorder} what=${`plan ${i + 1} of week ${index + 1}`} group=${`${base}/plans`} index=${i} length=${plans.length} onMove=${movePlan(i)}
          onCopy=${() => draft.edit((c) => c.weeks[index].plans.splice(i + 1, 0, structuredClone(plan)))} onRemove=${() => draft.edit((c) => c.weeks[index].plans.splice(i, 1))} />`} />`)}
      <${Button} onClick=${() => draft.edit((c) => (c.weeks[index].plans = [...plans, { name: "", minutes: 60, times: 1, blocks: [] }]))}>Add a plan to week ${index + 1}</${Button}>
    </div>`}
  </details>`;
}

/** ChooseSkill asks which skill, in a dialog; later is a way to choose none yet. */
export function ChooseSkill({ title, skills, except, onChoose, onClose, later }) {
  const list = [...skills.values()].filter((s) => !s.archived_at && s.id !== except);
  return html`<${Dialog} title=${title} onClose=${onClose}>
    <ul class="choose">${list.map((s) => html`<li key=${s.id}><${Button} onClick=${() => onChoose(s.id)}>${s.name}</${Button}></li>`)}</ul>
    <div class="row">${later && html`<${Button} onClick=${() => onChoose("")}>${later}</${Button}>`}<${Button} onClick=${onClose}>Cancel</${Button}></div></${Dialog}>`;
}

/** SkillOptions are the skills to choose among; one that is archived only where it is chosen. */
export function SkillOptions({ skills, value, none }) {
  const list = [...skills.values()].filter((s) => !s.archived_at || s.id === value);
  return html`<option value="">${none}</option>${list.map((s) => html`<option value=${s.id}>${s.name}${s.archived_at ? " (archived)" : ""}</option>`)}`;
}

function Plan({ draft, plan, path: [w, p], problems, warnings, skills, weekSkill, grip, order }) {
  const base = `/weeks/${w}/plans/${p}`;
  const at = atOf(problems, base);
  const blocks = plan.blocks ?? [];
  const shares = blocks.map((b) => b.share);
  const sum = shares.reduce((a, b) => a + b, 0);
  const minutes = useSplit(plan.minutes, shares);
  const opened = useOpened([]);
  const narrow = useNarrow();
  const edit = (fn) => draft.edit((c) => fn(c.weeks[w].plans[p]));
  const number = (name) => (e) => e.currentTarget.value !== "" && edit((x) => (x[name] = Math.trunc(Number(e.currentTarget.value))));
  const add = (kind) => {
    draft.act((c) => append(c, kind));
    if (narrow) opened.set(blocks.length, true);
  };
  const append = (c, kind) => {
    const x = c.weeks[w].plans[p];
    const made = newBlock(c, w, kind, Math.max(0, 100 - sum), skills);
    x.blocks = [...(x.blocks ?? []), made];
    const fitted = skills.get(made.skill_id ?? c.weeks[w].skill_id)?.name;
    return `Block ${x.blocks.length} added: ${kindName(kind)}${fitted ? `, fitted to ${fitted}` : ""}.`;
  };
  const move = (b) => (by) => {
    draft.act((c) => {
      moved(c.weeks[w].plans[p].blocks, b, by);
      return `Block ${b + 1}, ${kindName(blocks[b].kind)}, is block ${b + by + 1} now.`;
    });
    opened.moved(b, by);
  };
  const copy = (b) => () => {
    edit((x) => x.blocks.splice(b + 1, 0, structuredClone(x.blocks[b])));
    opened.added(b + 1);
  };
  const remove = (b) => () => {
    edit((x) => x.blocks.splice(b, 1));
    opened.removed(b);
  };
  return html`<section class="plan-edit" data-at=${base} data-entry=${`/weeks/${w}/plans`} tabindex="-1"><div class="edit-head"><div class="entry-name">${grip}<h3>Plan ${p + 1} of week ${w + 1}</h3></div>${order}</div>
    <div class="trio"><${Field} label="Name" maxlength="120" ...${at("/name")} value=${plan.name ?? ""} onInput=${(e) => edit((x) => (x.name = e.currentTarget.value))} />
      <${Field} label="Minutes" type="number" min="5" max="240" ...${at("/minutes")} value=${plan.minutes} onInput=${number("minutes")} />
      <${Field} label="Times in the week" type="number" min="1" max="14" ...${at("/times")} value=${plan.times ?? 1} onInput=${number("times")} /></div>
    ${blocks.length > 0 && html`<${Hour} blocks=${blocks.map((b, i) => ({ ...b, minutes: minutes?.[i] }))} length=${plan.minutes} />`}
    <p class=${`total ${sum === 100 ? "" : "off"}`}><strong>Shares: ${sum} of 100 %.</strong> ${totalText(sum, blocks, minutes, plan.minutes)}</p>
    <div class="row equal"><${Button} onClick=${() => draft.act((c) => equalParts(c, [w, p], skills))}>Equal parts</${Button}><p class="small">Technique, stations, random and test, after a short warm-up where a week came before.</p></div>
    <${Wrongs} problems=${problems} at=${`${base}/blocks`} /><${Wrongs} problems=${problems} at=${base} /><${Remarks} warnings=${warnings} at=${base} except=${/^\/blocks\//} />
    ${blocks.map((block, b) => html`<${Block} key=${b} draft=${draft} block=${block} path=${[w, p, b]} open=${opened.is(b)} onOpen=${(on) => opened.set(b, on)} minutes=${minutes?.[b]} problems=${problems} warnings=${warnings} skills=${skills} weekSkill=${weekSkill}
      grip=${html`<${Grip} group=${`${base}/blocks`} index=${b} length=${blocks.length} onMove=${move(b)} />`}
      order=${html`<${Reorder} what=${`block ${b + 1} of plan ${p + 1}, week ${w + 1}`} group=${`${base}/blocks`} index=${b} length=${blocks.length} onMove=${move(b)} onCopy=${copy(b)} onRemove=${remove(b)} />`} />`)}
    <fieldset class="adds"><legend>Add a block</legend><div class="row">${blockKinds.map((kind) => html`<${Button} class="small-button" onClick=${() => add(kind)}>${kindName(kind)}</${Button}>`)}</div></fieldset>
  </section>`;
}

function totalText(sum, blocks, minutes, length) {
  if (blocks.length === 0) return "Add at least one block.";
  const given = minutes?.slice(0, blocks.length).reduce((a, b) => a + b, 0);
  const parts = minutes ? blocks.map((b, i) => `${kindName(b.kind)} ${minutes[i]} min`).join(", ") : "";
  if (sum === 100) return minutes ? html`${given} of ${length} minutes<span class="total-parts">: ${parts}</span>.` : "";
  return sum < 100 ? html`${100 - sum} % still to give.${parts && html`<span class="total-parts"> ${parts}.</span>`}` : `${sum - 100} % too much.`;
}

const splits = new Map(); // what the service said of a split, by the question

/**
 * useSplit asks the service for the minutes of shares; what is missing to 100
 * counts as one more share. null while that is not known.
 */
function useSplit(minutes, shares) {
  const rest = 100 - shares.reduce((a, b) => a + b, 0);
  const question = JSON.stringify({ minutes, shares: rest > 0 ? [...shares, rest] : shares });
  const possible = shares.length > 0 && rest >= 0 && minutes >= 5 && minutes <= 240;
  const [, redraw] = useState(0);
  useEffect(() => {
    if (!possible || splits.has(question)) return;
    const timer = setTimeout(async () => {
      try {
        splits.set(question, (await api.post("/v1/calc/split", JSON.parse(question))).minutes);
        redraw((n) => n + 1);
      } catch (e) {
        if (!e.known) console.error(e); // the draft's own problems tell what is wrong
      }
    }, 150);
    return () => clearTimeout(timer);
  }, [question]);
  return possible ? splits.get(question) ?? null : null;
}
