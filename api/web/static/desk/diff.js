// What differs between two drafts of a programme, place by place.

import { kindName } from "../base/words.js";
import { writeLength } from "./lengths.js";

const words = {
  name: "name", text: "text", title: "title", minutes: "minutes", times: "times a week", share: "share", kind: "kind", skill_id: "skill",
  lies: "lies", clubs: "clubs", distances_m: "distances", carry_percent: "flight", radius_m: "radius", at_least: "at least", at_most: "at most",
};

const singular = { weeks: "week", plans: "plan", blocks: "block", limits: "limit" };

/** Values that mean the same as leaving them out. */
const usual = { times: 1, at_least: 0, at_most: 100, carry_percent: 0, radius_m: 0 };

/**
 * differences lists { place, what, mine, theirs } of everything that two drafts
 * say differently; values are text, empty where one side lacks the thing.
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
      else found.push({ place: placeOf([...at, i]), what: singular[at.at(-1)], mine: a[i] ? brief(a[i]) : "", theirs: b[i] ? brief(b[i]) : "" });
    }
  }

  function leaf(a, b, key, at) {
    const [x, y] = [written(a ?? usual[key], key), written(b ?? usual[key], key)];
    if (x !== y) found.push({ place: placeOf(at), what: words[key] ?? key, mine: x, theirs: y });
  }

  function written(value, key) {
    if (value === undefined || value === null || value === "") return "";
    if (key === "skill_id") return skills.get(value)?.name ?? String(value);
    if (key === "radius_m") return value ? writeLength(value) : "";
    if (key === "distances_m") return value.map((m) => writeLength(m, true)).join(", ");
    return Array.isArray(value) ? value.join(", ") : String(value);
  }
}

function brief(thing) {
  return thing.title || thing.name || (thing.kind ? kindName(thing.kind) : "") || "there";
}

function placeOf(at) {
  const parts = [];
  for (let i = 0; i < at.length; i += 2) parts.push(`${singular[at[i]]} ${at[i + 1] + 1}`);
  return parts.join(", ") || "programme";
}
