// One plan before it is practised: what it holds, the cautions, and the start.

import { change, clockOff, revised, store } from "../base/outbox.js";
import { go, to } from "../base/router.js";
import { set, settings } from "../base/settings.js";
import { awayZone, dayTime } from "../base/units.js";
import { ballsText, tierText } from "../base/words.js";
import { Button, Dialog, html, Loading, Page, useEffect, useSend, useState, Wrong } from "../base/ui.js";
import { ballsIn, begin, end as ended } from "./log.js";
import { goingOn } from "./now.js";
import { BlockText, useDays, useStations } from "./parts.js";
import { findPlan, useNow, ownPractice, planName, toPractise } from "./plan.js";

/** Cautions are read before the first ball: in full the first time, in short later. */
export function Cautions() {
  const [short] = useState(settings.peek().cautioned);
  if (short) return html`<p class="cautions"><strong>Before the first ball:</strong> look around before each shot, never stand in front of anyone who is hitting, stop for lightning, and stop if it hurts.</p>`;
  return html`<section class="cautions" aria-labelledby="cautions">
    <h2 id="cautions">Before the first ball</h2>
    <ul>
      <li>Look before each shot: nobody in front of you or near your line.</li>
      <li>Never stand or walk in front of anyone who is hitting.</li>
      <li>Stop for lightning, and follow the course's rules.</li>
      <li>Stop if it hurts, and build up slowly. See a doctor or physio if the pain stays.</li>
    </ul>
  </section>`;
}

/** Ready shows a plan: args are assignment, week and plan; or "own" and a skill. */
export function Ready({ args }) {
  const now = useNow();
  const own = args[0] === "own";
  const found = now.body && (own ? now.body.skills.find((s) => s.id === args[1]) : findPlan(now.body, ...args));
  const [asking, ask] = useState(false);
  const stations = useStations(found?.plan?.blocks.some((b) => b.kind === "stations") && now.body.stations?.length > 0);
  const days = useDays(!own);
  const cold = useCold(now.body);
  const launch = async (change = (todo) => todo) => {
    const todo = await (own ? ownPractice(now.body, found) : toPractise(now.body, found, now.at));
    const begun = begin(change(todo), Date.now(), clockOff.peek());
    const record = cold ? cold.drawn(begun, now.body) : begun;
    set({ cautioned: true });
    await store(revised(record, {}));
    go(to("practice", record.id));
  };
  const start = useSend(() => launch());
  if (!now.body && now.loading) return html`<${Loading} what="the plan" />`;
  if (!found) return html`<${Page} title="No such plan"><p>This plan is not in the present week. <a href=${to("now")}>Go to Now.</a></p></${Page}>`;
  const going = goingOn();
  const card = cold && !going && html`<${cold.Card} now=${now.body} begin=${launch} />`;
  const startBar = html`<div class="start"><${Button} kind="main" class="big" busy=${start.busy} onClick=${going ? () => ask(true) : start.run}>Start practice</${Button}><${Wrong} problem=${start.problem} /></div>
    ${asking && going && html`<${Running} record=${going} anew=${start.run} close=${() => ask(false)} />`}`;
  if (own) {
    return html`<${Page} title=${found.name} lead="One spot, thirty minutes. Balls in a row count.">
      ${found.next_tier && html`<p><strong>Next:</strong> ${tierText(found.next_tier)}.</p>`}<${Cautions} />${card}${startBar}</${Page}>`;
  }
  const { plan, week, work } = found;
  return html`<${Page} title=${planName(plan)} lead=${`${plan.minutes} minutes · week ${week.number} of ${work.weeks}${week.title ? ` · ${week.title}` : ""}`}>
    <${Cautions} />
    ${card}
    <${Zone} />
    ${stations && html`<${stations.AskGreen} />`}
    ${days && html`<${days.Before} args=${args} />`}
    <ol class="blocks">${plan.blocks.map((b) => html`<li><${BlockText} block=${b} skill=${now.body.skills.find((s) => s.id === b.skill_id)} /></li>`)}</ol>
    <p class="row"><a class="button" href=${to("card", ...args)}>Card on paper</a><a class="button" href=${to("typein", ...args)}>Type in a card</a></p>
    ${startBar}
  </${Page}>`;
}

/** useCold gives cold.js where a retest is due or tests are drawn. */
function useCold(now) {
  const [part, set] = useState();
  const wanted = now?.quiet_tests || now?.retests?.length > 0;
  useEffect(() => void (wanted && import("./cold.js").then(set, () => {})), [wanted]);
  return part;
}

/** Zone tells a student far from home by which clock the session is kept. */
function Zone() {
  const away = awayZone();
  return away && html`<p class="small">You are away from home, so this session is kept in this phone's time zone, ${away.replaceAll("_", " ")}. You can change that in History.</p>`;
}

/** Running asks what becomes of a session that goes on when another is to start. */
export function Running({ record, anew, close }) {
  const end = () => change(record.id, (r) => r && revised(ended(r, Date.now()), {}));
  const finish = useSend(async () => {
    await end();
    go(to("after", record.id));
  });
  const again = useSend(async () => {
    await end();
    await anew();
  });
  return html`<${Dialog} title="You are still in a session" onClose=${close}>
    <p>${record.plan.name}, since ${dayTime(record.live.started + record.clock)}: ${ballsText(ballsIn(record))}. What was logged is kept.</p>
    <div class="stack">
      <a class="button main" href=${to("practice", record.id)}>Go on with it</a>
      <${Button} busy=${finish.busy} onClick=${finish.run}>End it</${Button}>
      <${Button} busy=${again.busy} onClick=${again.run}>End it and start this one</${Button}>
      <${Button} onClick=${close}>Not now</${Button}>
    </div>
    <${Wrong} problem=${finish.problem ?? again.problem} />
  </${Dialog}>`;
}
