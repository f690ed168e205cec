// History: the student's sessions, those that wait on this phone first.

import * as api from "../base/api.js";
import { dayText } from "../base/day.js";
import { useLoad } from "../base/load.js";
import { drop, sessions, waiting } from "../base/outbox.js";
import { to } from "../base/router.js";
import { SendNow, sendingText } from "../base/status.js";
import { dayTime, dayTimeAt, minutes } from "../base/units.js";
import { ballsText } from "../base/words.js";
import { Button, Failed, html, Loading, Notice, Page, useSend, useState, Wrong } from "../base/ui.js";
import { over } from "./log.js";
import { SESSIONS } from "./plan.js";
import { Refusal, Waits } from "./refusal.js";

export function History() {
  const first = useLoad(SESSIONS);
  const [more, setMore] = useState({ items: [], next: null });
  const next = more.items.length ? more.next : first.body?.links.next;
  const onward = useSend(async () => {
    const page = await api.get(next);
    setMore({ items: [...more.items, ...page.items], next: page.links.next ?? null });
  });
  const kept = new Map((sessions.value ?? []).filter((r) => !r.kind).map((r) => [r.id, r]));
  const unsent = waiting.value.filter((r) => !r.kind);
  const items = [...(first.body?.items ?? []), ...more.items].filter((s) => !kept.get(s.id)?.unsent && !kept.get(s.id)?.deleted);
  // Sent while the list on show is older than that.
  const fresh = [...kept.values()].filter((r) => !r.unsent && !r.deleted && !r.superseded && !items.some((s) => s.id === r.id) && first.body && Date.parse(r.content.started_at) > Date.parse(items[0]?.started_at ?? 0));
  const stored = [...fresh.map((r) => ({ id: r.id, ...r.content })), ...items];
  const noted = [...kept.values()].filter((r) => r.note);
  return html`<${Page} title="History">
    <${Picture} sessions=${[...unsent.filter((r) => !r.deleted).map((r) => r.content), ...stored]} />
    <p><a class="button" href=${to("rounds")}>Rounds on the course</a></p>
    ${unsent.length > 0 && html`<section><h2>On this phone, not sent</h2>
      <p>${sendingText()}. <${SendNow} /></p>
      <ul class="sessions">${unsent.map((r) => html`<li><${Line} session=${{ id: r.id, ...r.content }} deleted=${r.deleted} going=${r.live && !over(r)} />
        ${r.parked && html`<${Refusal} record=${r} />`}<${Waits} record=${r} /></li>`)}</ul></section>`}
    ${noted.map((r) => html`<${Notice} title=${`Session of ${dayTimeAt(r.content.started_at, r.content.time_zone)}`}><p>${r.note}</p>
      <p><${Button} onClick=${() => drop(r.id)}>Understood</${Button}></p></${Notice}>`)}
    ${!first.body && first.loading && html`<${Loading} what="your sessions" />`}
    ${!first.body && first.problem && html`<${Failed} what="Earlier sessions" problem=${first.problem} retry=${first.reload} />`}
    ${first.body && stored.length === 0 && unsent.length === 0 && html`<section class="empty"><h2>No sessions yet</h2><p>What you practise is listed here. <a href=${to("now")}>See what to do now.</a></p></section>`}
    ${stored.length > 0 && html`<section><h2>${unsent.length ? "Sent" : "Sessions"}</h2><ul class="sessions">${stored.map((s) => html`<li><${Line} session=${s} /></li>`)}</ul></section>`}
    ${next && html`<${Button} busy=${onward.busy} onClick=${onward.run}>Earlier sessions</${Button}><${Wrong} problem=${onward.problem} />`}
    ${first.body && first.problem && html`<p class="as-of">Last updated ${dayTime(first.at)}.</p>`}
  </${Page}>`;
}

/** countsOf gives { balls, inside } of a session, as it is kept here or listed by the service. */
function countsOf({ blocks = [] }) {
  const sum = (of) => blocks.reduce((n, b) => n + (of(b) ?? 0), 0);
  return {
    balls: sum((b) => b.balls?.length || (b.counts ?? b.attested)?.balls),
    inside: sum((b) => (b.balls?.length ? b.balls.filter((x) => x.outcome !== "out").length : (b.counts ?? b.attested)?.inside)),
  };
}

/** The most sessions that the picture has room for on a phone. */
const DRAWN = 20;

/** Picture draws the last sessions as columns of balls, oldest first, those in being filled. */
function Picture({ sessions: all }) {
  const counts = all.slice(0, DRAWN).map(countsOf).filter((c) => c.balls > 0).reverse();
  if (counts.length < 2) return null;
  const most = Math.max(...counts.map((c) => c.balls));
  return html`<figure class="columns"><div role="img" aria-label=${`Balls in each session, oldest first: ${counts.map((c) => `${c.balls}, ${c.inside} in`).join("; ")}`}>
      ${counts.map((c) => html`<span class="column" style=${{ height: `${(100 * c.balls) / most}%` }}><span style=${{ height: `${(100 * c.inside) / c.balls}%` }}></span></span>`)}</div>
    <figcaption class="small">Balls in each session; the filled part was in. The highest had ${most}.</figcaption></figure>`;
}

function Line({ session, deleted, going }) {
  const seconds = session.blocks?.reduce((sum, b) => sum + (b.seconds ?? 0), 0) ?? 0;
  const { balls, inside } = countsOf(session);
  const what = [going && "In progress", minutes(seconds), balls ? `${ballsText(balls)}, ${inside} in` : "", dayText(session), session.week && session.counts === false && !going && "does not count for the week"];
  return html`<a class="session" href=${going ? to("practice", session.id) : to("session", session.id)}>
    <span class="session-when">${dayTimeAt(session.started_at, session.time_zone)}</span>
    <span class="session-what">${deleted ? "Deleted" : what.filter(Boolean).join(" · ")}</span>
  </a>`;
}
