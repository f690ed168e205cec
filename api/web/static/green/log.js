// A session as it is practised: pure steps from one record to the next, without
// a clock, a screen or a store. practice.js shows them, outbox.js keeps and sends
// what comes out. README.md tells what a record holds.
//
// Time is kept as when it was, never as a count of ticks, so that a locked,
// reloaded or dead phone loses none of it.

import { read, tenths, tested } from "../base/judge.js";
import { uuid7 } from "../base/uuid7.js";

/** Bounds of the service: balls in a session, seconds in a block. */
export const MOST_BALLS = 2000;
const MOST_SECONDS = 14_400;

/**
 * begin starts a session; said is what it is sent with, such as its surface.
 * clock is added to this phone's time to get the service's.
 */
export function begin({ plan, skills, time_zone, said }, now, clock = 0) {
  const record = {
    id: uuid7(now), revision: 0, unsent: 0, clock, plan, skills, note: null, parked: null,
    live: { started: now, ended: null, phase: "running", at: 0, steps: [], blocks: plan.blocks.map(() => ({ spans: [], balls: [], skipped: false })) },
    content: { time_zone, ...said },
  };
  return built(edited(record, 0, (b) => open(b, now)), now);
}

/** over reports whether the session has ended. */
export const over = (record) => record.live?.phase === "over";

/** present gives the block that is practised now: what is planned and what was done. */
export const present = (record) => ({ planned: record.plan.blocks[record.live.at], done: record.live.blocks[record.live.at] });

const last = (list) => list[list.length - 1];

function edited(record, at, fn) {
  const blocks = record.live.blocks.map((b, i) => (i === at ? fn(b) : b));
  return { ...record, live: { ...record.live, blocks } };
}

const open = (block, now) => ({ ...block, spans: [...block.spans, [now, null]] });

function close(block, now) {
  const end = last(block.spans);
  if (!end || end[1] !== null) return block;
  // A clock that was set back gives no negative time.
  return { ...block, spans: [...block.spans.slice(0, -1), [end[0], Math.max(end[0], now)]] };
}

/** secondsIn is the time that a block got by now. */
export function secondsIn(block, now) {
  const ms = block.spans.reduce((sum, [from, to]) => sum + Math.max(0, (to ?? now) - from), 0);
  return Math.min(MOST_SECONDS, ms / 1000);
}

/** ballsIn counts the balls of the session. */
export const ballsIn = (record) => record.live.blocks.reduce((n, b) => n + b.balls.length, 0);

// --- what to play -----------------------------------------------------------

/** PLACES is how many places a block is played out from, at most. */
export const PLACES = 18;

/** mostIn is how many balls a block has at most: one for each place or card, where they are counted. */
const mostIn = ({ kind, cards }) => (kind === "playout" ? PLACES : cards ?? MOST_BALLS);

/** allPlayed reports whether the present block has no more places or cards. */
export const allPlayed = (record) => present(record).done.balls.length >= mostIn(present(record).planned);

/** openPlace is the ball of the present block that is still to be holed, if it is played out. */
export function openPlace(record) {
  const { planned, done } = present(record);
  const ball = last(done.balls);
  return planned.kind === "playout" && ball && !ball.strokes ? ball : undefined;
}

/** task is what the present block plays now: { lie, distance_m, club }; where it is dealt, with walk_m, how far from the place before. */
export function task(record) {
  const { planned, done } = present(record);
  const { lies = [], distances_m: distances = [], clubs = [] } = planned.drill ?? {};
  if (planned.deck?.length) return planned.deck[(done.balls.length - (openPlace(record) ? 1 : 0)) % planned.deck.length];
  const only = (list) => (list.length === 1 ? list[0] : undefined);
  return { lie: only(lies), distance_m: only(distances), club: clubs.length > 1 ? clubInTurn(planned, done, clubs) : only(clubs) };
}

/**
 * clubInTurn is the club that was picked or, at stations, the one after the last
 * ball's, and elsewhere the last ball's.
 */
function clubInTurn(planned, done, clubs) {
  if (done.club) return done.club;
  const before = clubs.indexOf(last(done.balls)?.club);
  if (before < 0) return clubs[0];
  return planned.kind === "stations" ? clubs[(before + 1) % clubs.length] : clubs[before];
}

/** pick takes another club for the next ball. */
export const pick = (record, club) => edited(record, record.live.at, (b) => ({ ...b, club }));

// --- steps ------------------------------------------------------------------

/** strike logs a ball: outcome is "out", "in" or "holed". A ball that is played out is holed first. */
export function strike(record, outcome, now) {
  const { planned } = present(record);
  const playout = planned.kind === "playout";
  if (openPlace(record)) return record;
  return struck(record, [{ outcome, ...(playout && outcome === "holed" && { strokes: 1 }) }], now);
}

/** strokes says how many it took until the ball of the open place was holed. */
export const strokes = (record, n, now) => (openPlace(record) ? more(record, "strokes", n, now) : record);

/** How long after a ball that is out its way may still be said, in seconds: nobody hits the next one sooner. */
const SOON = 4;

/**
 * strikeOut logs a ball that is out, and which way it missed: "short", "long", "left"
 * or "right"; said straight after a ball that is out, it is that ball's way.
 */
export function strikeOut(record, miss, now) {
  const { at, started, steps } = record.live;
  const { outcome, miss: said, after_s } = last(present(record).done.balls) ?? {};
  const ten = last(steps.filter((s) => s.do === "ball"))?.balls === TEN;
  if (outcome !== "out" || said || ten || (now - started) / 1000 - after_s > SOON) return openPlace(record) ? record : struck(record, [{ outcome: "out", miss }], now);
  return built(withMore(record, at, "miss", miss), now);
}

/**
 * land logs where a ball of stations landed and stopped, with the club it names: it is
 * in when it landed inside the circle around the spot that it was aimed at.
 */
export function land(record, landing, now) {
  const { radius_m } = present(record).planned;
  const [by, within] = [landing.carry_m - landing.aim_m, tenths(Math.abs(landing.carry_m - landing.aim_m)) <= tenths(radius_m)];
  const ball = within ? { outcome: "in" } : { outcome: "out", miss: by < 0 ? "short" : "long" };
  const said = onGround(pick(record, landing.club), { landings: [...(record.content.landings ?? []), landing] }, now);
  return struck(said, [ball], now, { landed: true });
}

/** TEN is how many balls a technique block logs at once. */
export const TEN = 10;

/** strikeTen logs ten balls of a technique block, so many of them in. */
export const strikeTen = (record, inside, now) => struck(record, Array.from({ length: TEN }, (_, i) => ({ outcome: i < inside ? "in" : "out" })), now);

function struck(record, said, now, more = {}) {
  const { at, started, blocks } = record.live;
  if (blocks[at].balls.length + said.length > mostIn(record.plan.blocks[at])) return record;
  const earlier = Math.max(0, ...blocks.flatMap((b) => b.balls.slice(-1)).map((b) => b.after_s));
  const after = Math.max(earlier, (now - started) / 1000, 0.001);
  const { lie, distance_m, club } = task(record);
  const ball = { after_s: Math.round(after * 1000) / 1000 };
  if (lie) ball.lie = lie;
  if (distance_m) ball.distance_m = distance_m;
  if (club) ball.club = club;
  const next = edited(record, at, (b) => ({ ...b, club: undefined, balls: [...b.balls, ...said.map((s) => ({ ...s, ...ball }))] }));
  return built(stepped(next, { do: "ball", block: at, balls: said.length, ...more }), now);
}

/** leave says how far the last ball was left, in metres; null takes it back. */
export const leave = (record, metres, now) => more(record, "leave_m", metres, now);

/** contact says that the last ball was "thin" or "fat"; null takes it back. */
export const contact = (record, word, now) => more(record, "contact", word, now);

/** more says more of the last ball. */
function more(record, name, value, now) {
  const { at } = record.live;
  const ball = last(record.live.blocks[at].balls);
  if (!ball) return record;
  return built(stepped(withMore(record, at, name, value), { do: "leave", name, block: at, before: ball[name] ?? null }), now);
}

function withMore(record, at, name, value) {
  return edited(record, at, (b) => {
    const { [name]: _, ...ball } = last(b.balls);
    return { ...b, balls: [...b.balls.slice(0, -1), value == null ? ball : { ...ball, [name]: value }] };
  });
}

/** next goes on to the next block; skipped says that this one is left undone. */
export function next(record, now, skipped = false) {
  const { at, blocks } = record.live;
  if (at + 1 >= blocks.length) return end(skipped ? edited(record, at, (b) => ({ ...b, skipped: true })) : record, now);
  const step = { do: "move", block: at, spans: blocks[at + 1].spans.length };
  let moved = edited(record, at, (b) => ({ ...close(b, now), skipped }));
  moved = edited(moved, at + 1, (b) => open({ ...b, skipped: false }, now));
  moved = { ...moved, live: { ...moved.live, at: at + 1, phase: "running" } };
  return built(stepped(moved, step), now);
}

/** pause stops the clock. */
export function pause(record, now) {
  if (record.live.phase !== "running") return record;
  const paused = edited(record, record.live.at, (b) => close(b, now));
  return built({ ...paused, live: { ...paused.live, phase: "paused" } }, now);
}

/** resume lets it go on. */
export function resume(record, now) {
  if (record.live.phase !== "paused") return record;
  const running = edited(record, record.live.at, (b) => open(b, now));
  return built({ ...running, live: { ...running.live, phase: "running" } }, now);
}

/** leaveOut takes the time since an instant out of the present block. */
export function leaveOut(record, since, now) {
  return built(edited(record, record.live.at, (b) => open(close(b, since), now)), now);
}

/** end ends the session. */
export function end(record, now) {
  const ended = edited(record, record.live.at, (b) => close(b, now));
  return built({ ...ended, live: { ...ended.live, phase: "over", ended: Math.max(now, record.live.started) } }, now);
}

/** noted keeps the student's note. */
export const noted = (record, note, now) => built({ ...record, content: { ...record.content, note } }, now);

/** onGround keeps what is said of the green: green and landings are sent, the spot is the phone's. */
export const onGround = (record, { spot = record.live.spot, ...said }, now) => built({ ...record, live: { ...record.live, spot }, content: { ...record.content, ...said } }, now);

// --- undoing ----------------------------------------------------------------

function stepped(record, step) {
  return { ...record, live: { ...record.live, steps: [...record.live.steps, step] } };
}

/** undoes is the step that undo takes back, or undefined. */
export const undoes = (record) => last(record.live.steps);

/** undo takes back the last step: a ball, a leave, or going on to a block. */
export function undo(record, now) {
  const step = undoes(record);
  if (!step) return record;
  const before = { ...record, live: { ...record.live, steps: record.live.steps.slice(0, -1) } };
  switch (step.do) {
    case "ball":
      return built(edited(step.landed ? withoutLanding(before) : before, step.block, (b) => ({ ...b, balls: b.balls.slice(0, -(step.balls ?? 1)) })), now);
    case "leave":
      return built(withMore(before, step.block, step.name ?? "leave_m", step.before), now);
    default:
      return built(back(before, step), now);
  }
}

const withoutLanding = (record) => ({ ...record, content: { ...record.content, landings: record.content.landings.slice(0, -1) } });

/** back undoes going on: the time since then counts for the block before. */
function back(record, { block, spans }) {
  const since = record.live.blocks[block + 1].spans.slice(spans);
  let moved = edited(record, block + 1, (b) => ({ ...b, spans: b.spans.slice(0, spans) }));
  moved = edited(moved, block, (b) => ({ ...b, skipped: false, spans: [...b.spans, ...since] }));
  return { ...moved, live: { ...moved.live, at: block } };
}

// --- what is sent -----------------------------------------------------------

/** built brings content, what the service is sent, up to date as of now. */
function built(record, now) {
  const { live, plan, clock, content } = record;
  const iso = (ms) => new Date(ms + clock).toISOString();
  const out = { started_at: iso(live.started), blocks: [] };
  if (plan.assignment_id) Object.assign(out, { assignment_id: plan.assignment_id, week: plan.week, plan: plan.plan, ...(plan.version ? { version: plan.version } : {}) });
  if (live.ended) out.ended_at = iso(live.ended);
  for (const name of ["note", "time_zone", "surface", "variant", "match_id", "green", "landings"]) if (content[name]) out[name] = content[name];
  live.blocks.forEach((b, i) => {
    const seconds = Math.round(secondsIn(b, now));
    if (b.balls.length === 0 && (b.skipped || seconds === 0)) return; // not done
    const { number, kind, skill_id, radius_m, purpose, quiet } = plan.blocks[i];
    const block = { kind, skill_id, radius_m, seconds, balls: b.balls, ...(purpose && { purpose }), ...(quiet && { quiet }) };
    out.blocks.push(plan.assignment_id ? { plan_block: number, ...block } : block);
  });
  return { ...record, content: out };
}

// --- results ---------------------------------------------------------------

/**
 * ladderState says how the present block stands for its skill's ladder: { skill,
 * tier (the next to pass, or the hardest), index, finished, reading, made (steps
 * passed in this session with their ball, now being true for those that the last
 * ball passed) }, or null when balls in a row do not count.
 */
export function ladderState(record) {
  const { planned, done } = present(record);
  const skill = record.skills[planned.skill_id];
  if (planned.quiet || !skill?.ladder?.tiers?.length || !tested(skill.ladder, planned, record.content)) return null;
  const made = madeIn(record, planned.skill_id).map((m) => ({ ...m, now: m.block === record.live.at && m.ball === done.balls.length }));
  const tiers = skill.ladder.tiers;
  const held = Math.max(skill.held ?? 0, ...made.map((m) => m.index + 1));
  const index = Math.min(held, tiers.length - 1);
  const tier = tiers[index];
  return { skill, tier, index, finished: held >= tiers.length, made, reading: read(done.balls, tier, planned.radius_m) };
}

/**
 * madeIn lists the tiers of a skill that the session made and that the student
 * did not hold before: { index, tier, block, ball }, positions from 0 and 1.
 */
export function madeIn(record, skillId) {
  const skill = record.skills[skillId];
  const made = [];
  (skill?.ladder?.tiers ?? []).forEach((tier, index) => {
    if (index < (skill.held ?? 0)) return;
    for (let i = 0; i < record.live.blocks.length; i++) {
      const planned = record.plan.blocks[i];
      if (planned.skill_id !== skillId || !tested(skill.ladder, planned, record.content)) continue;
      const { passedAt } = read(record.live.blocks[i].balls, tier, planned.radius_m);
      if (passedAt) {
        made.push({ index, tier, block: i, ball: passedAt });
        return;
      }
    }
  });
  return made;
}

/** The balls an hour of a block of which the service gave no pace: common practice, no source. */
const PACE = 105;

/** How many balls the pace stands for that a block begins with, beside its own (our choice). */
const BEFORE = 10;

/** ballsLeft is how many balls the rest of the block leaves: at the pace that the service gave, and more and more at its own. */
export function ballsLeft(planned, done, now) {
  const spent = secondsIn(done, now);
  const pace = (done.balls.length + BEFORE) / (spent + (BEFORE * 3600) / (planned.balls_an_hour ?? PACE));
  return Math.max(0, Math.floor(pace * (planned.minutes * 60 - spent)));
}

/**
 * oddsFrom looks up the chance to make a tier within some balls, from the run as
 * it stands: { chance, balls }, or null when the phone has no table.
 * The service computed it; here it is only read.
 */
export function oddsFrom(odds, tier, current, balls) {
  const sameTier = (t) => t.run === tier.run && t.radius_m === tier.radius_m && (t.holed ?? 0) === (tier.holed ?? 0);
  if (!odds || !sameTier(odds.tier)) return null; // a tier that was made since
  // The last row stands for its length or more: such a run waits for holed balls.
  const row = odds.table[Math.min(current.length, odds.table.length - 1)]?.[Math.min(current.holed, tier.holed ?? 0)];
  if (!row) return null;
  const n = Math.min(balls, row.length - 1);
  return { chance: row[n], balls: n };
}

// --- away -------------------------------------------------------------------

/** Away longer than ASK, the student is asked; longer than GONE, it has ended. */
export const ASK = 15 * 60_000;
export const GONE = 4 * 3_600_000;

/** lastDone is when the session was last touched, in this phone's time. */
export function lastDone(record) {
  const { started, blocks } = record.live;
  const struck = blocks.flatMap((b) => b.balls.slice(-1)).map((b) => started + b.after_s * 1000);
  const turned = blocks.flatMap((b) => b.spans.slice(-1)).map(([from, to]) => to ?? from);
  return Math.max(started, ...struck, ...turned);
}

/** The distances to the hole that can be tapped, in feet or metres: round, and farther apart the farther they are. */
const round = [0.2, 0.3, 0.5, 1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 40, 60, 80, 100];

/**
 * rulerFor gives up to five leaves in metres for the last ball, by the reader's unit:
 * feet are whole as far as the circle has room. Inside a wide circle each is two
 * thirds of the next at most.
 */
export function rulerFor(outcome, radius, unitInMetres) {
  const r = radius / unitInMetres + 1e-9;
  const chosen = outcome === "in" ? within(r, unitInMetres < 0.5 && r >= 1 ? 1 : 0) : round.filter((s) => s > r).slice(0, 5);
  return chosen.map((s) => s * unitInMetres);
}

function within(r, least) {
  const all = round.filter((s) => s <= r && s >= least && (!least || Number.isInteger(s)));
  if (all.length <= 5) return all;
  const thinned = [];
  for (const s of all.toReversed()) if (thinned.length < 5 && s <= (2 / 3) * (thinned[0] ?? Infinity)) thinned.unshift(s);
  return thinned;
}
