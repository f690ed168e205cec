// Practice: one block at a time, three targets, and what the balls in a row need
// next, all on one screen (green.css). A tap is stored before the screen says so;
// everything shown comes from the stored record, so a reload, a second tab and a
// dead battery change nothing.

import { change, parked, revised, sending, sessions, waiting } from "../base/outbox.js";
import { go, to } from "../base/router.js";
import { sendingText } from "../base/status.js";
import { clock, count, inUnit, near, number, percent, span, toMetres, unitName } from "../base/units.js";
import { ballOutcomes, ballsText, clubText, kindName, kindText, outcomeName, taskText, tierText } from "../base/words.js";
import { Button, Dialog, Field, html, Loading, Notice, Page, signal, useEffect, useNow, useRef, useState, Wrong } from "../base/ui.js";
import { cue, useAwake } from "./cues.js";
import * as log from "./log.js";
import { BlockText, lazy, usePlayout, useStations } from "./parts.js";
import { oddsBySkill } from "./plan.js";

/** said is what a screen reader hears of the last tap. */
const said = signal("");

const Test = lazy(() => import("./tests.js"), "Test");

/** Practice shows the session that goes on; its argument is the session's id. */
export function Practice({ args: [id] }) {
  if (!sessions.value) return html`<${Loading} what="the session" />`;
  const record = sessions.value.find((r) => r.id === id && r.live && !r.deleted);
  if (!record) return html`<${Page} title="Not on this phone"><p>This session is not kept on this phone. <a href=${to("now")}>Go to Now.</a></p></${Page}>`;
  if (record.plan.test && !log.over(record)) return html`<${Test} record=${record} />`;
  if (log.over(record)) return html`<${Moved} address=${record.plan.test ? to("tests") : to("after", id)} />`;
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
export function useSteps(id) {
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
  const [asking, ask] = useState(null); // "drill", "more", "end" or null
  const away = useAway(record);
  const { planned, done } = log.present(record);
  const paused = record.live.phase === "paused";
  useAwake(!paused);
  const stations = useStations(planned.kind === "stations");
  const playout = usePlayout(planned.kind === "playout");
  const open = log.openPlace(record);

  // What was struck is shown when it is stored; that it was touched, by :active.
  const strike = async (outcome, miss) => {
    const after = await (miss ? act(log.strikeOut, miss) : act(log.strike, outcome));
    if (!after) return;
    const stands = log.ladderState(after);
    const made = stands?.made.some((m) => m.now);
    painted(() => {
      cue(made ? "made" : outcome);
      said.value = spoken(after, outcome, stands, made);
    });
  };
  const strikeTen = async (inside) => {
    if (!(await act(log.strikeTen, inside))) return;
    cue("in");
    said.value = `Ten balls, ${inside} in.`;
  };
  const holeOut = async (strokes) => {
    if (!(await act(log.strokes, strokes))) return;
    cue(strokes === 2 ? "in" : "out");
    said.value = `Holed in ${strokes}.`;
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

  const full = log.ballsIn(record) >= log.MOST_BALLS;
  useKeys(!asking && !paused && !full, open ? null : strike, undo, holeOut);

  return html`<main id="main" class="practice" tabindex="-1">
    <h1 class="unseen">${record.plan.name}</h1>
    <${Head} record=${record} onward=${onward} ask=${ask} />
    ${away && html`<${Away} record=${record} away=${away} act=${act} />`}
    <div role="alert">${failed && html`<${Wrong} problem=${failed} />`}</div>
    ${paused
      ? html`<${Paused} act=${act} />`
      : html`<div class="play">
          <${Task} record=${record} act=${act} ask=${ask} stations=${stations} />
          ${playout ? html`<${playout.Stands} record=${record} />` : html`<${HowItStands} record=${record} />`}
        </div>`}
    <div class="hand">
      ${!paused && (open ? playout && html`<${playout.HoleOut} tapped=${tapped} say=${holeOut} leaves=${html`<${Leaves} record=${record} act=${act} />`} />` : html`${playout ? html`<${playout.Places} record=${record} />` : inTens(record) ? html`<${Tens} record=${record} strike=${strikeTen} />` : html`<${Leaves} record=${record} act=${act} />`}
        <div class=${planned.kind === "stations" ? "targets lands" : "targets"}>
          <${Outs} full=${full || log.allPlayed(record)} strike=${strike} hint=${hint("out", planned)} />
          ${ballOutcomes.slice(1).map((outcome) => html`<button type="button" class=${`target ${outcome}`} disabled=${full || log.allPlayed(record)} ...${tapped(() => strike(outcome))}><span class="target-word">${outcomeName(outcome)}</span><span class="target-hint">${hint(outcome, planned)}</span></button>`)}
        </div>
        <p class="keys">Keys: 1 out, 2 in, 3 holed; arrows: out and which way; Backspace: undo</p>`)}
      <div class="controls">
        <${Button} onClick=${undo} disabled=${!log.undoes(record)} aria-label=${log.undoes(record) ? `Undo ${undoText(record)}` : "Undo"}>Undo</${Button}>
        ${!paused && html`<${Button} onClick=${() => act(log.pause)}>Pause</${Button}>`}
        <${Button} onClick=${() => ask("more")}>More</${Button}>
      </div>
    </div>
    <p class="unseen" role="status">${said}</p>
    ${asking === "stations" && html`<${stations.SetUp} id=${record.id} close=${() => ask(null)} />`}
    ${asking === "drill" && html`<${Drill} record=${record} close=${() => ask(null)} />`}
    ${asking === "more" && html`<${More} record=${record} act=${act} close=${() => ask(null)} skip=${() => (ask(null), onward(true))} end=${() => ask("end")} />`}
    ${asking === "end" && html`<${End} record=${record} act=${act} close=${() => ask(null)} />`}
  </main>`;
}

const ways = ["long", "left", "right", "short"];
const arrows = { ArrowUp: "long", ArrowLeft: "left", ArrowRight: "right", ArrowDown: "short" };

/** SWIPE is from how many pixels a touch is a swipe. */
const SWIPE = 24;

let from = null; // where the finger that is down went down

/**
 * tapped calls fn for a click, and for a finger as soon as it is lifted: the
 * click that a browser makes of that comes later, and is told not to come.
 * swiped is called for a swipe, with its way.
 */
export const tapped = (fn, swiped) => ({
  onPointerDown: (e) => (from = e.isPrimary ? [e.clientX, e.clientY] : null),
  onTouchEnd: (e) => {
    if (!from || !e.cancelable) return; // another finger, or the page was moved
    e.preventDefault();
    const { clientX, clientY } = e.changedTouches[0];
    const [x, y] = [clientX - from[0], clientY - from[1]];
    if (Math.hypot(x, y) < SWIPE) fn(e);
    else swiped?.(Math.abs(x) > Math.abs(y) ? (x > 0 ? "right" : "left") : y > 0 ? "short" : "long");
  },
  onClick: fn,
});

/** Outs is the target for out, with an edge for each way to miss: by touch or by swipe. */
export function Outs({ full, strike, hint }) {
  const miss = (way) => strike("out", way);
  return html`<div class="outs" ...${tapped((e) => miss(e.target.closest("button")?.dataset.way), miss)}>
    <button type="button" class="target out" disabled=${full} aria-label=${`Out ${hint}`}><span class="target-word">Out</span></button>
    ${ways.map((way) => html`<button type="button" class=${`edge ${way}`} data-way=${way} disabled=${full} aria-label=${`Out, ${way}`}><span>${way}</span></button>`)}
  </div>`;
}

/** useKeys lets digits and arrows log balls, or digits the strokes of a place where there is no strike, and Backspace take back, while on is true. */
function useKeys(on, strike, undo, holeOut) {
  const does = useRef();
  does.current = (key) => {
    const [outcome, miss] = [ballOutcomes[Number(key) - 1], arrows[key]];
    if (!strike && key >= "2" && key <= "5") holeOut(Number(key));
    else if (strike && (outcome || miss)) strike(outcome ?? "out", miss);
    else if (key === "Backspace") undo();
    else return false;
    return true;
  };
  useEffect(() => {
    if (!on) return;
    const press = (e) => e.ctrlKey || e.altKey || e.metaKey || e.repeat || (does.current(e.key) && e.preventDefault());
    addEventListener("keydown", press);
    return () => removeEventListener("keydown", press);
  }, [on]);
}

/** hint says what a target is for: at stations a ball is judged where it lands. */
function hint(outcome, { kind, radius_m }) {
  const lands = kind === "stations" ? "lands " : "";
  const circle = near(radius_m).replace(" ", "\u00a0"); // on one line
  return { out: `${lands}outside ${circle}`, in: `${lands}inside ${circle}`, holed: lands ? "counts as in" : "in the hole" }[outcome];
}

/** painted does something once the screen has shown what stands. */
const painted = (fn) => requestAnimationFrame(() => setTimeout(fn));

function spoken(record, outcome, stands, made) {
  const ball = `Ball ${log.present(record).done.balls.length}: ${outcomeName(outcome).toLowerCase()}.`;
  if (made) return `${ball} Step passed.`;
  return stands ? `${ball} ${stands.reading.current.length} ${ofRun(stands)}in a row.` : ball;
}

function undoText(record) {
  const step = log.undoes(record);
  if (!step) return "";
  if (step.do === "leave") return { contact: "thin or fat", strokes: "the strokes" }[step.name] ?? "the distance to the hole";
  if (step.do === "move") return `going on from ${kindName(record.plan.blocks[step.block].kind)}`;
  const { balls } = record.live.blocks[step.block];
  return step.balls > 1 ? `the last ${step.balls} balls` : `ball ${balls.length}, ${balls.at(-1)?.outcome}`;
}

// --- time -------------------------------------------------------------------

function Head({ record, onward, ask }) {
  const now = useNow(1000);
  const { planned, done } = log.present(record);
  const spent = log.secondsIn(done, now);
  const over = spent - planned.minutes * 60;
  const following = record.plan.blocks[record.live.at + 1];
  const kind = over >= 0 || log.allPlayed(record) ? "main" : "plain"; // the loud one at its time
  useTimeUp(record, over);
  return html`<header class="head">
    <p class="head-block"><span class="head-kind">${planned.cards ? "Match" : kindName(planned.kind)}</span> <span class="head-place">${planned.cards ? record.plan.name.split(" ")[1] : `Block ${record.live.at + 1} of ${record.plan.blocks.length}`}</span></p>
    <p class=${over >= 0 ? "head-clock over" : "head-clock"}>
      <span class="head-time">${clock(over >= 0 ? over : spent)}</span>
      <span class="head-of">${over >= 0 ? `over ${planned.minutes} min` : `of ${planned.minutes}:00`}</span>
    </p>
    ${following
      ? html`<${Button} class="onward" kind=${kind} onClick=${() => onward()} aria-label=${`Next block: ${kindName(following.kind)}`}>Next</${Button}>`
      : html`<${Button} class="onward" kind=${kind} onClick=${() => ask("end")}>End</${Button}>`}
    <${Hour} record=${record} />
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

/** Hour is the session's blocks as one bar, each as wide as its minutes and as full as its time. */
function Hour({ record }) {
  const now = useNow(5000);
  const seconds = record.live.blocks.map((b) => log.secondsIn(b, now));
  const total = Math.floor(seconds.reduce((sum, s) => sum + s, 0) / 60);
  return html`<div class="hour">
    <ol class="split" aria-label="Time spent so far">${record.plan.blocks.map((b, i) => html`<li class=${i === record.live.at ? "part now" : "part"} style=${{ flexGrow: b.minutes }} aria-current=${i === record.live.at ? "step" : undefined}>
      <span class="part-full" style=${{ width: `${Math.min(100, (seconds[i] / b.minutes) * (100 / 60))}%` }}></span>
      <span class="unseen">${kindName(b.kind)}, ${record.live.blocks[i].skipped ? "skipped" : `${Math.floor(seconds[i] / 60)} of ${b.minutes}`}</span>
    </li>`)}</ol>
    <p class="hour-time">${total} of ${record.plan.minutes} min</p>
    <${Sent} />
  </div>`;
}

const unsentWords = { offline: "not sent", "sign-in": "sign in" };

/** Sent is a mark: full when all is sent, with a word when something is wrong. */
function Sent() {
  const word = parked.value.length ? "refused" : waiting.value.length ? unsentWords[sending.value] : "";
  return html`<p class=${`sending ${waiting.value.length ? "unsent" : ""}`} data-word=${word} role="status"><span class="unseen">${sendingText()}</span></p>`;
}

/** useAway tells since when nobody has looked at a session that runs, or null. */
function useAway(record) {
  const key = `fringework.seen.${record.id}`;
  const [since, set] = useState(() => {
    const seen = Math.max(Number(localStorage.getItem(key)) || 0, log.lastDone(record));
    return record.live.phase === "running" && Date.now() - seen > log.ASK ? seen : null;
  });
  const now = useNow(10_000); // looks again, and notes it
  useEffect(() => {
    if (!since && document.visibilityState === "visible") localStorage.setItem(key, Date.now());
  }, [now]);
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

/** STEP is a pace, in metres. */
const STEP = 0.9;

function Task({ record, act, ask, stations }) {
  const { planned, done } = log.present(record);
  const task = log.task(record);
  const random = planned.kind === "random" || planned.kind === "playout";
  const [place, number] = planned.kind === "playout" ? ["Place", done.balls.length + (log.openPlace(record) ? 0 : 1)] : [planned.cards ? "Card" : "Ball", done.balls.length + 1];
  const walk = done.balls.length > 0 && task.walk_m && html` · <span class="walk">walk on ${count(Math.max(1, Math.round(task.walk_m / STEP)), "pace")}</span>`;
  const clubs = planned.drill?.clubs ?? [];
  const drill = planned.drill?.text && html`<${Button} kind="quiet" onClick=${() => ask("drill")}>Drill</${Button}>`;
  return html`<section class="task" aria-label="What to play">
    <p class="task-skill">${planned.skill_name}${walk}</p>
    <p class="task-now">${planned.cards && log.allPlayed(record) ? `All ${planned.cards} cards are played.` : html`${random && html`<span class="task-label">${place} ${number}</span> · `}${taskText(task, undefined, planned.drill?.distances_m) || (random ? "A new lie, distance and club" : "One spot")}`}</p>
    <span class="task-text">${stations ? html`<${stations.Where} record=${record} open=${() => ask("stations")}>${drill}</${stations.Where}>` : drill}</span>
    ${!random && clubs.length > 1 && html`<ul class="clubs" aria-label="Clubs">${clubs.map((club) => {
      const balls = done.balls.filter((b) => b.club === club);
      return html`<li><button type="button" class="club" aria-pressed=${club === task.club ? "true" : "false"} onClick=${() => act((r) => log.pick(r, club))}>
        <span class="club-name">${clubText(club)}</span>${balls.length > 0 && html`<span class="club-count">${insideOf(balls)} of ${balls.length} in</span>`}</button></li>`;
    })}</ul>`}
  </section>`;
}

/** Drill is the block in full. */
function Drill({ record, close }) {
  const { planned } = log.present(record);
  return html`<${Dialog} title="The drill" onClose=${close}>
    <${BlockText} block=${planned} />
    ${record.plan.counts && html`<p>${record.plan.counts}</p>`}
    <${Button} kind="main" onClick=${close}>Go on practising</${Button}>
  </${Dialog}>`;
}

function HowItStands({ record }) {
  const { planned, done } = log.present(record);
  const stands = log.ladderState(record);
  const { balls } = done;
  const holed = balls.filter((b) => b.outcome === "holed").length;
  const holedText = holed ? `, ${holed} holed` : "";
  const alone = !stands && !planned.say && planned.kind !== "technique"; // the counts are all there is to say
  return html`<section class="stands" aria-label="How it stands">
    ${stands ? html`<${InARow} record=${record} stands=${stands} />`
      : planned.say || planned.kind === "technique" ? html`<p class="cue">${planned.say ?? record.plan.cue ?? cueOf(planned)}</p>`
      : balls.length > 0 && html`<p class="run"><span class="run-number">${insideOf(balls)}</span> <span class="run-of">of ${balls.length} in${holedText}</span></p>`}
    <p class="counted">${balls.length === 0 ? "No balls yet" : planned.quiet ? ballsText(balls.length) : alone ? "Last balls" : `${ballsText(balls.length)}: ${insideOf(balls)} in${holedText}`} ${!planned.quiet && html`<${Marks} balls=${balls} length=${stands?.reading.current.length ?? 0} />`}</p>
  </section>`;
}

/** insideOf counts the balls that are in or holed. */
const insideOf = (balls) => balls.filter((b) => b.outcome !== "out").length;

/** cueOf is the one thought of a technique block: its drill's first sentence. */
const cueOf = ({ kind, drill }) => /^.+?[.!?](?=\s|$)/.exec(drill?.text ?? "")?.[0] ?? (drill?.text || kindText(kind));

/** Marks are the last ten balls in the shapes of the targets; those in a row now are underlined. */
function Marks({ balls, length }) {
  const shown = balls.slice(-10);
  if (!shown.length) return null;
  return html`<span class="marks" role="img" aria-label=${`Last: ${shown.map((b) => [b.outcome, b.miss].filter(Boolean).join(" ")).join(", ")}`}>${shown.map((b, i) => html`<i class=${`mark ${b.outcome} ${b.miss ?? ""}${shown.length - i <= length ? " row" : ""}`}></i>`)}</span>`;
}

function InARow({ record, stands }) {
  const { tier, made, finished, skill, reading: { best, current } } = stands;
  const { planned, done } = log.present(record);
  const now = made.some((m) => m.now);
  const most = Math.max(best.length, skill.best_run?.length ?? 0);
  const word = wordNow(stands, planned, done);
  return html`
    <p class="run">${finished && !now && html`<span class="run-of">Passed · best ${most}, now</span> `}<span class="run-number">${current.length}</span> <span class="run-of">${ofRun(stands)}in a row inside ${near(tier.radius_m)}${tier.holed ? `, ${current.holed} of ${tier.holed} holed` : ""}</span></p>
    <${Pips} run=${tier.run} length=${current.length} />
    <p class="word"><strong>${word}</strong> ${!finished && done.balls.length > 0 && html`<${Odds} tier=${tier} current=${current} planned=${planned} done=${done} />`} ${!finished && !now && made.length > 0 && html`<span class="odds">${count(made.length, "step")} passed today</span>`}</p>`;
}

/** ofRun says of how many in a row, until there are as many. */
const ofRun = ({ tier, finished, reading: { current } }) => (finished || current.length > tier.run ? "" : `of ${tier.run} `);

const numbers = ["none", "one", "two", "three"];

/** wordNow is what there is to say at this ball, or nothing. */
function wordNow({ tier, made, finished, skill, reading: { current, verdicts } }, planned, { balls }) {
  const passed = made.filter((m) => m.now).at(-1);
  if (passed) return `Step passed: ${tierText(passed.tier)}`;
  if (verdicts.at(-1) === "unmeasured") return mayCount(balls.at(-1), near(planned.radius_m), tier);
  if (finished) return balls.length ? "" : "All steps passed";
  const [left, holes] = [tier.run - current.length, (tier.holed ?? 0) - current.holed];
  if (holes > 0 && left <= holes) return `Now hole ${numbers[holes] ?? holes}.`;
  if (current.length && left <= 2) return left === 1 ? "One more." : "Two more.";
  return current.length > Math.max(2, skill.best_run?.length ?? 0) ? "Best ever." : "";
}

/** mayCount asks how far a ball is that was judged at another circle than the step's. */
const mayCount = ({ outcome }, circle, tier) =>
  `${outcomeName(outcome)} at ${circle} may ${outcome === "out" ? "still be inside" : "be outside"} ${number(inUnit(tier.radius_m), 2)}: tap its distance`;

/** Pips show the balls in a row by position, or as a bar when they are many. */
function Pips({ run, length }) {
  if (run > 24) return html`<p class="pips bar" aria-hidden="true"><span class="part-full" style=${{ width: `${Math.min(100, (100 * length) / run)}%` }}></span></p>`;
  const perRow = run > 12 ? Math.ceil(run / 2) : run; // rows of one length
  return html`<p class="pips" aria-hidden="true" style=${{ gridTemplateColumns: `repeat(${perRow}, minmax(0, 1.5em))` }}>${Array.from({ length: run }, (_, i) => html`<span class=${i < length ? "pip full" : "pip"}></span>`)}</p>`;
}

function Odds({ tier, current, planned, done }) {
  const now = useNow(15_000);
  const [tables, set] = useState({});
  useEffect(() => void oddsBySkill().then(set), []);
  const odds = log.oddsFrom(tables[planned.skill_id], tier, current, log.ballsLeft(planned, done, now));
  if (!odds) return null;
  if (odds.balls < tier.run - current.length) return html`<span class="odds">Too few balls left.</span>`;
  return html`<span class="odds">${percent(odds.chance)} chance in your ${ballsText(odds.balls)} left.</span>`;
}

/** inTens reports whether the block may be logged ten balls at a time: technique that is not tested. */
const inTens = (record) => log.present(record).planned.kind === "technique" && !log.ladderState(record);

function Tens({ record, strike }) {
  const full = log.ballsIn(record) + log.TEN > log.MOST_BALLS;
  return html`<section class="leaves" aria-label="Ten balls at once: how many stopped inside, optional">
    <p class="small">${"In (of\u00a010)"}</p>
    <ul class="ruler tens">${Array.from({ length: log.TEN + 1 }, (_, n) => html`<li><button type="button" disabled=${full} aria-label=${`Ten balls, ${n} in`} onClick=${() => strike(n)}>${n}</button></li>`)}</ul>
  </section>`;
}

export function Leaves({ record, act }) {
  const { planned, done } = log.present(record);
  const ball = done.balls.at(-1);
  const lands = planned.kind === "stations"; // where it then stops is not judged
  if (!ball) return html`<p class="leaves none">Log each ball as it ${lands ? "lands" : "stops"}.</p>`;
  const asked = planned.drill?.ask_contact && html`<${Struck} ball=${ball} act=${act} />`;
  if (lands || ball.outcome === "holed") return html`<div class="leaves">${asked && html`<p class="small">Contact</p>${asked}`}</div>`;
  const ruler = log.rulerFor(ball.outcome, planned.radius_m, toMetres(1)).map((m) => Math.round(m * 10_000) / 10_000);
  return html`<section class="leaves" aria-label="Distance from the last ball to the hole, optional">
    <p class="small">${"To\u00a0hole"} (${unitName()})</p>
    <ul class="ruler">${ruler.map((m) => html`<li><button type="button" aria-pressed=${ball.leave_m === m ? "true" : "false"} aria-label=${`${near(m)} to the hole`}
      onClick=${() => act((r, now) => log.leave(r, ball.leave_m === m ? null : m, now))}>${number(inUnit(m), 2)}</button></li>`)}</ul>
    ${asked}
  </section>`;
}

/** Struck asks whether the last ball was thin or fat, where the coach wants to know. */
function Struck({ ball, act }) {
  return html`<ul class="ruler struck" aria-label="How the last ball was struck, optional">${["thin", "fat"].map((word) => html`<li><button type="button" aria-pressed=${ball.contact === word ? "true" : "false"}
    onClick=${() => act((r, now) => log.contact(r, ball.contact === word ? null : word, now))}>${word}</button></li>`)}</ul>`;
}

// --- pausing, going on, ending ----------------------------------------------

function Paused({ act }) {
  return html`<section class="paused">
    <h2>Paused</h2>
    <p>You can close this page; nothing is lost.</p>
    <${Button} kind="main" class="big" onClick=${() => act(log.resume)}>Go on</${Button}>
    <p><a href=${to("now")}>Back to Now</a></p>
  </section>`;
}

function More({ record, act, close, skip, end }) {
  const [note, write] = useState(record.content.note ?? "");
  const noted = note !== (record.content.note ?? "");
  const keep = async () => {
    if (noted) await act((r, now) => log.noted(r, note, now));
    close();
  };
  const last = record.live.at + 1 >= record.plan.blocks.length;
  return html`<${Dialog} title="More" onClose=${keep}>
    <div class="stack">
      <${Button} kind="main" onClick=${keep}>${noted ? "Save note" : "Back to practice"}</${Button}>
      ${!last && html`<${Button} onClick=${() => keep().then(skip)}>Skip ${kindName(log.present(record).planned.kind)}</${Button}>`}
      <${Button} onClick=${() => keep().then(end)}>End the session</${Button}>
      <a class="button" href=${to("now")}>Leave this page; the clock keeps running</a>
    </div>
    <${Field} as="textarea" label="Note" hint="For yourself and your coach." rows="3" maxlength="4000" value=${note} onInput=${(e) => write(e.currentTarget.value)} />
  </${Dialog}>`;
}

function End({ record, act, close }) {
  const left = record.plan.blocks.length - record.live.at - 1;
  const finish = async () => {
    if (await act(log.end)) go(to("after", record.id), { replace: true });
  };
  return html`<${Dialog} title="End the session?" onClose=${close}>
    <p>${left ? `${left === 1 ? "One block is" : `${left} blocks are`} not done yet and will be left out.` : "This was the last block."} You can still correct balls in History.</p>
    <div class="stack">
      <${Button} kind="main" onClick=${finish}>End it</${Button}>
      <${Button} onClick=${close}>Go on practising</${Button}>
    </div>
  </${Dialog}>`;
}
