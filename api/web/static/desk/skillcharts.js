// What a skill looks like over time: the rate with its band and the most in a row,
// session by session; balls and minutes by the week. All numbers are the service's.

import { BandChart } from "../base/chart.js";
import { linesOf, linesText } from "../base/lesson.js";
import { useLoad } from "../base/load.js";
import { count, day, near, percent, percents } from "../base/units.js";
import { ballsText, runText, tierText } from "../base/words.js";
import { html } from "../base/ui.js";
import { Bars } from "./charts.js";
import { Missing } from "./parts.js";

const interval = (p) => percents(p.interval_80.low, p.interval_80.high);

/** SkillCharts draws one skill of one student. compact leaves the weeks out. */
export function SkillCharts({ studentID, skill, compact }) {
  const history = useLoad(`/v1/students/${studentID}/skills/${skill.skill_id}/history`);
  const taught = useLoad(`/v1/lessons?student_id=${studentID}&limit=50`).body?.items ?? [];
  if (!history.body) return html`<${Missing} what=${`the history of ${skill.name}`} from=${history} />`;
  const { points, weeks, tier } = history.body;
  if (points.length < 2) return html`<p>Charts appear once two sessions have balls that count for the next step.</p>`;
  const made = new Map(skill.milestones.map((m) => [m.session_id, tierText(m.tier)]));
  return html`<div class=${compact ? "charts compact" : "charts"}><${Rate} points=${points} tier=${tier} made=${made} taught=${taught} height=${compact ? 125 : undefined} />
    ${!compact && html`<${Runs} points=${points} tier=${tier} made=${made} />`}
    ${!compact && weeks.length > 1 && html`<${Weeks} weeks=${weeks} />`}</div>`;
}

function Rate({ points, tier, made, taught, height }) {
  const lines = linesOf(taught, points);
  const [first, last] = [points[0], points.at(-1)];
  const sentence = `From ${percent(first.mean)} (${interval(first)}) on ${day(first.day)} to ${percent(last.mean)} (${interval(last)}) on ${day(last.day)}. The true rate is in the band 4 times in 5; a flag marks a step passed.${linesText(lines)}`;
  return html`<${BandChart} lines=${lines} title=${`Rate inside ${near(tier.radius_m)}, session by session`} sentence=${sentence} height=${height}
    points=${points.map((p) => ({ label: day(p.day), mean: p.mean, low: p.interval_80.low, high: p.interval_80.high, mark: made.get(p.session_id), source: p }))}
    columns=${["Session", "Rate", "80 % band", "In", "Of balls", "Judged elsewhere", "Step passed"]}
    row=${({ label, mark, source }) => [label, percent(source.mean), interval(source), source.inside, source.judged, source.elsewhere.reduce((n, c) => n + c.balls, 0), mark ?? ""]} />`;
}

/** Runs shows the most in a row of each session against the step's length. */
function Runs({ points, tier, made }) {
  const best = Math.max(...points.map((p) => p.best_run.length));
  const times = points.filter((p) => p.best_run.length === best).length;
  const reached = points.filter((p) => p.best_run.length >= tier.run).length;
  const sentence = `The step is ${tierText(tier)}. The most in a row in these ${count(points.length, "session")} is ${best}${times > 1 ? `, ${times} times` : ""}; ${reached === 0 ? "none reached the step" : `${count(reached, "session")} reached it`}. The line is the step; a flag marks a step passed.`;
  return html`<${Bars} title=${`Most in a row inside ${near(tier.radius_m)}, session by session`} sentence=${sentence} unit="in a row"
    points=${points.map((p) => ({ label: day(p.day), value: p.best_run.length, line: tier.run, mark: made.get(p.session_id) }))}
    columns=${["Session", "Most in a row", "The step", "Step passed"]}
    rows=${points.map((p) => [day(p.day), runText(p.best_run), tier.run, made.get(p.session_id) ?? ""])} />`;
}

const WEEK = 7 * 86_400_000;

/** filled puts the weeks without practice between those with some. */
function filled(weeks) {
  const nothing = { sessions: 0, balls: 0, seconds: 0, attested: { balls: 0 } };
  const found = new Map(weeks.map((w) => [w.monday, w]));
  const all = [];
  for (let at = Date.parse(weeks[0].monday); at <= Date.parse(weeks.at(-1).monday); at += WEEK) {
    const monday = new Date(at).toISOString().slice(0, 10);
    all.push(found.get(monday) ?? { ...nothing, monday });
  }
  return all;
}

function Weeks({ weeks: practised }) {
  const weeks = filled(practised);
  const ballsOf = (w) => w.balls + w.attested.balls;
  const minutesOf = (w) => Math.round(w.seconds / 60);
  const rows = weeks.map((w) => [day(w.monday), w.sessions, ballsOf(w), minutesOf(w), w.attested.balls || ""]);
  const columns = ["Week from", "Sessions", "Balls", "Minutes", "Of them from cards"];
  const tell = (of, word) => {
    const last = weeks.at(-1);
    const most = weeks.reduce((a, b) => (of(b) > of(a) ? b : a));
    return `The most was ${word(of(most))} in the week from ${day(most.monday)}; in the latest, from ${day(last.monday)}, ${word(of(last))}.`;
  };
  const points = (of) => weeks.map((w) => ({ label: day(w.monday), value: of(w) }));
  return html`<${Bars} title="Balls by the week" unit="balls" sentence=${tell(ballsOf, ballsText)} points=${points(ballsOf)} columns=${columns} rows=${rows} />
    <${Bars} title="Minutes by the week" unit="minutes" sentence=${tell(minutesOf, (n) => count(n, "minute"))} points=${points(minutesOf)} columns=${columns} rows=${rows} />`;
}
