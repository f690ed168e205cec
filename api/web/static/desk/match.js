// A match on one phone, for a clinic: up to a dozen play the same cards in turn, one
// ball each. It is kept on this device at each ball; at the end each one's balls go to
// their own log. Guests stay on this device.

import * as api from "../base/api.js";
import { cardsOf, circleOf, codeOf, idOf, kinds, newMatch, sizes } from "../base/cards.js";
import { Choice } from "../base/choices.js";
import * as db from "../base/db.js";
import { matchText } from "../base/matches.js";
import { count, near } from "../base/units.js";
import { uuid7 } from "../base/uuid7.js";
import { ballOutcomes, outcomeName, taskText } from "../base/words.js";
import { Button, Field, html, Loading, Notice, Page, useEffect, useRef, useSend, useState, Wrong } from "../base/ui.js";
import { Missing, useAll } from "./parts.js";

/** MOST is how many play on one phone, so that nobody waits too long for their turn. */
export const MOST = 12;

const KEPT = "match";

/** turn is the place in players of whoever plays next: the first with fewest balls. */
export const turn = ({ players }) => players.findIndex((p) => p.balls.length === Math.min(...players.map((q) => q.balls.length)));

/** over reports whether all cards are played by all. */
export const over = ({ match, players }) => players.every((p) => p.balls.length === match.balls);

/** struck is a state after the next ball; undone is it before the last one. */
export function struck(state, outcome, now) {
  const at = turn(state);
  return { ...state, players: state.players.map((p, i) => (i === at && p.balls.length < state.match.balls ? { ...p, balls: [...p.balls, { outcome, at: now }] } : p)) };
}
export function undone(state) {
  const most = Math.max(...state.players.map((p) => p.balls.length));
  const at = most === 0 ? -1 : state.players.findLastIndex((p) => p.balls.length === most);
  return { ...state, players: state.players.map((p, i) => (i === at ? { ...p, balls: p.balls.slice(0, -1) } : p)) };
}

const inside = (p) => p.balls.filter((b) => b.outcome !== "out").length;

/** ranked are the players, most balls in first. */
export const ranked = (state) => [...state.players].sort((a, b) => inside(b) - inside(a));

/** sessionOf is what one student did, as a session of theirs; their time is their share of it. */
export function sessionOf({ match, skill, players, started }, player) {
  const cards = cardsOf(match);
  const last = Math.max(...players.flatMap((p) => p.balls.map((b) => b.at)));
  return {
    student_id: player.id, started_at: new Date(started).toISOString(), ended_at: new Date(last).toISOString(), match_id: idOf(match), revision: 1,
    blocks: [{
      kind: "random", skill_id: skill.id, radius_m: player.radius_m, seconds: Math.max(1, Math.round((last - started) / 1000 / players.length)),
      balls: player.balls.map(({ outcome, at }, i) => ({ outcome, ...cards[i], after_s: Math.max(0.001, (at - started) / 1000) })),
    }],
  };
}

/** Match is the clinic's match: what goes on, or a new one. */
export function Match() {
  const [state, set] = useState(undefined);
  const [failed, fail] = useState(null);
  useEffect(() => void db.read("drafts", KEPT).then((d) => set(d?.state ?? null), () => set(null)), []);
  // One after the other: a quick second tap goes on from the first one.
  const last = useRef(Promise.resolve());
  const keep = (step) => (last.current = last.current.then(async () => {
    try {
      const before = (await db.read("drafts", KEPT))?.state ?? null;
      const next = step(before);
      await db.write("drafts", { id: KEPT, state: next, at: Date.now() });
      set(next);
      fail(null);
    } catch (e) {
      console.error(e);
      fail({ message: `This device could not store that (${e.message}). Free some space; what was stored before is safe.` });
    }
  }));
  return html`<${Page} title="Match" lead="One phone for up to twelve: the same cards for all, one ball each in turn.">
    <div role="alert"><${Wrong} problem=${failed} /></div>
    ${state === undefined ? html`<${Loading} what="the match" />` : !state ? html`<${SetUp} keep=${keep} />` : state.ended || over(state) ? html`<${Done} state=${state} keep=${keep} />` : html`<${Play} state=${state} keep=${keep} />`}
  </${Page}>`;
}

function SetUp({ keep }) {
  const students = useAll("/v1/members?role=student&limit=200");
  const skills = useAll("/v1/skills?limit=200");
  const [chosen, choose] = useState([]);
  const [guest, name] = useState("");
  const [guests, invite] = useState([]);
  const [skillID, pick] = useState("");
  const [balls, deal] = useState(6);
  const [own, fair] = useState(true);
  const fit = (skills.items ?? []).filter((s) => kinds.includes(s.kind));
  const skill = fit.find((s) => s.id === skillID) ?? fit[0];
  const many = chosen.length + guests.length;
  const start = useSend(async () => {
    const match = newMatch(skill.kind, balls, own);
    const circleFor = async (id) => (await api.get(`/v1/students/${id}/matches`)).circles.find((c) => c.skill_id === skill.id)?.circle_m;
    const circles = own ? await Promise.all(chosen.map(circleFor)) : [];
    const of = (id) => students.items.find((s) => s.id === id);
    const players = [
      ...chosen.map((id, i) => ({ id, name: of(id).name, session: uuid7(), radius_m: circles[i] ?? circleOf(match), own: Boolean(circles[i]), balls: [] })),
      ...guests.map((g) => ({ name: g, radius_m: circleOf(match), own: false, balls: [] })),
    ];
    await keep(() => ({ match, skill: { id: skill.id, name: skill.name }, players, started: Date.now(), saved: [] }));
  });
  if (!students.items || !skills.items) return html`<${Missing} what="your students and skills" from=${students.items ? skills : students} />`;
  if (!skill) return html`<p>Matches are of chips, pitches, bunker shots and long putts; the academy has no such skill yet.</p>`;
  const toggle = (id) => choose(chosen.includes(id) ? chosen.filter((x) => x !== id) : [...chosen, id]);
  const add = () => guest.trim() && (invite([...guests, guest.trim()]), name(""));
  return html`<section class="panel"><h2>Who plays</h2>
      <fieldset class="checks"><legend>Students, in the order of play</legend>${students.items.map((s) => html`<label class="option" key=${s.id}><input type="checkbox" checked=${chosen.includes(s.id)} disabled=${!chosen.includes(s.id) && many >= MOST} onChange=${() => toggle(s.id)} /><span>${s.name}</span></label>`)}</fieldset>
      <form class="row" onSubmit=${(e) => (e.preventDefault(), add())}><${Field} label="A guest's name" hint="A guest's balls stay on this phone and are not saved." value=${guest} maxlength="60" onInput=${(e) => name(e.currentTarget.value)} />
        <button class="button" type="submit" disabled=${!guest.trim() || many >= MOST}>Add the guest</button></form>
      ${guests.length > 0 && html`<ul class="plain">${guests.map((g, i) => html`<li>${g} <${Button} kind="quiet" aria-label=${`Leave out ${g}`} onClick=${() => invite(guests.filter((_, j) => j !== i))}>Leave out</${Button}></li>`)}</ul>`}</section>
    <section class="panel"><h2>The cards</h2>
      <${Choice} label="Skill" value=${skill.id} options=${fit.map((s) => [s.id, s.name])} onChange=${pick} />
      <${Choice} label="Cards" value=${balls} options=${sizes.map((n) => [n, String(n)])} onChange=${deal} />
      <${Choice} label="Circle" hint="In their own circle about half of each one's balls stop inside, so a beginner and a good player are as likely to win." value=${own} options=${[[true, "Each to their own"], [false, "One for all"]]} onChange=${fair} /></section>
    <p class="small">Nobody stands in front of the player or near the line. Stop for lightning.</p>
    <p class="row"><${Button} kind="main" busy=${start.busy} disabled=${many < 2} onClick=${start.run}>Deal the cards</${Button}>${many < 2 && html`<span class="small">Choose two players or more.</span>`}</p><${Wrong} problem=${start.problem} />`;
}

function Play({ state, keep }) {
  const { match, players } = state;
  const player = players[turn(state)];
  const n = player.balls.length;
  const [asking, ask] = useState(false);
  return html`<section class="panel" aria-label="Whose turn">
      <p class="small">${matchText({ ...match, circle_m: circleOf(match) })} · card ${n + 1} of ${match.balls}</p>
      <h2 class="match-turn">${player.name}</h2>
      <p class="match-card">${taskText(cardsOf(match)[n])}</p>
      <p>Circle: <strong>${near(player.radius_m)}</strong>${match.own && !player.own ? ", as for everybody: too little is known for a circle of their own" : ""}</p>
      <div class="match-targets">${ballOutcomes.map((o) => html`<button type="button" class=${`button big ${o === "in" ? "main" : ""}`} onClick=${() => keep((s) => struck(s, o, Date.now()))}>${outcomeName(o)}</button>`)}</div>
      <p class="row"><${Button} disabled=${players.every((p) => !p.balls.length)} onClick=${() => keep(undone)}>Undo</${Button}><${Button} kind="quiet" onClick=${() => ask(!asking)}>End the match</${Button}></p>
      ${asking && html`<${Notice} kind="warn" title="End it before the last card?"><p>What was played so far can still be saved.</p><p class="row"><${Button} onClick=${() => keep((s) => ({ ...s, ended: true }))}>End it</${Button}<${Button} onClick=${() => ask(false)}>Go on</${Button}></p></${Notice}>`}
    </section><${Score} state=${state} />`;
}

function Score({ state }) {
  return html`<div class="scroll"><table><caption class="unseen">Balls in, by player</caption><thead><tr><th scope="col">Player</th><th scope="col">Circle</th><th scope="col">In</th><th scope="col">Balls</th></tr></thead>
    <tbody>${ranked(state).map((p) => html`<tr><th scope="row">${p.name}${!p.id && html` <span class="small">guest</span>`}</th><td>${near(p.radius_m)}</td><td>${inside(p)}</td><td>${p.balls.length}</td></tr>`)}</tbody></table></div>`;
}

function Done({ state, keep }) {
  const [first, second] = ranked(state);
  const [refused, refuse] = useState([]);
  const mine = state.players.filter((p) => p.id && p.balls.length > 0);
  const left = mine.filter((p) => !state.saved.includes(p.id));
  const save = useSend(async () => {
    const [saved, wrong] = [[], []];
    for (const p of left) {
      try {
        await api.put(`/v1/sessions/${p.session}`, sessionOf(state, p));
        saved.push(p.id);
      } catch (e) {
        if (!e.known) throw e;
        wrong.push({ name: p.name, detail: e.detail ?? e.message });
      }
    }
    refuse(wrong);
    await keep((s) => ({ ...s, saved: [...s.saved, ...saved] }));
  });
  const anew = useSend(() => keep(() => null));
  return html`<section class="panel" aria-label="Result">
      <h2>${inside(first) === inside(second) ? `Level, with ${inside(first)} each` : `${first.name} won, with ${inside(first)} of ${first.balls.length} in`}</h2>
      <p class="small">${matchText({ ...state.match, circle_m: circleOf(state.match) })} · ${codeOf(state.match)}</p><${Score} state=${state} /></section>
    ${left.length > 0 ? html`<p class="row"><${Button} kind="main" busy=${save.busy} onClick=${save.run}>Save to ${count(left.length, "student")}'${left.length === 1 ? "s" : ""} log${left.length === 1 ? "" : "s"}</${Button}></p>`
      : mine.length > 0 && html`<${Notice} kind="good" live title=${`Saved: ${mine.map((p) => p.name).join(", ")}`} />`}
    ${refused.map((r) => html`<${Notice} kind="bad" live title=${`${r.name}: not saved`}><p>${r.detail}</p></${Notice}>`)}<${Wrong} problem=${save.problem} />
    <p class="row"><${Button} busy=${anew.busy} onClick=${anew.run}>${left.length > 0 ? "Throw it away and start a new match" : "New match"}</${Button}></p>`;
}
