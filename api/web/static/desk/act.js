// What a coach does about a reason: one press for what the service proposes, or
// the most fitting thing to do by hand.

import * as api from "../base/api.js";
import { to } from "../base/router.js";
import { active } from "./parts.js";

/** A fortnight, in days: how long what was seen is not told again unless said otherwise. */
export const FORTNIGHT = 14;

/** What is done about each reason where nothing can be adjusted, the most fitting first. */
const byHand = {
  lapsed: ["write", "pause"],
  unstarted: ["member"],
  uncoached: ["coach"],
  slipping: ["write"],
  flat: ["write"],
  overreached: ["write"],
  ending: ["assign"],
  unplanned: ["assign"],
  lopsided: ["write"],
  outgrown: ["write", "plan"],
};

const labels = { write: "Write a comment", pause: "Pause", assign: "Assign a programme", member: "Name and access", coach: "Choose a coach", plan: "Change the plan" };

/** Whether a thing can be done for a student of the dashboard. */
const possible = {
  write: (row) => Boolean(row.last_at),
  pause: (row) => row.assignments.some((a) => a.position.phase === "running"),
  plan: (row) => row.assignments.some(active),
};

const place = { assign: (id) => `${to("assign")}?student=${id}`, member: (id) => to("member", id), coach: (id) => to("member", id) };

/**
 * actionsOf lists what can be done about a reason of a student, the most fitting
 * first: { label, adjustment } what one press posts, { label, href } what leads
 * elsewhere, or { label, ask } what asks first ("write", "pause" or "plan").
 */
export function actionsOf(row, reason) {
  const offered = (reason.actions ?? []).map(({ label, adjustment }) => ({ label, adjustment }));
  const hand = (byHand[reason.reason] ?? ["write"]).filter((what) => possible[what]?.(row) ?? true);
  return [...offered, ...hand.map((what) => ({ label: labels[what], ...(place[what] ? { href: place[what](row.student.id) } : { ask: what }) }))];
}

/** adjust gives one adjustment; it gives what stands, which can be ended, or fails with the problem. */
export async function adjust(adjustment) {
  const { results } = await api.post("/v1/adjustments", { items: [adjustment] });
  const [{ adjustment: made, problem }] = results;
  if (problem) throw new api.Problem(problem.status, problem);
  return made;
}

/** endAdjustment takes an adjustment back. */
export const endAdjustment = (id) => api.post(`/v1/adjustments/${id}/end`);

/** itemsOf lists the reasons of students that are not seen yet, as many are marked at once. */
const itemsOf = (rows, days) => rows.flatMap((row) => row.attention.filter((a) => !a.silenced).map((a) => ({ student_id: row.student.id, reason: a.reason, skill_id: a.skill_id, days })));

/**
 * seen marks all that is not seen yet of students as seen for a fortnight, in one
 * request. It gives { students, refused, undo }: how many were marked, the problems of
 * the others, and what takes it back.
 */
export async function seen(rows, days = FORTNIGHT) {
  const items = itemsOf(rows, days);
  const { results } = await api.post("/v1/acknowledgements", { items });
  const marked = items.filter((_, i) => results[i].acknowledgement);
  return {
    students: new Set(marked.map((item) => item.student_id)).size,
    refused: results.filter((r) => r.problem).map((r) => r.problem),
    undo: () => api.post("/v1/acknowledgements", { items: marked.map((item) => ({ ...item, days: 0 })) }),
  };
}
