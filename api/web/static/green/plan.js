// What the phone knows of the student's plan: the last "now" of the service, and
// what a session takes along from it.

import { who } from "../base/account.js";
import { kept, useLoad } from "../base/load.js";
import { sessions } from "../base/outbox.js";
import { awayZone, isoDay } from "../base/units.js";

/** nowPath is where the student's present is. */
export const nowPath = () => `/v1/students/${who.value.membership.member_id}/now`;

/** progressPath is where the student's progress is. */
export const progressPath = () => `/v1/students/${who.value.membership.member_id}/progress`;

/** SESSIONS is where the student's latest sessions are. */
export const SESSIONS = "/v1/sessions?limit=20";

/** LESSONS is where the student's lessons are, latest first: the first cue in it stands. */
export const LESSONS = "/v1/lessons";

/** matchesPath is where the student's matches and own circles are. */
export const matchesPath = () => `/v1/students/${who.value.membership.member_id}/matches`;

/** useNow is the student's present as useLoad gives it, its weeks turned over. */
export function useNow() {
  const now = useLoad(nowPath());
  return now.body ? { ...now, body: turned(now.body) } : now;
}

const DAY = 24 * 3600 * 1000;

/**
 * turned goes on to the next week's plans once that week has begun, for a phone
 * that has not reached the service since.
 */
export function turned(now, today = isoDay(Date.now(), now.time_zone)) {
  const begun = ({ next_week: next, position }) => next && (position.phase === "running" || position.phase === "upcoming") && today >= next.starts_on;
  return { ...now, work: now.work.map((w) => (begun(w) ? intoNext(w, today) : w)) };
}

function intoNext(work, today) {
  const week = work.next_week;
  const dayOfWeek = Math.min(7, Math.round((Date.parse(today) - Date.parse(week.starts_on)) / DAY) + 1);
  return { ...work, week, next_week: undefined, position: { phase: "running", week: week.number, day: dayOfWeek } };
}

/** findPlan finds a plan in a now by its address: { work, week, plan } or null. */
export function findPlan(now, assignment, week, number) {
  const work = now?.work.find((w) => w.assignment_id === assignment);
  if (work?.week?.number !== Number(week)) return null;
  const plan = work.week.plans.find((p) => p.number === Number(number));
  return plan ? { work, week: work.week, plan } : null;
}

/** planName is a plan's name, or its place in the week. */
export const planName = (plan) => plan.name || `Session ${plan.number}`;

/** How near its spot a ball of stations lands that is in: about a club's length, in metres. */
const CLUB = 0.9;

/** radiusOf is what balls of a block are judged at. */
function radiusOf(block, skill) {
  return block.drill?.radius_m || (block.kind === "stations" && CLUB) || skill?.next_tier?.radius_m || skill?.ladder?.tiers?.at(-1)?.radius_m || 1;
}

/**
 * goneOn is a block's deck from where the sessions of this plan left it that this phone
 * has and the service had not when it dealt, at an instant.
 */
export function goneOn({ deck, number }, records, since) {
  if (!deck?.length) return {};
  const known = (r) => r.deleted || r.takenAt <= since;
  const balls = records.filter((r) => !known(r)).flatMap((r) => r.content.blocks ?? []).filter((b) => b.plan_block === number).reduce((n, b) => n + (b.balls?.length ?? 0), 0);
  const from = balls % deck.length;
  return { deck: [...deck.slice(from), ...deck.slice(0, from)] };
}

/** toPractise gives what log.begin needs of a plan, or of its version for the day that is said, as the service had it at an instant. */
export async function toPractise(now, { work, week, plan, said }, since = 0) {
  const skills = skillsById(now, await rates());
  const mine = (sessions.peek() ?? []).filter(({ content: c }) => c?.assignment_id === work.assignment_id && c.week === week.number && c.plan === plan.number && c.variant === said?.variant);
  return {
    skills, time_zone: awayZone(), said,
    plan: {
      assignment_id: work.assignment_id, programme_name: work.programme_name, version: work.version, week: week.number, plan: plan.number,
      name: planName(plan), minutes: plan.minutes, counts: plan.counts, cue: (await kept(LESSONS))?.body.items.find((l) => l.cue)?.cue,
      blocks: plan.blocks.map((b) => ({ ...b, ...goneOn(b, mine, since), radius_m: radiusOf(b, skills[b.skill_id]) })),
    },
  };
}

/** ownPractice gives what log.begin needs of one skill without a plan. */
export async function ownPractice(now, skill, minutes = 30) {
  return {
    skills: skillsById(now, await rates()), time_zone: awayZone(),
    plan: {
      name: skill.name, minutes,
      blocks: [{ number: 1, kind: "test", minutes, skill_id: skill.id, skill_name: skill.name, drill: {}, radius_m: radiusOf({}, skill), balls_an_hour: await pace("test") }],
    },
  };
}

/** skillsById leaves out the tables of odds: a record is stored at each tap, and stays small. */
function skillsById(now, rates) {
  return Object.fromEntries(now.skills.map(({ odds: _, ...s }) => [s.id, { ...s, rate: rates[s.id] ?? null }]));
}

/** oddsBySkill are the tables of odds that the phone has. */
export async function oddsBySkill() {
  const now = (await kept(nowPath()))?.body;
  return Object.fromEntries((now?.skills ?? []).filter((s) => s.odds).map((s) => [s.id, s.odds]));
}

/** rates are the rates as last known, by skill, to compare the session with. */
async function rates() {
  const progress = (await kept(progressPath()))?.body;
  return Object.fromEntries((progress?.skills ?? []).map((s) => [s.skill_id, s.rate ?? null]));
}

/** pace is the student's in a kind of block as last known, in balls an hour; undefined while it is not. */
const pace = async (kind) => (await kept(progressPath()))?.body?.pace?.find((p) => p.kind === kind)?.balls_an_hour;

/** openTiers gives the tiers of a skill that are not passed yet. */
export const openTiers = (skill) => skill.ladder.tiers.slice(skill.held);
