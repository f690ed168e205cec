// The main job, through a client made from the description: an owner signs up and in,
// writes a programme, invites a student and assigns it; the student uploads a
// session; the owner reads progress and the dashboard. What is not as it should be is
// thrown.
//
//   node job.js URL NOW

import createClient from "openapi-fetch";
import type { components, paths } from "./api.js";

type Schemas = components["schemas"];

const [, , baseUrl = "", text = ""] = process.argv;
const now = new Date(text);
const password = "seventeen brass kettles";

/** client asks as whoever has the token. */
function client(token?: string) {
  return createClient<paths>(token ? { baseUrl, headers: { Authorization: `Bearer ${token}` } } : { baseUrl });
}

/** got gives the data of an answer, or throws the problem that came instead. */
function got<T>(what: string, answer: { data?: T; error?: unknown }): T {
  if (answer.data === undefined) throw new Error(`${what}: ${JSON.stringify(answer.error)}`);
  return answer.data;
}

function want(what: string, is: boolean): void {
  if (!is) throw new Error(`${what} is not as it should be`);
}

/** uuid7 is a session's ID, which the client makes. */
function uuid7(at: Date): string {
  const time = at.getTime().toString(16).padStart(12, "0");
  const rest = crypto.randomUUID().slice(15);
  return `${time.slice(0, 8)}-${time.slice(8)}-7${rest}`;
}

const anybody = client();
const mail = `owner.${Math.random().toString(36).slice(2)}@links-end.example`;
got("signing up", await anybody.POST("/v1/academies", { body: { academy_name: "Links End", time_zone: "Europe/Lisbon", name: "Ines Duarte", email: mail, password } }));
const signedIn = got("signing in", await anybody.POST("/v1/sign-in", { body: { email: mail, password } }));
if ("ticket" in signedIn) throw new Error("a second factor was asked for, and there is none");
const owner = client(signedIn.access_token);

const tier: Schemas["Tier"] = { run: 4, radius_m: 2 };
const skill = got("the skill", await owner.POST("/v1/skills", { body: { name: "Pitch", kind: "pitch", ladder: { tiers: [tier, { run: 7, radius_m: 2, holed: 1 }] } } }));
const drill: Schemas["Drill"] = { radius_m: 2, text: "Pick a landing spot." };
const content: Schemas["ProgrammeContent"] = {
  name: "Two weeks of pitching",
  weeks: [{ title: "Week 1", skill_id: skill.id, plans: [{ minutes: 50, blocks: [{ kind: "technique", share: 30, drill }, { kind: "test", share: 70, drill }] }] }],
};
const programme = got("the draft", await owner.POST("/v1/programmes", { body: content }));
const version = got("publishing", await owner.POST("/v1/programmes/{programme_id}/versions", { params: { path: { programme_id: programme.id } } }));
want("the version", version.number === 1 && version.content.weeks?.[0]?.plans?.[0]?.blocks?.length === 2);

const invitation = got("inviting", await owner.POST("/v1/invitations", { body: { role: "student", name: "Tomas Brandt" } }));
const joined = got("joining", await anybody.POST("/v1/invitations/accept", { body: { code: invitation.code, name: "Tomas Brandt", email: `t.${mail}`, password } }));
if (!("access_token" in joined)) throw new Error("joining waits for a letter, though there is no mail");
const member = joined.membership?.member_id ?? "";
const student = client(joined.access_token);
const start = new Date(now.getTime() - 2 * 86_400_000).toISOString().slice(0, 10);
const given = got("assigning", await owner.POST("/v1/assignments", { body: { programme_id: programme.id, student_ids: [member], start_date: start } }));
const today = got("today", await student.GET("/v1/students/{student_id}/now", { params: { path: { student_id: member } } }));
want("today's work", today.work.length === 1);

const outcomes: Schemas["Ball"]["outcome"][] = ["out", "in", "in", "holed", "in", "out"];
const began = new Date(now.getTime() - 3_600_000);
const session = got("uploading", await student.PUT("/v1/sessions/{session_id}", {
  params: { path: { session_id: uuid7(began) } },
  body: {
    revision: 1, started_at: began.toISOString(), ended_at: now.toISOString(), assignment_id: given.items[0]?.id ?? "", week: 1, plan: 1,
    blocks: [{ kind: "test", skill_id: skill.id, radius_m: 2, seconds: 1200, balls: outcomes.map((outcome, i) => ({ outcome, after_s: 30 * i })) }],
  },
}));
want("the milestone", session.milestones.length === 1 && session.milestones[0]?.ball === 5);

const progress = got("progress", await owner.GET("/v1/students/{student_id}/progress", { params: { path: { student_id: member } } }));
want("progress", progress.sessions === 1 && progress.skills[0]?.held === 1);
const dashboard = got("the dashboard", await owner.GET("/v1/dashboard", {}));
want("the dashboard", dashboard.items.some((row) => row.student.id === member && row.sessions === 1));

const odds = got("the odds", await owner.POST("/v1/calc/streak-odds", { body: { run: 1, holed: 0, rates: { in: 0.5, holed: 0 }, balls: 2 } }));
want("the odds", Math.abs(odds.probability - 0.75) < 1e-9); // 1 - 0.5²
const refused = await student.GET("/v1/dashboard", {});
want("the refusal", refused.error?.code === "role_refused");
console.log("done");
