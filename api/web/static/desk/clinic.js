// On the green: the sessions in progress, ball by ball, a card for each student.

import * as judge from "../base/judge.js";
import { useLoad } from "../base/load.js";
import { to } from "../base/router.js";
import { minutes, near, span, time } from "../base/units.js";
import { ballsText, kindName, tierText } from "../base/words.js";
import { html, Page, useEffect, useNow, useRef } from "../base/ui.js";
import { following, goingOn, happened, inView, playedUntil, seed, useLive } from "./live.js";
import { Marks } from "./marks.js";
import { AsOf, Missing } from "./parts.js";

/** How far apart the dashboard is read at least, in milliseconds, however much happens. */
const APART = 1_500;

/** useBoard is the dashboard, read again when something happened. */
export function useBoard() {
  const board = useLoad("/v1/dashboard");
  useLive();
  const n = happened.value;
  const read = useRef(0); // when it was read again last
  useEffect(() => {
    if (n === 0) return;
    const timer = setTimeout(() => ((read.current = Date.now()), board.reload()), Math.max(0, read.current + APART - Date.now()));
    return () => clearTimeout(timer);
  }, [n]);
  useEffect(() => {
    if (board.body) seed(board.body.items);
  }, [board.body]);
  return board;
}

/** Following says whether the page follows what happens. */
export function Following() {
  const words = {
    off: "Not live.", connecting: "Connecting …", on: "Live: each ball appears as it is sent.",
    lost: "Connection lost; trying again.",
  };
  return html`<p class=${`following ${following.value}`} role="status">${words[following.value]}</p>`;
}

/**
 * Cards are the sessions in view. rows are the dashboard's, level that of their
 * headings, most how many are shown.
 */
export function Cards({ rows, level = 3, most = Infinity }) {
  const now = useNow(15_000);
  const list = inView(now);
  const byStudent = new Map(rows.map((r) => [r.student.id, r]));
  if (list.length === 0) return html`<p>Nobody is practising right now. A session appears with its first ball.</p>`;
  return html`<ul class="cards">${list.slice(-most).map((s) => html`<li key=${s.id}><${Card} session=${s} row=${byStudent.get(s.student_id)} now=${now} level=${level} /></li>`)}</ul>
    ${list.length > most && html`<p>And ${list.length - most} more.</p>`}`;
}

export function Clinic() {
  const board = useBoard();
  return html`<${Page} title="On the green" wide>
    <${Following} /><${Missing} what="your students" from=${board} /><${AsOf} from=${board} />
    <p><a class="button" href=${to("match")}>Match on this phone</a></p>
    ${board.body && html`<${Cards} rows=${board.body.items} level=${2} />`}
  </${Page}>`;
}

function Card({ session, row, now, level }) {
  const at = Math.max(0, session.blocks.findLastIndex((b) => b.balls?.length || b.seconds || b.attested));
  const block = session.blocks[at];
  const over = !goingOn(session, now);
  const skill = row?.skills.find((s) => s.skill_id === block?.skill_id);
  const tier = skill?.next_tier ?? session.results.findLast((r) => r.skill_id === block?.skill_id)?.tier;
  const passed = !skill?.next_tier || session.milestones.some((m) => m.skill_id === block?.skill_id && sameTier(m.tier, tier));
  return html`<article class=${`live ${over ? "over" : ""}`}>
    <${`h${level}`} class="live-name"><a href=${to("session", session.id)}>${row?.student.name ?? "A student"}</a></${`h${level}`}>
    <p class="live-when">${over ? `Finished ${time(session.ended_at ?? playedUntil(session))}` : `Since ${time(session.started_at)}`}${!over && quiet(session, now)}</p>
    ${block && html`<p><strong>${kindName(block.kind)}</strong>, block ${at + 1}${skill ? `, ${skill.name}` : ""}: ${ballsText(block.balls?.length ?? 0)}${block.seconds ? ` in ${minutes(block.seconds)}` : ""}.</p>`}
    ${block && !block.attested && html`<${Balls} block=${block} tier=${tier} passed=${passed} over=${over} ladder=${skill ?? {}} session=${session} />`}
    ${session.milestones.length > 0 && html`<p class="made" role="status">${passedText(session, (id) => row?.skills.find((s) => s.skill_id === id)?.name)}</p>`}
  </article>`;
}

/** passedText says which steps were passed: by skill, where the session has several. nameOf may not know a skill. */
export function passedText({ blocks, milestones }, nameOf) {
  const several = new Set([...blocks, ...milestones].map((x) => x.skill_id)).size > 1;
  const skills = [...new Set(milestones.map((m) => m.skill_id))].map((id) => {
    const name = several && nameOf(id);
    return `${name ? `${name}: ` : ""}${stepsText(milestones.filter((m) => m.skill_id === id).map((m) => m.tier))}`;
  });
  return `Passed ${skills.join("; ")}.`;
}

/** stepsText says several steps: "2 and 4 in a row inside 5 ft, 5 in a row inside 5 ft, 1 of them holed". */
function stepsText(tiers) {
  const plain = (t) => t.run > 1 && !t.holed;
  const circles = new Map();
  for (const t of tiers.filter(plain)) circles.set(t.radius_m, [...(circles.get(t.radius_m) ?? []), t.run]);
  const rows = [...circles].map(([radius, runs]) => `${[runs.slice(0, -1).join(", "), runs.at(-1)].filter(Boolean).join(" and ")} in a row inside ${near(radius)}`);
  return [...rows, ...tiers.filter((t) => !plain(t)).map((t) => tierText(t))].join(", ");
}

const sameTier = (a, b) => a.run === b?.run && a.radius_m === b.radius_m && (a.holed ?? 0) === (b.holed ?? 0);

function quiet(session, now) {
  const ms = now - Date.parse(session.received_at);
  return ms > 4 * 60_000 ? `, last update ${span(ms)} ago` : "";
}

/** How many of the latest balls a card shows. */
const SHOWN = 24;

/**
 * silence says why balls in a row are not counted for a step, or not all of them;
 * "" when they are. reading is that of the block's balls.
 */
export function silence(block, tier, reading, ladder, session = {}) {
  if (session.surface) return "Not counted towards a step: this is not played on a green.";
  if (block.purpose) return "Not counted towards a step: this test shows where a student stands.";
  if (!judge.counts(ladder, block.kind)) return `Not counted towards a step: ${ladder.test_only ? "for this skill only tests count" : `${kindName(block.kind).toLowerCase()} blocks do not count`}.`;
  if (reading.unmeasured === 0) return "";
  const some = reading.unmeasured === block.balls.length ? "None of these balls counts" : `${reading.unmeasured} of these balls do not count`;
  return `${some}: the circle is ${near(block.radius_m)}, and the next step needs ${near(tier.radius_m)}. Use ${near(tier.radius_m)}, or measure the distance left.`;
}

function Balls({ block, tier, passed, over, ladder, session }) {
  const { balls = [] } = block;
  const reading = tier && judge.read(balls, tier, block.radius_m);
  const why = tier && silence(block, tier, reading, ladder, session);
  const counted = tier && judge.tested(ladder, block, session);
  const run = counted && (over ? reading.best : reading.current);
  const shown = balls.slice(-SHOWN);
  return html`${run && balls.length > 0 && html`<p class="live-run"><span class="live-run-number">${run.length}</span> in a row ${over ? "at most" : "now"}${run.holed ? `, ${run.holed} holed` : ""}</p>`}
    ${run && !passed && html`<p>Next: ${tierText(tier)}.</p>`}
    ${why && html`<p class="small">${why}</p>`}
    ${block.counts && html`<p>${block.counts.inside} of ${block.counts.balls} inside${block.radius_m ? ` ${near(block.radius_m)}` : ""}${block.counts.holed ? `, ${block.counts.holed} holed` : ""}.</p>`}
    ${shown.length > 0 && html`<${Marks} balls=${shown} what="Latest balls" first=${balls.length - shown.length} live />`}`;
}
