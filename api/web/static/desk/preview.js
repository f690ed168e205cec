// What a student will see of a plan, before it is published: the phone's own
// parts, with the hour as a bar above them.

import { BlockText } from "../green/parts.js";
import { count, near } from "../base/units.js";
import { Button, Dialog, Field, html, useState } from "../base/ui.js";
import { bringText } from "../base/day.js";
import { useLoad } from "../base/load.js";
import { Hour } from "./hour.js";
import { useNarrow } from "./narrow.js";

/** PreviewDialog shows the plans of a programme's draft, as it is saved, as on a phone; skills is a Map. */
export function PreviewDialog({ programme: { id, draft: content, warnings }, saved, skills, onClose }) {
  const plans = (content.weeks ?? []).flatMap((week, w) => (week.plans ?? []).map((plan, p) => ({ week, plan, w, p })));
  const [at, setAt] = useState(0);
  const [day, setDay] = useState("");
  const narrow = useNarrow();
  const shown = plans[Math.min(at, plans.length - 1)];
  const days = useLoad(shown && `/v1/programmes/${id}/days?week=${shown.w + 1}&plan=${shown.p + 1}`);
  const version = days.body?.versions.find((v) => v.label === day);
  const title = "As the student will see it";
  if (!shown) return html`<${Dialog} title=${title} onClose=${onClose}><p>There is no plan yet.</p><${Button} onClick=${onClose}>Close</${Button}></${Dialog}>`;
  const told = warnings.filter((x) => x.pointer.startsWith(`/weeks/${shown.w}/plans/${shown.p}/`));
  return html`<${Dialog} title=${title} onClose=${onClose}>
    <div class="preview"><div>${plans.length > 1 && html`<div class="row preview-choice"><${Field} as="select" label="Plan" value=${at} onChange=${(e) => setAt(Number(e.currentTarget.value))}>${plans.map((x, i) => html`<option value=${i}>${placeText(x)}</option>`)}</${Field}>
      <${Button} disabled=${at === 0} onClick=${() => setAt(at - 1)}>Earlier</${Button}><${Button} disabled=${at >= plans.length - 1} onClick=${() => setAt(at + 1)}>Later</${Button}></div>`}
    ${days.body && html`<${Field} as="select" label="Day" hint="Made from the plan; the student chooses with one touch." value=${version ? day : ""} onChange=${(e) => setDay(e.currentTarget.value)}><option value="">As planned</option>${days.body.versions.map((v) => html`<option value=${v.label}>${v.label}</option>`)}</${Field}>
      <p class="small">Bring: ${bringText((version ?? days.body).bring)}.</p>`}
    ${told.length > 0 && html`<details class="panel preview-told" open=${!narrow}><summary>Worth a look: ${told.length}</summary><ul class="plain">${told.map((x) => html`<li key=${x.pointer}>${x.detail}</li>`)}</ul></details>`}
    ${!saved && html`<p class="small">This is the last saved draft, without the changes since.</p>`}
    <p class="small">Shown for a student who has passed no step.</p>
    <div class="row"><${Button} kind="main" onClick=${onClose}>Close</${Button}></div></div>
    <${Phone} ...${version ? { ...shown, version, plan: { ...shown.plan, ...version } } : shown} weeks=${content.weeks.length} skills=${skills} /></div>
  </${Dialog}>`;
}

const planName = (plan, p) => plan.name || `Session ${p + 1}`;

const placeText = ({ week, plan, w, p }) => `Week ${w + 1}${week.title ? ` (${week.title})` : ""}: ${planName(plan, p)}`;

function Phone({ week, plan, version, w, p, weeks, skills }) {
  const blocks = plan.blocks ?? [];
  return html`<div class="phone" role="region" aria-label="The student's phone" tabindex="0">
    <p class="phone-title">${planName(plan, p)}</p>
    <p>${plan.minutes} minutes · week ${w + 1} of ${weeks}${week.title ? ` · ${week.title}` : ""} · ${count(plan.times ?? 1, "time")} this week</p>
    <${Hour} blocks=${blocks} length=${plan.minutes} />
    ${version ? html`<p>${version.counts}</p>${version.cautions.length > 0 && html`<ul>${version.cautions.map((line) => html`<li>${line}</li>`)}</ul>`}` : week.text && html`<p class="text">${week.text}</p>`}
    <ol class="blocks">${blocks.map((b, i) => html`<li key=${i}><${Block} block=${b} skill=${skills.get(b.skill_id ?? week.skill_id)} /></li>`)}</ol>
  </div>`;
}

function Block({ block, skill }) {
  const radius = block.drill?.radius_m;
  return html`<${BlockText} block=${{ ...block, minutes: block.minutes ?? "–", skill_name: skill?.name ?? "" }} skill=${skill && { ...skill, held: 0 }} />
    ${radius > 0 && html`<${Circle} radius=${radius} />`}`;
}

const HOLE = 0.054; // the radius of the hole, 54 mm

/** Circle draws a target from above, to scale: the hole and the circle around it. */
function Circle({ radius }) {
  const size = 96;
  const hole = Math.max(1.5, (HOLE / radius) * (size / 2 - 3));
  return html`<figure class="target-above"><svg viewBox=${`0 0 ${size} ${size}`} role="img" aria-label=${`A circle of ${near(radius)} around the hole, to scale`}>
    <circle class="circle" cx=${size / 2} cy=${size / 2} r=${size / 2 - 3} /><circle class="hole" cx=${size / 2} cy=${size / 2} r=${hole} /><line class="radius" x1=${size / 2} y1=${size / 2} x2=${size - 3} y2=${size / 2} />
  </svg><figcaption>${near(radius)} around the hole</figcaption></figure>`;
}
