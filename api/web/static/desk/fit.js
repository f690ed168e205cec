// How drills follow the skill. The service says what a skill gives a block of
// each kind (skill.fitted); a field that still says what the skill gave it is
// fitted anew when the skill or the kind changes, and one that the coach wrote
// stays. Nothing more is stored: what differs from the skill's was written.
//
// Functions that change a draft's content give a sentence that says what they
// did, or "" when there is nothing to say.

import { count } from "../base/units.js";
import { kindName } from "../base/words.js";

/** The fields of a drill, as they are called in a sentence. */
const names = { text: "text", radius_m: "radius", distances_m: "distances", lies: "lies", clubs: "clubs", carry_percent: "share in the air" };
const fields = Object.keys(names);

const same = (a, b) => (lacks(a) && lacks(b)) || JSON.stringify(a) === JSON.stringify(b);
const lacks = (value) => !value || value.length === 0;

/** fitOf is the drill that a skill gives a kind of block; empty without a skill. */
export function fitOf(skill, kind) {
  const found = skill?.fitted?.find((f) => f.kind === kind)?.drill ?? {};
  return structuredClone(Object.fromEntries(fields.filter((f) => !lacks(found[f])).map((f) => [f, found[f]])));
}

/** untouched tells whether a drill says nothing but what a skill gives it. */
export const untouched = (drill, skill, kind) => fields.every((f) => same(drill?.[f], fitOf(skill, kind)[f]));

/**
 * refit fits a drill that was fitted to { skill, kind } of from to those of to.
 * It gives { drill, kept }: kept are the fields that stay as the coach wrote
 * them. A drill in which nothing was written yet is fitted as a whole; a radius
 * that is no circle of the ladder does not stay where runs are tested.
 */
export function refit(drill = {}, from, to) {
  const [was, now] = [fitOf(from.skill, from.kind), fitOf(to.skill, to.kind)];
  const blank = fields.every((f) => lacks(drill[f]));
  const out = {};
  const kept = [];
  for (const f of fields) {
    const written = !blank && !same(drill[f], was[f]) && !(f === "radius_m" && offLadder(drill[f], to));
    const value = written ? drill[f] : now[f];
    if (written && !same(value, now[f])) kept.push(f);
    if (!lacks(value)) out[f] = value;
  }
  return { drill: out, kept };
}

function offLadder(radius, { skill, kind }) {
  return Boolean(skill) && (kind === "test" || kind === "warmup") && !skill.ladder.tiers.some((t) => t.radius_m === radius);
}

/** skillOf is the skill that a block trains. */
const skillOf = (week, block, skills) => skills.get(block.skill_id || week.skill_id);

/** earlier is the ID of the latest skill before a week that is not the week's own; undefined when there is none. */
export function earlier(content, w) {
  const own = content.weeks[w]?.skill_id;
  return content.weeks.slice(0, w).findLast((week) => week.skill_id && week.skill_id !== own)?.skill_id;
}

/** newBlock is a block of a kind, fitted to its skill: an earlier one for a warm-up, where there is one. */
export function newBlock(content, w, kind, share, skills) {
  const block = { kind, share };
  const before = kind === "warmup" && earlier(content, w);
  if (before) block.skill_id = before;
  return { ...block, drill: fitOf(skills.get(before || content.weeks[w].skill_id), kind) };
}

/** changeWeekSkill gives a week another skill, and fits its blocks and the warm-up that keeps it alive a week later. */
export function changeWeekSkill(content, w, id, skills) {
  const week = content.weeks[w];
  const [from, to] = [skills.get(week.skill_id), skills.get(id)];
  const old = week.skill_id;
  week.skill_id = id;
  const tally = tallyOf(week);
  each(week, (block, p, b) => {
    if (block.skill_id) return;
    const { drill, kept } = refit(block.drill, { skill: from, kind: block.kind }, { skill: to, kind: block.kind });
    tally(p, b, drill, kept);
    block.drill = drill;
  });
  const later = to && old && follow(content, w, old, id, skills);
  return to ? `${tally.text(to)}${later ? `; the warm-up of week ${w + 2} follows` : ""}.` : "";
}

/** follow lets the warm-ups of the week after w train its new skill, where they trained its old one. */
function follow(content, w, old, id, skills) {
  const next = content.weeks[w + 1];
  if (!next || next.skill_id === id || content.weeks.slice(0, w).some((x) => x.skill_id === old)) return false;
  let found = false;
  each(next, (block) => {
    if (block.kind !== "warmup" || block.skill_id !== old) return;
    found = true;
    block.skill_id = id;
    block.drill = refit(block.drill, { skill: skills.get(old), kind: "warmup" }, { skill: skills.get(id), kind: "warmup" }).drill;
  });
  return found;
}

/** changeBlock gives the block at [week, plan, block] another kind or another skill: change has { kind } or { skill_id }. */
export function changeBlock(content, [w, p, b], change, skills) {
  const week = content.weeks[w];
  const block = week.plans[p].blocks[b];
  const from = { skill: skillOf(week, block, skills), kind: block.kind };
  Object.assign(block, change);
  const before = earlier(content, w);
  // A warm-up keeps an earlier skill alive; other blocks train the week's.
  if (change.kind && before && block.kind === "warmup" && !block.skill_id) block.skill_id = before;
  if (change.kind && before && from.kind === "warmup" && block.skill_id === before) delete block.skill_id;
  if (!block.skill_id) delete block.skill_id;
  const to = { skill: skillOf(week, block, skills), kind: block.kind };
  const { drill, kept } = refit(block.drill, from, to);
  block.drill = drill;
  return to.skill ? `Block ${b + 1}: ${kindName(block.kind)}, fitted to ${to.skill.name}${stays(kept.length ? [[kept]] : [])}.` : "";
}

/** The four equal parts of an hour, alone and after a short warm-up. */
const parts = ["technique", "stations", "random", "test"];
const shares = { alone: 25, after: 22, warmup: 12 };

/**
 * equalParts makes a plan of four equal parts, after a warm-up with the earlier
 * skill where there is one. Blocks of these kinds stay what they are.
 */
export function equalParts(content, [w, p], skills) {
  const week = content.weeks[w];
  const plan = week.plans[p];
  const old = plan.blocks ?? [];
  const first = (kind) => old.find((b) => b.kind === kind);
  const warm = Boolean(earlier(content, w) || first("warmup")?.skill_id);
  const tally = tallyOf(week);
  const part = (kind, share, b) => {
    const had = first(kind);
    if (!had) return newBlock(content, w, kind, share, skills);
    const at = { skill: skillOf(week, had, skills), kind };
    const { drill, kept } = refit(had.drill, at, at);
    tally(p, b, drill, kept);
    return { ...had, share, drill };
  };
  plan.blocks = [...(warm ? [["warmup", shares.warmup]] : []), ...parts.map((kind) => [kind, warm ? shares.after : shares.alone])].map(([kind, share], b) => part(kind, share, b));
  const gone = old.filter((b) => first(b.kind) !== b || !plan.blocks.some((x) => x.kind === b.kind)).length;
  const warmed = warm && skillOf(week, plan.blocks[0], skills)?.name;
  return `Four equal parts${warmed ? ` after a warm-up with ${warmed}` : ""}${tally.stays()}${gone ? `; ${count(gone, "block")} taken out` : ""}.`;
}

/** newWeek is a week that trains a skill twice, in an hour of equal parts, or in the parts that are given as [{ kind, share }]. */
export function newWeek(content, id, skills, given) {
  const week = { ...(id && { skill_id: id }), plans: [{ name: "", minutes: 60, times: 2, blocks: [] }] };
  const whole = { ...content, weeks: [...(content.weeks ?? []), week] };
  const w = whole.weeks.length - 1;
  if (given) week.plans[0].blocks = given.map(({ kind, share }) => newBlock(whole, w, kind, share, skills));
  else equalParts(whole, [w, 0], skills);
  return week;
}

/**
 * copyFor puts a copy of a week for another skill after it: all drills are
 * fitted to that skill, and its warm-ups keep the copied week's skill alive.
 */
export function copyFor(content, w, id, skills) {
  const [from, to] = [content.weeks[w], skills.get(id)];
  const week = { ...structuredClone(from), skill_id: id };
  const written = week.title || week.text;
  delete week.title;
  delete week.text;
  let fitted = 0;
  each(week, (block) => {
    if (block.kind === "warmup" && from.skill_id) block.skill_id = from.skill_id;
    else if (block.kind !== "warmup" && block.skill_id) return; // of another skill, by the coach's wish
    block.drill = fitOf(skillOf(week, block, skills), block.kind);
    fitted++;
  });
  content.weeks.splice(w + 1, 0, week);
  return `Week ${w + 2} is for ${to.name}: ${count(fitted, "drill")} fitted${written ? "; its title and text are left to you" : ""}.`;
}

function each(week, fn) {
  (week.plans ?? []).forEach((plan, p) => (plan.blocks ?? []).forEach((block, b) => fn(block, p, b)));
}

/** tallyOf counts the drills of a week that were fitted, and what stayed. */
function tallyOf(week) {
  let fitted = 0;
  const all = [];
  const several = (week.plans ?? []).length > 1;
  const tally = (p, b, drill, kept) => {
    if (kept.length < Object.keys(drill).length) fitted++;
    if (kept.length) all.push([kept, `block ${b + 1}${several ? ` of plan ${p + 1}` : ""}`]);
  };
  tally.stays = () => stays(all);
  tally.text = (skill) => `${fitted ? `Fitted ${count(fitted, "drill")} to ${skill.name}` : `For ${skill.name} now`}${stays(all)}`;
  return tally;
}

/** stays says what was left as the coach wrote it, from [[fields, place], …]. */
function stays(all) {
  if (all.length === 0) return "";
  const one = all.length === 1 && all[0][0].length === 1 && ["text", "radius_m", "carry_percent"].includes(all[0][0][0]);
  return `; your own ${joined(all.map(([kept, place]) => `${joined(kept.map((f) => names[f]))}${place ? ` in ${place}` : ""}`))} ${one ? "stays" : "stay"}`;
}

const joined = (list) => (list.length < 2 ? list.join("") : `${list.slice(0, -1).join(", ")} and ${list.at(-1)}`);
