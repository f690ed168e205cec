// Days that go otherwise: a plan's versions, and what to bring and do before the
// first ball. All of it comes from the service once and is kept for the green.

import { who } from "../base/account.js";
import { bringText } from "../base/day.js";
import { useLoad } from "../base/load.js";
import { clockOff, revised, store } from "../base/outbox.js";
import { go, to } from "../base/router.js";
import { set, settings } from "../base/settings.js";
import { Button, html, Loading, Page, useSend, useState, Wrong } from "../base/ui.js";
import { begin } from "./log.js";
import { goingOn } from "./now.js";
import { Bar, BlockText, useStations } from "./parts.js";
import { findPlan, planName, toPractise, useNow } from "./plan.js";
import { Running } from "./ready.js";
import { useStyles } from "./styles.js";

const path = () => `/v1/students/${who.value.membership.member_id}/days`;

/** useDays finds what is known of a plan's other days: { all, plan, loading }. */
function useDays([assignment, week, number]) {
  const { body, loading } = useLoad(path());
  const plan = body?.plans.find((p) => p.assignment_id === assignment && p.week === Number(week) && p.plan === Number(number));
  return { all: body, plan, loading };
}

/** Versions are the ways to a plan's versions, one touch each; args name the plan. */
export function Versions({ args }) {
  const { plan } = useDays(args);
  const styled = useStyles();
  if (!styled || !plan?.versions.length) return null;
  const [green, closed] = [false, true].map((off) => plan.versions.filter((v) => Boolean(v.surface) === off));
  const way = (v) => html`<li><a class="button" href=${placeOf(args, v)} aria-label=${v.label}>${short[v.surface ?? v.variant]}</a></li>`;
  return html`<nav class="versions" aria-label="Today is different"><h3>Today is different?</h3><ul>${green.map(way)}</ul><p class="small">Green closed:</p><ul>${closed.map(way)}</ul></nav>`;
}

/** short are the words of a day beside each other, parts of its label. */
const short = { short: "20 min", one_ball: "One ball", rain: "Rain", mat: "Mat", carpet: "Carpet", garden: "Garden" };

const placeOf = (args, v) => to("day", ...args.slice(0, 3), v.variant, ...(v.surface ? [v.surface] : []));

/**
 * Before is what to bring for a plan, the warm-up of the body and the etiquette: open
 * before the first session, later folded; and the ways to the plan's versions.
 */
export function Before({ args }) {
  const { all, plan } = useDays(args);
  return html`${plan && html`<${Bring} all=${all} bring=${plan.bring} />`}<${Versions} args=${args} />`;
}

function Bring({ all, bring, away }) {
  const [first] = useState(!settings.peek().cautioned);
  return html`<details class="bring" open=${first}><summary>${away ? "What to bring, warm-up" : "What to bring, warm-up, manners"}</summary>
    <p><strong>Bring:</strong> ${bringText(bring)}.</p>
    <p><strong>Warm up</strong></p><ul class="plain">${all.warmup.map((line) => html`<li>${line}</li>`)}</ul>
    <details><summary>Why?</summary><p>${all.warmup_why}</p></details>
    ${!away && html`<p><strong>Manners</strong></p><ul class="plain">${all.etiquette.map((line) => html`<li>${line}</li>`)}</ul>`}</details>`;
}

/** Day shows a version of a plan before it is played: args are assignment, week, plan, variant and surface. */
export function Day({ args }) {
  const now = useNow();
  const { all, plan: days, loading } = useDays(args);
  const found = now.body && findPlan(now.body, ...args);
  const version = days?.versions.find((v) => v.variant === args[3] && (v.surface ?? "") === (args[4] ?? ""));
  const [asking, ask] = useState(false);
  const stations = useStations(version?.blocks.some((b) => b.kind === "stations") && now.body?.stations?.length > 0);
  const start = useSend(async () => {
    const { minutes, blocks, label, counts } = version;
    const plan = { ...found.plan, name: `${planName(found.plan)}, ${label[0].toLowerCase()}${label.slice(1)}`, minutes, blocks, counts };
    const said = { variant: version.variant, ...(version.surface && { surface: version.surface }) };
    const record = begin(await toPractise(now.body, { ...found, plan, said }, now.at), Date.now(), clockOff.peek());
    set({ cautioned: true });
    await store(revised(record, {}));
    go(to("practice", record.id));
  });
  if ((!now.body && now.loading) || (!days && loading)) return html`<${Loading} what="the plan" />`;
  if (!found || !version) return html`<${Page} title="No such plan"><p>This plan is not in the present week. <a href=${to("now")}>Go to Now.</a></p></${Page}>`;
  const going = goingOn();
  return html`<${Page} title=${version.label} lead=${`${planName(found.plan)} · ${version.minutes} minutes`}>
    ${version.cautions.length > 0 && html`<section class="cautions" aria-labelledby="cautions"><h2 id="cautions">Take care</h2><ul>${version.cautions.map((line) => html`<li>${line}</li>`)}</ul></section>`}
    <p class="small">${version.counts}</p>
    <${Bring} all=${all} bring=${version.bring} away=${Boolean(version.surface)} />
    ${stations && html`<${stations.AskGreen} />`}
    <${Bar} blocks=${version.blocks} />
    <ol class="blocks">${version.blocks.map((b) => html`<li><${BlockText} block=${b} /></li>`)}</ol>
    <p><a class="button" href=${to("ready", ...args.slice(0, 3))}>The plan as it stands</a></p>
    <div class="start"><${Button} kind="main" class="big" busy=${start.busy} onClick=${going ? () => ask(true) : start.run}>Start practice</${Button}><${Wrong} problem=${start.problem} /></div>
    ${asking && going && html`<${Running} record=${going} anew=${start.run} close=${() => ask(false)} />`}
  </${Page}>`;
}
