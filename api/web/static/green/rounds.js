// Rounds on the course: the list of them, and the form for the shots around the green,
// which needs no network and one thumb. A round is kept and sent as a session is.

import { Chances, lieName, OnCourse, roundText, shotText } from "../base/course.js";
import { who } from "../base/account.js";
import { useLoad } from "../base/load.js";
import { drop, revised, sessions, store } from "../base/outbox.js";
import { go, to } from "../base/router.js";
import { SendNow } from "../base/status.js";
import { units } from "../base/settings.js";
import { day, far, near } from "../base/units.js";
import { uuid7 } from "../base/uuid7.js";
import { Choice } from "../base/choices.js";
import { Button, Dialog, Failed, Field, html, Loading, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { Refusal, Waits } from "./refusal.js";

const ROUNDS = "/v1/rounds";

/** Rounds lists them, those that wait on this phone first. */
export function Rounds() {
  const loaded = useLoad(ROUNDS);
  const mine = (sessions.value ?? []).filter((r) => r.kind === "rounds");
  const here = mine.filter((r) => r.unsent);
  const stored = (loaded.body?.items ?? []).filter((r) => !mine.some((m) => m.id === r.id && (m.unsent || m.deleted)));
  const fresh = mine.filter((r) => !r.unsent && !r.deleted && r.result && !stored.some((s) => s.id === r.id)).map((r) => r.result);
  return html`<${Page} title="Rounds on the course">
    <p><a class="button main big" href=${to("round", uuid7(), "new")}>Log a round</a></p>
    ${here.length > 0 && html`<section><h2>On this phone, not sent</h2><p><${SendNow} /></p><ul class="sessions">${here.map((r) => html`<li key=${r.id}>
      <${Line} id=${r.id} when=${r.content.started_at} text=${r.deleted ? "Deleted" : `${r.content.course ? `${r.content.course} · ` : ""}${shotsText(r.content.shots)}`} />
      ${r.parked && html`<${Refusal} record=${r} />`}<${Waits} record=${r} /></li>`)}</ul></section>`}
    ${mine.filter((r) => r.note).map((r) => html`<${Notice} key=${r.id} title=${`Round of ${day(r.content.started_at)}`}><p>${r.note}</p><p><${Button} onClick=${() => drop(r.id)}>Understood</${Button}></p></${Notice}>`)}
    <${OnCourse} studentID=${who.value.membership.member_id} />
    ${!loaded.body && loaded.loading && html`<${Loading} what="your rounds" />`}
    ${!loaded.body && loaded.problem && html`<${Failed} what="Earlier rounds" problem=${loaded.problem} retry=${loaded.reload} />`}
    ${stored.length + fresh.length > 0 && html`<section><h2>Rounds</h2><ul class="sessions">${[...fresh, ...stored].map((r) => html`<li key=${r.id}><${Line} id=${r.id} when=${r.started_at} round=${r} text=${roundText(r)} /></li>`)}</ul></section>`}
  </${Page}>`;
}

const shotsText = (shots = []) => `${shots.length} ${shots.length === 1 ? "shot" : "shots"}`;

function Line({ id, when, round, text }) {
  return html`<a class="session" href=${to("round", id)}><span class="session-when">${day(when)}</span>
    <span class="session-what">${round && html`<${Chances} round=${round} /> `}${text}</span></a>`;
}

/** Round is the form; its arguments are the round's id and, for a new one, "new". */
export function Round({ args: [id, fresh] }) {
  const record = sessions.value?.find((r) => r.id === id);
  const loaded = useLoad(record?.unsent || fresh ? null : `${ROUNDS}/${id}`);
  if (!sessions.value) return html`<${Loading} what="the round" />`;
  if (record?.deleted) return html`<${Page} title="Deleted"><p>This round is deleted${record.unsent ? ", and the service will be told" : ""}. <a href=${to("rounds")}>Back to the rounds.</a></p></${Page}>`;
  const newer = loaded.body && loaded.body.revision > (record?.revision ?? 0);
  const stands = newer ? recordOf(loaded.body) : record ?? (fresh && begun(id));
  if (!stands && loaded.loading) return html`<${Loading} what="the round" />`;
  if (!stands) return html`<${Page} title="Round"><${Failed} what="This round" problem=${loaded.problem} retry=${loaded.reload} /></${Page}>`;
  return html`<${Form} record=${stands} />`;
}

function begun(id) {
  const time_zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
  return { id, kind: "rounds", revision: 0, unsent: 0, clock: 0, content: { started_at: new Date().toISOString(), time_zone, shots: [] } };
}

/** recordOf makes a record of what the service has. */
function recordOf(r) {
  const content = { started_at: r.started_at, time_zone: r.time_zone, shots: r.shots };
  for (const name of ["course", "note"]) if (r[name]) content[name] = r[name];
  return { id: r.id, kind: "rounds", revision: r.revision, unsent: 0, content, result: r };
}

function Form({ record }) {
  const { content } = record;
  const [open, setOpen] = useState(null); // the shot that is corrected
  const [deleting, ask] = useState(false);
  const keep = (change) => store(revised(record, { content: { ...content, ...change } }));
  const save = async (shot) => {
    await keep({ shots: open === null ? [...content.shots, shot] : content.shots.map((s, i) => (i === open ? shot : s)) });
    setOpen(null);
  };
  const remove = useSend(async () => {
    if (record.revision) await store(revised(record, { deleted: true }));
    go(to("rounds"));
  });
  const dropShot = async () => {
    await keep({ shots: content.shots.filter((_, i) => i !== open) });
    setOpen(null);
  };
  return html`<${Page} title=${`Round, ${day(content.started_at)}`}>
    ${record.parked && html`<${Refusal} record=${record} />`}
    <${Shot} key=${`${open}-${content.shots.length}`} before=${content.shots.at(-1)} shot=${open === null ? null : content.shots[open]} save=${save} drop=${dropShot} />
    ${content.shots.length > 0 && html`<section><h2>${shotsText(content.shots)}</h2><ul class="sessions">${content.shots.map((s, i) => html`<li><button type="button" class="button shot-line" onClick=${() => (setOpen(i), scrollTo(0, 0))}>${shotText(s)}</button></li>`)}</ul></section>`}
    <details><summary>Name of the course, a note, delete</summary>
      <${Field} label="Course" maxlength="120" value=${content.course ?? ""} onChange=${(e) => keep({ course: e.currentTarget.value || undefined })} />
      <${Field} as="textarea" label="Note" rows="3" maxlength="4000" value=${content.note ?? ""} onChange=${(e) => keep({ note: e.currentTarget.value || undefined })} />
      <p><${Button} onClick=${() => ask(true)}>Delete this round</${Button}></p></details>
    ${deleting && html`<${Dialog} title="Delete this round?" onClose=${() => ask(false)}><div class="stack">
      <${Button} busy=${remove.busy} onClick=${remove.run}>Delete it</${Button}><${Button} kind="main" onClick=${() => ask(false)}>Keep it</${Button}></div></${Dialog}>`}
  </${Page}>`;
}

const FOOT = 0.3048;

/** What can be tapped, in the reader's units: distances to the hole, and distances left. */
const distances = { feet: [5, 10, 15, 20, 25, 30, 40, 50].map((n) => n * 3 * FOOT), metres: [5, 10, 15, 20, 25, 30, 40, 50] };
const leaves = { feet: [1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 45].map((n) => n * FOOT), metres: [0.3, 0.6, 1, 1.5, 2, 2.5, 3, 4, 6, 9, 14] };
const misses = { feet: [6, 10, 15, 20, 30, 45, 60, 90].map((n) => n * FOOT), metres: [2, 3, 4, 6, 9, 14, 20, 30] };

/** same takes a length for one that can be tapped, to the millimetre. */
const same = (list, m) => list.find((x) => Math.abs(x - m) < 0.001) ?? m;

/** Shot is the form for one; before is the one logged last. */
function Shot({ before, shot, save, drop }) {
  const [s, set] = useState(shot ? { ...shot, end: shot.holed ? "holed" : shot.left_lie } : following(before));
  const change = (more) => set({ ...s, ...more });
  const send = useSend(async () => {
    const wrong = lacking(s);
    if (wrong) throw Object.assign(new Error(wrong), { known: true });
    await save(written(s));
  });
  const unit = units.value;
  const off = s.end && s.end !== "holed" && s.end !== "green";
  const lengths = (list, m, write) => [...new Set([...list, m].filter((x) => x !== undefined))].sort((a, b) => a - b).map((x) => [x, write(x)]);
  return html`<form class="form shot taps" onSubmit=${send.run} novalidate>
    <div class="row hole"><${Button} aria-label="The hole before" disabled=${(s.hole ?? 1) <= 1} onClick=${() => change({ hole: s.hole - 1 })}>−</${Button}>
      <output class="shot-hole">Hole ${s.hole ?? "not told"}</output>
      <${Button} aria-label="The next hole" disabled=${s.hole >= 18} onClick=${() => change({ hole: (s.hole ?? 0) + 1 })}>+</${Button}></div>
    <${Choice} label="Lie" value=${s.lie} options=${["fairway", "rough", "sand"].map((l) => [l, lieName(l)])} onChange=${(lie) => change({ lie })} />
    <${Choice} label="Distance to the hole" value=${same(distances[unit], s.distance_m)} options=${lengths(distances[unit], s.distance_m && same(distances[unit], s.distance_m), far)} onChange=${(distance_m) => change({ distance_m })} />
    <${Choice} label="Where it stopped" value=${s.end} options=${[["green", "On the green"], ["holed", "Holed"], ["fairway", "Fairway or fringe"], ["rough", "In the rough"], ["sand", "In the sand"]]} onChange=${(end) => change({ end, left_m: undefined, putts: undefined })} />
    ${s.end === "green" && html`<${Choice} label="Distance left" value=${same(leaves[unit], s.left_m)} options=${lengths(leaves[unit], s.left_m && same(leaves[unit], s.left_m), near)} onChange=${(left_m) => change({ left_m })} />
      <${Choice} label="Putts, once holed" value=${s.putts} options=${[[1, "1"], [2, "2"], [3, "3"], [4, "4"]]} onChange=${(putts) => change({ putts })} />`}
    ${off && html`<${Choice} label="Distance left" value=${same(misses[unit], s.left_m)} options=${lengths(misses[unit], s.left_m && same(misses[unit], s.left_m), near)} onChange=${(left_m) => change({ left_m })} />`}
    <div class="savebar"><${Wrong} problem=${send.problem} />
      <${Button} kind="main" type="submit" busy=${send.busy}>${shot ? "Save the change" : "Save the shot"}</${Button}>
      ${shot ? html`<${Button} onClick=${drop}>Delete the shot</${Button}>` : html`<a class="button" href=${to("rounds")}>Done</a>`}</div>
  </form>`;
}

/** following is what the next shot begins with: at the same hole while the green is missed. */
function following(before) {
  if (!before) return { hole: 1 };
  const missed = !before.holed && before.left_lie !== "green";
  return missed ? { hole: before.hole, lie: before.left_lie, distance_m: before.left_m } : { hole: Math.min(18, (before.hole ?? 0) + 1) };
}

function lacking(s) {
  if (!s.lie) return "Choose the lie.";
  if (!s.distance_m) return "Choose the distance to the hole.";
  if (!s.end) return "Choose where the ball stopped.";
  return s.end !== "holed" && !s.left_m ? "Choose how far it now is to the hole." : "";
}

/** written is a shot as the service takes it. */
function written({ hole, lie, distance_m, end, left_m, putts }) {
  const shot = { hole, lie, distance_m };
  if (end === "holed") return { ...shot, holed: true };
  return { ...shot, left_m, left_lie: end, ...(putts ? { putts } : {}) };
}
