// Publishing a programme: what changes, for whom and what is worth a look, to
// confirm; and moving those who follow it.

import * as api from "../base/api.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { count } from "../base/units.js";
import { Switch } from "../base/choices.js";
import { Button, Dialog, html, useEffect, useRef, useSend, useState, Wrong } from "../base/ui.js";
import { byWeek, differences, skillDifferences } from "./diff.js";
import { show } from "./edit.js";
import { Missing, useAll } from "./parts.js";

/** PublishDialog confirms the publication of a draft; skills is a Map of the academy's. */
export function PublishDialog({ draft, skills, onClose }) {
  const [done, setDone] = useState(null);
  const s = draft.state.value;
  const [published] = useState(s.programme.published); // until all of it is done
  useEffect(() => void draft.save(), []);
  const title = done ? `Version ${done.number} is published` : `Publish version ${published + 1}?`;
  return html`<${Dialog} title=${title} onClose=${onClose}>${done ? html`<${Done} done=${done} id=${s.programme.id} onClose=${onClose} />` : html`<${Ready} draft=${draft} s=${s} published=${published} skills=${skills} onDone=${setDone} onClose=${onClose} />`}</${Dialog}>`;
}

/** Ready shows the summary, or why there is none. */
function Ready({ s, onClose, ...rest }) {
  const close = html`<${Button} onClick=${onClose}>Close</${Button}>`;
  if (s.status === "saving" || s.status === "unsaved") return html`<p role="status">Saving the draft …</p>${close}`;
  if (s.status !== "saved") return html`<p role="alert">The draft is not saved yet. ${s.problem?.detail ?? ""}</p>${close}`;
  if (s.problems.length > 0) return html`<p role="alert">To do before it can be published:</p><${Places} list=${s.problems} onClose=${onClose} />${close}`;
  return html`<${Summary} s=${s} onClose=${onClose} ...${rest} />`;
}

/** Places lists what is told of places in the draft, each a way to go there. */
function Places({ list, onClose }) {
  const go = (pointer) => {
    onClose();
    setTimeout(() => show(pointer)); // once the dialog has given the focus back
  };
  return html`<ul class="problems">${list.map((x) => html`<li key=${x.pointer + x.detail}><button type="button" class="button quiet" onClick=${() => go(x.pointer)}>${x.detail}</button></li>`)}</ul>`;
}

function Summary({ draft, s, published, skills, onDone, onClose }) {
  const { id } = s.programme;
  const before = useLoad(published ? `/v1/programmes/${id}/versions/${published}` : null);
  const followers = useAll(published ? `/v1/assignments?programme_id=${id}&current=true&limit=200` : "");
  const people = useAll(published ? "/v1/members?role=student&limit=200" : "");
  const [move, setMove] = useState(false);
  const nameOf = (student) => people.items?.find((m) => m.id === student)?.name ?? "a student";
  const theirs = (followers.items ?? []).map((a) => ({ ...a, name: nameOf(a.student_id) })).sort((a, b) => a.name.localeCompare(b.name));
  const publish = useSend(async () => {
    const version = await draft.publish();
    onDone({ number: version.number, warnings: version.warnings, moved: move ? await moveAll(theirs, version.number) : [] });
  });
  const ready = !published || (before.body && followers.items && people.items);
  if (!ready) return [[before, "the version before"], [followers, "who follows it"], [people, "the students"]].map(([from, what]) => html`<${Missing} what=${what} from=${from} />`);
  const changes = before.body ? [...skillDifferences(before.body.skills, [...skills.values()]), ...differences(before.body.content, s.programme.draft, named(before.body.skills, skills))] : [];
  if (published && changes.length === 0) {
    return html`<p>Nothing has changed since version ${published}.</p><${Button} onClick=${onClose}>Close</${Button}>`;
  }
  return html`
    <section>${published ? html`<${Changes} list=${changes} />` : html`<p>${sizeText(s.programme.draft)}</p>`}</section>
    <section><h3>Students</h3><${Followers} list=${theirs} next=${published + 1} move=${move} setMove=${setMove} /></section>
    ${s.programme.warnings.length > 0 && html`<section><h3>Worth a look: ${s.programme.warnings.length}</h3><${Places} list=${s.programme.warnings} onClose=${onClose} /></section>`}
    <div role="alert"><${Wrong} problem=${publish.problem} /></div>
    <div class="row"><${Button} kind="main" busy=${publish.busy} onClick=${publish.run}>Publish it</${Button}><${Button} onClick=${onClose}>Not yet</${Button}></div>`;
}

/** named maps skills by id, those of today before those of an earlier version. */
const named = (then, now) => new Map([...then.map((k) => [k.id, k]), ...now]);

function sizeText({ weeks = [] }) {
  const plans = weeks.reduce((sum, w) => sum + (w.plans?.length ?? 0), 0);
  return `${count(weeks.length, "week")}, ${count(plans, "plan")}.`;
}

function Followers({ list, next, move, setMove }) {
  if (list.length === 0) return html`<p>None yet.</p>`;
  const versions = [...new Set(list.map((a) => a.version))].sort((a, b) => b - a);
  const on = (v) => list.filter((a) => a.version === v);
  return html`${versions.map((v) => html`<${Names} key=${v} text=${`${count(on(v).length, "student")} on version ${v}`} list=${on(v)} />`)}
    <${Switch} label=${`Move ${list.length === 1 ? list[0].name : `all ${list.length}`} to version ${next} now`} hint="Each stays in the same week. Steps passed and sessions done stay." on=${move} onChange=${setMove} />`;
}

/** SHORT is how many names are read at a glance. */
const SHORT = 8;

/** Names says how many, and who: many of them on demand. */
function Names({ text, list }) {
  const names = list.map((a) => a.name).join(", ");
  return list.length <= SHORT ? html`<p>${text}: ${names}</p>` : html`<details><summary>${text}</summary><p>${names}</p></details>`;
}

/** moveAll moves assignments to a version, one after the other; it tells what became of each. */
async function moveAll(list, version) {
  const results = [];
  for (const { id, name } of list) {
    try {
      await api.post(`/v1/assignments/${id}/move`, { version });
      results.push({ name });
    } catch (e) {
      if (!e.known) console.error(e);
      results.push({ name, wrong: e.detail ?? e.message });
    }
  }
  return results;
}

function Done({ done, id, onClose }) {
  const next = useRef(null);
  useEffect(() => next.current?.focus(), []); // what had the focus is gone
  const [moved, not] = [done.moved.filter((r) => !r.wrong), done.moved.filter((r) => r.wrong)];
  return html`<p>Your next edits are the draft of version ${done.number + 1}.</p>
    ${moved.length > 0 && html`<${Names} text=${`${count(moved.length, "student")} moved to version ${done.number}`} list=${moved} />`}
    ${not.length > 0 && html`<div role="alert"><p>Not moved; they keep their version:</p><ul class="plain">${not.map((r) => html`<li key=${r.name}>${r.name}: ${r.wrong}</li>`)}</ul></div>`}
    <div class="row"><a class="button main" ref=${next} href=${`${to("assign")}?programme=${id}`}>Assign it</a><${Button} onClick=${onClose}>Keep editing</${Button}></div>`;
}

/** Changes lists differences by week, what was beside what is. */
export function Changes({ list }) {
  return html`<h3>${count(list.length, "change")}</h3>${byWeek(list).map(({ week, items }) => html`<section class="changes" key=${week}><h4>${week ? `Week ${week}` : "The whole programme"}</h4>
    <ul class="plain">${items.map((d, i) => html`<li key=${i}><${Change} change=${d} /></li>`)}</ul></section>`)}`;
}

function Change({ change: { week, place, what, mine, theirs } }) {
  const within = place.split(", ").slice(week ? 1 : 0).join(", ");
  const where = [within === "programme" ? "" : within, what].filter(Boolean).join(", ");
  const whole = ["week", "plan", "block", "limit"].includes(what);
  if (whole && !mine) return html`${capital(within || "the week")} is new: <ins>${theirs}</ins>`;
  if (whole && !theirs) return html`${capital(within || "the week")} is gone: <del>${mine}</del>`;
  return html`${capital(where)}: ${mine ? html`<del>${mine}</del>` : html`<span class="small">nothing</span>`} <span aria-hidden="true">→</span><span class="unseen"> becomes </span> ${theirs ? html`<ins>${theirs}</ins>` : html`<span class="small">nothing</span>`}`;
}

const capital = (text) => text[0].toUpperCase() + text.slice(1);
