// Practice: one block at a time, three targets, and what the run needs next. A
// tap is stored before the screen says so; everything shown comes from the
// stored record, so a reload, a second tab and a dead battery change nothing.

import { change, revised, sessions } from "../base/outbox.js";
import { go, to } from "../base/router.js";
import { Sending } from "../base/status.js";
import { clock, inUnit, near, number, percent, span, toMetres, unitName } from "../base/units.js";
import { ballOutcomes, ballsText, kindName, outcomeName, runText, taskText, tierText } from "../base/words.js";
import { Button, Dialog, Field, html, Loading, Notice, Page, signal, useEffect, useNow, useState, Wrong } from "../base/ui.js";
import { cue, useAwake } from "./cues.js";
import * as log from "./log.js";
import { oddsBySkill } from "./plan.js";

/** said is what a screen reader hears of the last tap. */
const said = signal("");

/** Practice shows the session that goes on; its argument is the session's id. */
export function Practice({ args: [id] }) {
  if (!sessions.value) return html`<${Loading} what="the session" />`;
  const record = sessions.value.find((r) => r.id === id && r.live && !r.deleted);
  if (!record) return html`<${Page} title="Not on this phone"><p>This session is not kept on this phone. <a href=${to("now")}>Go to Now.</a></p></${Page}>`;
  if (log.over(record)) return html`<${Moved} address=${to("after", id)} />`;
  return html`<${Screen} record=${record} />`;
}

function Moved({ address }) {
  useEffect(() => go(address, { replace: true }), []);
  return null;
}

/**
 * useSteps gives act(step, ...more): it keeps step(record, ...more, now) of the
 * record that stands, and gives it. failed tells when the phone could not.
 */
function useSteps(id) {
  const [failed, fail] = useState(null);
  const act = async (step, ...more) => {
    try {
      const record = await change(id, (r) => r && revised(step(r, ...more, Date.now()), {}));
      fail(null);
      return record;
    } catch (e) {
      console.error(e);
      fail({ message: `This phone could not store that (${e.message}). Free some space; what was stored before is safe.` });
      return null;
    }
  };
  return { act, failed };
}

function Screen({ record }) {
  const { act, failed } = useSteps(record.id);
  const [asking, ask] = useState(null); // "more", "end" or null
  const away = useAway(record);
  const { planned, done } = log.present(record);
  const paused = record.live.phase === "paused";
  useAwake(!paused);

  // The target says at once that it was touched; what was struck is shown when
  // it is stored.
  const strike = async (outcome, target) => {
    target.dataset.taken = "";
    const after = await act(log.strike, outcome);
    delete target.dataset.taken;
    if (!after) return;
    const made = log.madeIn(after, planned.skill_id).length > log.madeIn(record, planned.skill_id).length;
    cue(made ? "made" : outcome);
    said.value = spoken(after, outcome, made);
  };
  const undo = async () => {
    const what = undoText(record);
    if (await act(log.undo)) {
      cue("undo");
      said.value = `Taken back: ${what}.`;
    }
  };
  const onward = async (skipped = false) => {
    const after = await act((r, now) => log.next(r, now, skipped));
    if (after && !log.over(after)) said.value = `Now ${kindName(log.present(after).planned.kind)}.`;
  };

  return html`<main id="main" class="practice" tabindex="-1">
    <h1 class="unseen">${record.plan.name}</h1>
    <${Head} record=${record} />
    <${Split} record=${record} />
    ${away && html`<${Away} record=${record} away=${away} act=${act} />`}
    <div role="alert">${failed && html`<${Wrong} problem=${failed} />`}</div>
    ${paused
      ? html`<${Paused} act=${act} />`
      : html`<div class="play">
          <${Task} record=${record} act=${act} />
          <${LadderState} record=${record} />
        </div>`}
    <div class="hand">
      ${!paused && html`<${Leaves} record=${record} act=${act} />
        <div class="targets">
          ${ballOutcomes.map((outcome) => html`<button type="button" class=${`target ${outcome}`} disabled=${log.ballsIn(record) >= log.MOST_BALLS}
            onClick=${(e) => strike(outcome, e.currentTarget)}><span class="target-word">${outcomeName(outcome)}</span><span class="target-hint">${hint(outcome, planned.radius_m)}</span></button>`)}
        </div>`}
      <div class="controls">
        <${Button} onClick=${undo} disabled=${!log.undoes(record)} aria-label=${log.undoes(record) ? `Undo ${undoText(record)}` : "Undo"}>Undo</${Button}>
        ${!paused && html`<${Button} onClick=${() => act(log.pause)}>Pause</${Button}>`}
        <${Button} onClick=${() => ask("more")}>More</${Button}>
        <${Onward} record=${record} onward=${onward} ask=${ask} />
      </div>
    </div>
    <p class="unseen" role="status">${said.value}</p>
    ${asking === "more" && html`<${More} record=${record} act=${act} close=${() => ask(null)} skip=${() => (ask(null), onward(true))} end=${() => ask("end")} />`}
    ${asking === "end" && html`<${End} record=${record} act=${act} close=${() => ask(null)} />`}
  </main>`;
}

const hint = (outcome, radius) => ({ out: `outside ${near(radius)}`, in: `inside ${near(radius)}`, holed: "in the hole" })[outcome];

function spoken(record, outcome, made) {
  const stands = log.ladderState(record);
  const ball = `Ball ${log.present(record).done.balls.length}: ${outcomeName(outcome).toLowerCase()}.`;
  if (made) return `${ball} Tier made.`;
  return stands ? `${ball} Run ${stands.reading.current.length} of ${stands.tier.run}.` : ball;
}

function undoText(record) {
  const step = log.undoes(record);
  if (!step) return "";
  if (step.do === "leave") return "the leave";
  if (step.do === "move") return `going on from ${kindName(record.plan.blocks[step.block].kind)}`;
  const { balls } = record.live.blocks[step.block];
  return `ball ${balls.length}, ${balls.at(-1)?.outcome}`;
}

// --- time -------------------------------------------------------------------

function Head({ record }) {
  const now = useNow(1000);
  const { planned, done } = log.present(record);
  const spent = log.secondsIn(done, now);
  const over = spent - planned.minutes * 60;
  useTimeUp(record, over);
  return html`<header class="head">
    <p class="head-block"><span class="head-kind">${kindName(planned.kind)}</span><span class="head-place">Block ${record.live.at + 1} of ${record.plan.blocks.length}</span></p>
    <p class=${over >= 0 ? "head-clock over" : "head-clock"}>
      <span class="head-time">${clock(over >= 0 ? over : spent)}</span>
      <span class="head-of">${over >= 0 ? `over its ${planned.minutes} min` : `of ${planned.minutes}:00`}</span>
    </p>
    <${Sending} />
  </header>`;
}

/** useTimeUp signals once when a block's time is up while it is watched. */
function useTimeUp(record, over) {
  const [watched, watch] = useState(null);
  const at = `${record.id}/${record.live.at}`;
  useEffect(() => {
    if (over < 0) watch(at);
    else if (watched === at) {
      watch(null);
      cue("time");
      said.value = "Time is up for this block.";
    }
  }, [at, over >= 0]);
}

function Split({ record }) {
  const now = useNow(5000);
  return html`<ol class="split" aria-label="Time spent so far">${record.plan.blocks.map((b, i) => {
    const done = record.live.blocks[i];
    const state = i === record.live.at ? "now" : done.skipped ? "skipped" : i < record.live.at ? "past" : "to come";
    return html`<li class=${`part ${state === "to come" ? "later" : state}`} aria-current=${i === record.live.at ? "step" : undefined}>
      <span class="part-kind">${kindName(b.kind)}</span>
      <span class="part-time">${done.skipped ? "skipped" : `${Math.floor(log.secondsIn(done, now) / 60)} of ${b.minutes}`}</span>
    </li>`;
  })}</ol>`;
}

/** useAway tells since when nobody has looked at a session that runs, or null. */
function useAway(record) {
  const key = `fringework.seen.${record.id}`;
  const [since, set] = useState(() => {
    const seen = Math.max(Number(localStorage.getItem(key)) || 0, log.lastDone(record));
    return record.live.phase === "running" && Date.now() - seen > log.ASK ? seen : null;
  });
  useNow(10_000); // looks again, and notes it
  useEffect(() => {
    if (!since && document.visibilityState === "visible") localStorage.setItem(key, Date.now());
  });
  return since && { since, done: () => set(null) };
}

function Away({ record, away: { since, done }, act }) {
  const gone = Date.now() - since;
  useEffect(() => {
    if (gone > log.GONE) act((r) => log.end(r, since));
  }, []);
  const kind = kindName(log.present(record).planned.kind);
  const leaveOut = async () => (await act((r, now) => log.leaveOut(r, since, now))) && done();
  return html`<${Notice} kind="warn" title=${`This page was away for ${span(gone)}`} live>
    <p>Was that practice of ${kind}?</p>
    <p class="row"><${Button} onClick=${done}>Yes, count it</${Button}><${Button} onClick=${leaveOut}>No, leave it out</${Button}></p>
  </${Notice}>`;
}

// --- what to play, and how it stands ----------------------------------------

function Task({ record, act }) {
  const { planned, done } = log.present(record);
  const task = log.task(record);
  const { drill = {} } = planned;
  const clubs = drill.clubs ?? [];
  const text = taskText(task);
  return html`<section class="task" aria-label="What to play">
    <p class="task-skill">${planned.skill_name}</p>
    ${planned.kind === "random" && html`<p class="task-label">Ball ${done.balls.length + 1}</p>`}
    <p class="task-now">${text || (planned.kind === "random" ? "A new lie, distance and club" : "One spot")}</p>
    ${planned.kind !== "random" && clubs.length > 1 && html`<ul class="clubs" aria-label="Clubs">${clubs.map((club) => {
      const balls = done.balls.filter((b) => b.club === club);
      const inside = balls.filter((b) => b.outcome !== "out").length;
      return html`<li><button type="button" class="club" aria-pressed=${club === task.club ? "true" : "false"} onClick=${() => act((r) => log.pick(r, club))}>
        <span class="club-name">${club}</span><span class="club-count">${inside} in of ${balls.length}</span></button></li>`;
    })}</ul>`}
    ${drill.text && html`<details class="task-text"><summary>The drill in words</summary><p>${drill.text}</p></details>`}
  </section>`;
}

function LadderState({ record }) {
  const { planned, done } = log.present(record);
  const stands = log.ladderState(record);
  const inside = done.balls.filter((b) => b.outcome !== "out").length;
  const holed = done.balls.filter((b) => b.outcome === "holed").length;
  const counted = `${ballsText(done.balls.length)}: ${inside} in${holed ? `, ${holed} of them holed` : ""}`;
  const recent = done.balls.slice(-5).map((b) => outcomeName(b.outcome).toLowerCase()).join(", ");
  return html`<section class="ladder-state" aria-label="How it stands">
    ${stands ? html`<${RunNow} stands=${stands} planned=${planned} done=${done} />` : html`<p class="run"><span class="run-word">In</span> <span class="run-number">${inside}</span> <span class="run-of">of ${done.balls.length}</span></p>`}
    ${done.balls.length > 0 && html`<p class="counted">${counted}. Last: ${recent}.</p>`}
  </section>`;
}

function RunNow({ stands: { tier, finished, made, reading }, planned, done }) {
  const { current } = reading;
  const unmeasured = reading.verdicts.at(-1) === "unmeasured";
  return html`
    ${made.map((m) => html`<p class="tier-made"><strong>Tier made:</strong> ${tierText(m.tier)}, with ball ${m.ball}.</p>`)}
    <div class="run-row">
      <p class="run"><span class="run-word">Run</span> <span class="run-number">${current.length}</span> <span class="run-of">of ${tier.run}${tier.holed ? `, ${current.holed} of ${tier.holed} holed` : ""}</span></p>
      <${Pips} tier=${tier} current=${current} />
    </div>
    <p class="goal">${finished ? "All tiers made. Keep it alive: " : "To make: "}${tierText(tier)}.</p>
    ${unmeasured && html`<p class="unmeasured">Not counted at ${near(tier.radius_m)}: this block judges at ${near(planned.radius_m)}. Say how far that ball was left, and it may count.</p>`}
    ${!finished && html`<${Odds} tier=${tier} current=${current} planned=${planned} done=${done} />`}
    ${reading.best.length > current.length && html`<p class="best">Best in this block: ${runText(reading.best)}.</p>`}`;
}

/** Pips show the run by position: filled or empty. */
function Pips({ tier, current }) {
  if (tier.run > 24) return null;
  const perRow = tier.run > 12 ? Math.ceil(tier.run / 2) : tier.run; // rows of one length
  return html`<p class="pips" aria-hidden="true" style=${{ gridTemplateColumns: `repeat(${perRow}, 1rem)` }}>${Array.from({ length: tier.run }, (_, i) => html`<span class=${i < current.length ? "pip full" : "pip"}></span>`)}</p>`;
}

function Odds({ tier, current, planned, done }) {
  const now = useNow(15_000);
  const [tables, set] = useState({});
  useEffect(() => void oddsBySkill().then(set), []);
  const odds = log.oddsFrom(tables[planned.skill_id], tier, current, log.ballsLeft(planned, done, now));
  if (!odds) return null;
  if (odds.balls < tier.run - current.length) return html`<p class="odds">Too few balls left in this block, at your pace, to make it.</p>`;
  return html`<p class="odds"><strong>${percent(odds.chance)}</strong> in the ${ballsText(odds.balls)} you have left at your pace.</p>`;
}

function Leaves({ record, act }) {
  const { planned, done } = log.present(record);
  const ball = done.balls.at(-1);
  if (!ball || ball.outcome === "holed") return html`<section class="leaves none"><p>${ball ? "Holed: nothing was left." : "Log each ball as it stops."}</p></section>`;
  const ruler = log.rulerFor(ball.outcome, planned.radius_m, toMetres(1)).map((m) => Math.round(m * 10_000) / 10_000);
  return html`<section class="leaves" aria-label="Distance left of the last ball, optional">
    <p>Distance left (${unitName()}), optional</p>
    <ul class="ruler">${ruler.map((m) => html`<li><button type="button" aria-pressed=${ball.leave_m === m ? "true" : "false"} aria-label=${`Left ${near(m)}`}
      onClick=${() => act((r, now) => log.leave(r, ball.leave_m === m ? null : m, now))}>${number(inUnit(m), 2)}</button></li>`)}</ul>
  </section>`;
}

// --- pausing, going on, ending ----------------------------------------------

function Paused({ act }) {
  return html`<section class="paused">
    <h2>Paused</h2>
    <p>The clock stands still. Nothing is lost if you close this page.</p>
    <${Button} kind="main" class="big" onClick=${() => act(log.resume)}>Go on</${Button}>
    <p><a href=${to("now")}>Leave this page; come back from Now</a></p>
  </section>`;
}

function Onward({ record, onward, ask }) {
  const following = record.plan.blocks[record.live.at + 1];
  if (!following) return html`<${Button} kind="main" onClick=${() => ask("end")}>End</${Button}>`;
  return html`<${Button} kind="main" onClick=${() => onward()} aria-label=${`Next block: ${kindName(following.kind)}`}>Next</${Button}>`;
}

function More({ record, act, close, skip, end }) {
  const [note, write] = useState(record.content.note ?? "");
  const keep = async () => {
    if (note !== (record.content.note ?? "")) await act((r, now) => log.noted(r, note, now));
    close();
  };
  const last = record.live.at + 1 >= record.plan.blocks.length;
  return html`<${Dialog} title="More" onClose=${keep}>
    <${Field} as="textarea" label="Note" hint="For yourself and your coach." rows="3" maxlength="4000" value=${note} onInput=${(e) => write(e.currentTarget.value)} />
    <div class="stack">
      <${Button} kind="main" onClick=${keep}>Keep and go on</${Button}>
      ${!last && html`<${Button} onClick=${() => keep().then(skip)}>Skip ${kindName(log.present(record).planned.kind)}</${Button}>`}
      <${Button} onClick=${() => keep().then(end)}>End the session</${Button}>
      <a class="button" href=${to("now")}>Leave this page; the clock goes on</a>
    </div>
  </${Dialog}>`;
}

function End({ record, act, close }) {
  const left = record.plan.blocks.length - record.live.at - 1;
  const finish = async () => {
    if (await act(log.end)) go(to("after", record.id), { replace: true });
  };
  return html`<${Dialog} title="End the session?" onClose=${close}>
    <p>${left ? `${left === 1 ? "One block is" : `${left} blocks are`} still to come and will count as not done.` : "This was the last block."} You can correct balls afterwards, in History.</p>
    <div class="stack">
      <${Button} kind="main" onClick=${finish}>End it</${Button}>
      <${Button} onClick=${close}>Go on practising</${Button}>
    </div>
  </${Dialog}>`;
}
