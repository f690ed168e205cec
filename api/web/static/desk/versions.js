// The published versions of a programme, what each says, and how two differ.

import { Ladder } from "../base/ladder.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { count, dayTime } from "../base/units.js";
import { kindName } from "../base/words.js";
import { Field, html, Page, useState } from "../base/ui.js";
import { differences, skillDifferences } from "./diff.js";
import { ExportButton } from "./document.js";
import { drillText } from "./editblock.js";
import { Hour } from "./hour.js";
import { useNarrow } from "./narrow.js";
import { AsOf, Missing, useAll } from "./parts.js";
import { ProgrammeNav } from "./programmes.js";
import { Changes } from "./publish.js";

export function Versions({ args: [id, wanted] }) {
  const programme = useLoad(`/v1/programmes/${id}`);
  const versions = useLoad(`/v1/programmes/${id}/versions`);
  const people = useAll("/v1/members?removed=true&limit=200");
  const list = versions.body?.items ?? [];
  const number = Number(wanted) || list[0]?.number;
  return html`<${Page} title=${`Versions${programme.body ? ` of ${programme.body.draft.name}` : ""}`} wide><${ProgrammeNav} current="programmes" />
    <p><a href=${to("programme", id)}>The draft</a></p>
    <${Missing} what="the versions" from=${versions} /><${AsOf} from=${versions} />
    ${versions.body && list.length === 0 && html`<section class="empty"><h2>Nothing published yet</h2><p>Publishing freezes the draft as version 1.</p></section>`}
    ${list.length > 0 && html`<ul class="plain">${list.map((v) => html`<li key=${v.number}><a href=${to("versions", id, v.number)} aria-current=${v.number === number ? "true" : undefined}>Version ${v.number}</a>, published ${dayTime(v.published_at)} by ${people.items?.find((m) => m.id === v.published_by)?.name ?? "a coach"}</li>`)}</ul>`}
    ${list.length > 1 && html`<${Compare} id=${id} list=${list} />`}
    ${number && html`<${Content} id=${id} number=${number} />`}
  </${Page}>`;
}

function Compare({ id, list }) {
  const [from, setFrom] = useState(list[1].number);
  const [upto, setUpto] = useState(list[0].number);
  const [before, after] = [useLoad(`/v1/programmes/${id}/versions/${from}`), useLoad(`/v1/programmes/${id}/versions/${upto}`)];
  const options = list.map((v) => html`<option value=${v.number}>Version ${v.number}</option>`);
  return html`<section><h2>Differences</h2><div class="pair form"><${Field} as="select" label="From" value=${from} onChange=${(e) => setFrom(Number(e.currentTarget.value))}>${options}</${Field}>
      <${Field} as="select" label="To" value=${upto} onChange=${(e) => setUpto(Number(e.currentTarget.value))}>${options}</${Field}></div>
    <${Missing} what=${`version ${from}`} from=${before} /><${Missing} what=${`version ${upto}`} from=${after} />
    ${before.body && after.body && html`<${Between} before=${before.body} after=${after.body} />`}
  </section>`;
}

function Between({ before, after }) {
  const skills = new Map([...before.skills, ...after.skills].map((k) => [k.id, k]));
  const list = [...skillDifferences(before.skills, after.skills), ...differences(before.content, after.content, skills)];
  return list.length === 0 ? html`<p role="status">No differences.</p>` : html`<${Changes} list=${list} />`;
}

function Content({ id, number }) {
  const version = useLoad(`/v1/programmes/${id}/versions/${number}`);
  const narrow = useNarrow();
  if (!version.body) return html`<${Missing} what=${`version ${number}`} from=${version} />`;
  const { content, skills } = version.body;
  const nameOf = (skill) => skills.find((s) => s.id === skill)?.name ?? "";
  const blocks = (plan) => html`<ol class="plain">${plan.blocks.map((b) => html`<li><strong>${kindName(b.kind)}</strong>, ${b.share} %, ${b.minutes} min${b.skill_id ? `, ${nameOf(b.skill_id)}` : ""}: ${drillText(b.drill, true)}</li>`)}</ol>`;
  return html`<section><h2>Version ${number}: ${content.name}</h2>
    ${content.text && html`<p class="text">${content.text}</p>`}
    <p><${ExportButton} id=${id} version=${number} label=${`Export version ${number} as YAML`} /></p>
    ${content.weeks.map((w, i) => html`<section class="outline" key=${i}><h3>Week ${i + 1}${w.title ? `: ${w.title}` : ""}</h3><p>${nameOf(w.skill_id)}.${w.text ? ` ${w.text}` : ""}</p>
      ${w.plans.map((p, j) => html`<div key=${j}><h4>${p.name || `Plan ${j + 1}`}, ${p.minutes} min, ${count(p.times ?? 1, "time")} in the week</h4>
        <${Hour} blocks=${p.blocks} length=${p.minutes} />${narrow ? html`<details><summary>${count(p.blocks.length, "block")}</summary>${blocks(p)}</details>` : blocks(p)}</div>`)}</section>`)}
    <section><h3>Steps as they were</h3>${skills.map((s) => html`<div key=${s.id}><h4>${s.name}</h4><${Ladder} tiers=${s.ladder.tiers} /></div>`)}</section>
  </section>`;
}
