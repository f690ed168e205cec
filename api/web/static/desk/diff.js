// What differs between two drafts or versions of a programme, place by place, in
// the words of the editor and the units of the reader.

import { kindName, tierText } from "../base/words.js";
import { writeLength, writeLengths } from "./lengths.js";
import { skillKindName } from "../base/skillkinds.js";

const words = {
  name: "name", text: "text", title: "title", minutes: "minutes", times: "times in the week", share: "share", kind: "kind", skill_id: "skill",
  lies: "lies", clubs: "clubs", distances_m: "distances", carry_percent: "share of the way in the air", radius_m: "target radius", at_least: "at least", at_most: "at most",
};

const singular = { weeks: "week", plans: "plan", blocks: "block", limits: "limit" };

/** Values that mean the same as leaving them out. */
const usual = { times: 1, at_least: 0, at_most: 100, carry_percent: 0, radius_m: 0 };

const shares = ["share", "carry_percent", "at_least", "at_most"];

/**
 * differences lists { week, place, what, mine, theirs } of everything that two
 * drafts say differently; week counts from 1 and is 0 for the whole programme;
 * values are text, empty where one side lacks the thing.
 */
export function differences(mine, theirs, skills = new Map()) {
  const found = [];
  walk(mine ?? {}, theirs ?? {}, []);
  return found;

  function walk(a, b, at) {
    for (const key of new Set([...Object.keys(a), ...Object.keys(b)])) {
      if (key === "minutes" && at.at(-2) === "blocks") continue; // the service fills them in
      if (singular[key]) lists(a[key] ?? [], b[key] ?? [], [...at, key]);
      else if (key === "drill") walk(a[key] ?? {}, b[key] ?? {}, at);
      else leaf(a[key], b[key], key, at);
    }
  }

  function lists(a, b, at) {
    for (let i = 0; i < Math.max(a.length, b.length); i++) {
      if (a[i] && b[i]) walk(a[i], b[i], [...at, i]);
      else note([...at, i], singular[at.at(-1)], a[i] ? brief(a[i]) : "", b[i] ? brief(b[i]) : "");
    }
  }

  function leaf(a, b, key, at) {
    const [x, y] = [written(a ?? usual[key], key), written(b ?? usual[key], key)];
    if (x !== y) note(at, words[key] ?? key, x, y);
  }

  function note(at, what, mine, theirs) {
    found.push({ week: at[0] === "weeks" ? at[1] + 1 : 0, place: placeOf(at), what, mine, theirs });
  }

  function written(value, key) {
    if (value === undefined || value === null || value === "") return "";
    if (key === "skill_id") return skills.get(value)?.name ?? String(value);
    if (key === "kind") return kindName(value);
    if (key === "radius_m") return value ? writeLength(value) : "";
    if (key === "distances_m") return writeLengths(value);
    if (shares.includes(key)) return `${value} %`;
    return Array.isArray(value) ? value.join(", ") : String(value);
  }
}

/**
 * skillDifferences lists, as differences does, what became of the skills that two
 * versions both train, each told once.
 */
export function skillDifferences(before, after) {
  return after.flatMap((now) => {
    const then = before.find((s) => s.id === now.id);
    if (!then) return []; // told where a week or a block takes it up
    const sides = [["name", (s) => s.name], ["sort of shot", (s) => skillKindName(s.kind)], ["text", (s) => s.text ?? ""], ["steps", stepsText]];
    return sides.map(([what, say]) => ({ week: 0, place: now.name, what, mine: say(then), theirs: say(now) })).filter((d) => d.mine !== d.theirs);
  });
}

const stepsText = ({ ladder }) => `${ladder.tiers.map((t) => tierText(t)).join("; ")}${ladder.test_only ? "; in tests only" : ladder.technique_counts ? "; in technique, too" : ""}`;

/** byWeek groups differences: { week, items }, the whole programme first. */
export function byWeek(list) {
  const weeks = new Map();
  for (const d of list) weeks.set(d.week, [...(weeks.get(d.week) ?? []), d]);
  return [...weeks].sort(([a], [b]) => a - b).map(([week, items]) => ({ week, items }));
}

function brief(thing) {
  return thing.title || thing.name || (thing.kind ? kindName(thing.kind) : "") || "there";
}

function placeOf(at) {
  const parts = [];
  for (let i = 0; i < at.length; i += 2) parts.push(`${singular[at[i]]} ${at[i + 1] + 1}`);
  return parts.join(", ") || "programme";
}
