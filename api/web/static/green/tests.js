// First tests and end tests: twenty balls from one spot, before other balls of the
// skill that day, with no run, no chance and no count of what was in.

import { who } from "../base/account.js";
import * as api from "../base/api.js";
import { refreshed } from "../base/load.js";
import { clockOff, revised, sessions, store, waiting } from "../base/outbox.js";
import { go, to } from "../base/router.js";
import { askedText, Measured, testNames, useTests } from "../base/tests.js";
import { awayZone, count, isoDay, near } from "../base/units.js";
import { ballOutcomes, ballsText, outcomeName, taskText } from "../base/words.js";
import { Button, html, Loading, Page, useEffect, useSend, useState, Wrong } from "../base/ui.js";
import { cue, useAwake } from "./cues.js";
import * as log from "./log.js";
import { DrillFacts } from "./parts.js";
import { nowPath, useNow } from "./plan.js";
import { Leaves, Outs, tapped, useSteps } from "./practice.js";

/** BALLS is how many a test has. */
const BALLS = 20;

const whys = {
  first_test: "Twenty balls from one spot at each skill, before you practise it. They show which step you begin with.",
  end_test: "The twenty balls of your first test once more. They show what has changed.",
};

/** struckHere counts the balls of a test that this phone has of today, sent or not. */
function struckHere(due) {
  const today = isoDay(Date.now());
  const mine = (r) => !r.deleted && r.live && r.plan.test === due.purpose && r.plan.blocks[0].skill_id === due.skill_id && isoDay(r.live.started + r.clock) === today;
  return (sessions.value ?? []).filter(mine).reduce((sum, r) => sum + log.ballsIn(r), 0);
}

/** open gives the tests that are asked for still, with what is left of each. */
const open = (now) => (now.tests ?? []).map((d) => ({ ...d, left: BALLS - Math.max(d.struck, struckHere(d)) })).filter((d) => d.left > 0);

/** Asked is the card on Now: what is asked for, and the way there. */
export function Asked({ now }) {
  const due = open(now);
  if (due.length === 0) return null;
  return html`<section class="tests-asked"><p><strong>${askedText(due)}</strong></p>
    <p><a class="button" href=${to("tests")}>${due.some((d) => d.left < BALLS) ? "Go on with the test" : testNames[due[0].purpose]}</a></p></section>`;
}

/** Tests lists what is asked for, what came of it, and where to begin. */
export function Tests() {
  const now = useNow();
  const told = useTests(who.value.membership.member_id);
  const unsent = waiting.value.length;
  useEffect(() => void told.reload(), [unsent]); // what was just struck is told of once it is sent
  if (!now.body) return html`<${Loading} what="your tests" />`;
  const due = open(now.body);
  const purpose = due[0]?.purpose;
  return html`<${Page} title=${due.length ? testNames[purpose] : "First and end tests"} lead=${due.length ? whys[purpose] : ""}>
    <ul class="plain">${due.map((d) => html`<li key=${d.skill_id}><${Due} due=${d} /></li>`)}</ul>
    ${due.length === 0 && html`<p>No test is asked for now. <a href=${to("now")}>Go to Now.</a></p>`}
    ${told.body && html`<${Starts} starts=${told.body.starts} onTaken=${() => (told.reload(), refreshed(nowPath()))} />
      ${told.body.skills.map((s) => html`<section class="tests-done" key=${s.skill_id}><h2>${s.skill_name}</h2><${Measured} skill=${s} /></section>`)}`}
  </${Page}>`;
}

function Due({ due }) {
  const start = useSend(async () => {
    const { purpose, skill_id, skill_name, drill, left } = due;
    const plan = {
      name: `${testNames[purpose]}: ${skill_name}`, minutes: left, test: purpose, balls: left,
      blocks: [{ number: 1, kind: "test", purpose, minutes: left, skill_id, skill_name, drill, radius_m: drill.radius_m }],
    };
    const record = log.begin({ plan, skills: {}, time_zone: awayZone() }, Date.now(), clockOff.peek());
    await store(revised(record, {}));
    go(to("practice", record.id));
  });
  const some = due.left < BALLS;
  return html`<h2>${due.skill_name}</h2>
    ${some && html`<p>${ballsText(BALLS - due.left)} struck today, ${due.left} to go.</p>`}
    <${DrillFacts} drill=${due.drill} />
    ${due.tomorrow
      ? html`<p>You have practised this today. Take the test on another day, before any other ball at it.</p>`
      : html`<${Button} kind="main" busy=${start.busy} onClick=${start.run}>${some ? `Strike the last ${due.left}` : `Start: ${BALLS} balls`}<span class="unseen"> at ${due.skill_name}</span></${Button}>`}
    <${Wrong} problem=${start.problem} />`;
}

/** Starts are where to begin, as proposed: the student need not wait for the coach. */
function Starts({ starts, onTaken }) {
  const skills = [...new Map(starts.map((s) => [s.skill_id, s.skill_name]))];
  return html`${skills.map(([id, name]) => html`<${StartAt} key=${id} id=${id} name=${name} texts=${starts.filter((s) => s.skill_id === id).map((s) => s.text)} onTaken=${onTaken} />`)}`;
}

function StartAt({ id, name, texts, onTaken }) {
  const take = useSend(async () => {
    await api.post(`/v1/students/${who.value.membership.member_id}/start`, { skill_id: id });
    onTaken();
  });
  return html`<section class="start-at"><h2>Where to begin: ${name}</h2>
    ${texts.map((t) => html`<p>${t}</p>`)}
    <p class="small">Your coach sees this too, and may change it. You need not wait.</p>
    <${Button} kind="main" busy=${take.busy} onClick=${take.run}>Begin like this</${Button}><${Wrong} problem=${take.problem} /></section>`;
}

/** Test is a test that goes on: the balls left, three targets, and nothing that helps. */
export function Test({ record }) {
  const { act, failed } = useSteps(record.id);
  const [said, say] = useState("");
  useAwake(true);
  const { planned, done } = log.present(record);
  const left = record.plan.balls - done.balls.length;
  const strike = async (outcome, miss) => {
    if (left <= 0 || !(await (miss ? act(log.strikeOut, miss) : act(log.strike, outcome)))) return;
    cue("out"); // the same for all: nothing tells how it goes
    say(`${outcomeName(outcome)}. ${left - 1} left.`);
  };
  const finish = async () => (await act(log.end)) && go(to("tests"), { replace: true });
  const full = left <= 0;
  return html`<main id="main" class="practice" tabindex="-1">
    <h1 class="unseen">${record.plan.name}</h1>
    <header class="head">
      <p class="head-block"><span class="head-kind">${testNames[planned.purpose]}</span> <span class="head-place">${planned.skill_name}</span></p>
      <p class="head-clock"><span class="head-time">${Math.max(0, left)}</span> <span class="head-of">of ${count(BALLS, "ball")} left</span></p>
      <${Button} class="onward" kind=${full ? "main" : "plain"} onClick=${finish}>${full ? "Done" : "Stop"}</${Button}>
    </header>
    <div role="alert">${failed && html`<${Wrong} problem=${failed} />`}</div>
    <div class="play"><section class="task" aria-label="What to play">
      <p class="task-now">${taskText(log.task(record), undefined, planned.drill?.distances_m) || "One spot"}</p>
    </section>
    <p>${full ? "That is all. Undo if the last ball is wrong." : "Log each ball as it stops. If you stop, strike the rest today: on another day the test begins anew."}</p></div>
    <div class="hand">
      <${Leaves} record=${record} act=${act} />
      <div class="targets">
        <${Outs} full=${full} strike=${strike} hint=${`outside ${near(planned.radius_m)}`} />
        ${ballOutcomes.slice(1).map((outcome) => html`<button type="button" class=${`target ${outcome}`} disabled=${full} ...${tapped(() => strike(outcome))}><span class="target-word">${outcomeName(outcome)}</span><span class="target-hint">${outcome === "in" ? `inside ${near(planned.radius_m)}` : "in the hole"}</span></button>`)}
      </div>
      <div class="controls"><${Button} onClick=${() => act(log.undo)} disabled=${!log.undoes(record)}>Undo</${Button}></div>
    </div>
    <p class="unseen" role="status">${said}</p>
  </main>`;
}
