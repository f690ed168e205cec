import { equal, load } from "./harness.js";

const says = (got, want) => equal(got, want, "the sentence");

const student = (name, steps_passed, days_since, phase = "running", open = true) => ({
  student: { name }, steps_passed, days_since, days: 24, sessions: 1, open, position: { phase },
});
const course = (students, passed, median, low, high) => ({ students, passed, days: { median, median_interval_95: { low, high }, steps: [{ time: 24 }] } });

export const tests = {
  async "names who has passed most and who waits"() {
    const { leadText, waitText } = await load("desk/cohort.js");
    const some = [student("Cy", 2, 9), student("Ada", 2, 1), student("Ben", 0, 24)];
    says(leadText(some), "Most steps since the start: Ada, Cy, 2 each.");
    says(leadText([...some, student("Dot", 3, 4)]), "Most steps since the start: Dot, 3.");
    says(leadText(["E", "D", "C", "B"].map((n) => student(n, 1, 1))), "Most steps since the start: B, C, D and 1 other, 1 each.");
    says(leadText([student("Ben", 0, 24)]), "Nobody has passed a step since the start.");
    says(leadText([]), "Nobody has passed a step since the start.");
    says(waitText(some), "Longest without a new step: Ben, 24 days; Cy, 9 days; Ada, 1 day.");
    says(waitText([student("Ada", 2, 30, "finished"), student("Ben", 4, 30, "running", false)]), "");
  },
  async "says what a student did since the start"() {
    const { sinceText } = await load("desk/cohort.js");
    says(sinceText(student("Ada", 0, 3, "ended")), "No step in 24 days, 1 session, ended early");
    says(sinceText(student("Ada", 1, 3)), "1 step in 24 days, 1 session");
  },
  async "says how long a step takes"() {
    const { courseText } = await load("desk/cohort.js");
    says(courseText(course(9, 5, 21, 14, 35), "days"), "5 of 9 passed it; half had by day 21 (14 to 35).");
    says(courseText(course(9, 5, 21, 14), "days"), "5 of 9 passed it; half had by day 21 (14 or later).");
    says(courseText(course(9, 5, 21), "days"), "5 of 9 passed it; half had by day 21 (range not known yet).");
    says(courseText(course(9, 2), "days"), "2 of 9 passed it; fewer than half had so far.");
    says(courseText(course(9, 0), "days"), "0 of 9 passed it, in up to 24 days.");
    says(courseText(course(0, 0), "days"), "No student had this step to pass.");
  },
  async "says whether parts differ"() {
    const { rankText } = await load("desk/cohort.js");
    const parts = [{ part: { name: "version 1" } }, { part: { name: "version 2" } }];
    says(rankText({ log_rank: { p: 0.13 }, parts }), "Version 1 and version 2: luck alone makes such a difference in 13 of 100 cases, so it may well be luck.");
    says(rankText({ log_rank: { p: 0.04 }, parts }), "Version 1 and version 2: luck alone makes such a difference in 4 of 100 cases.");
    says(rankText({ log_rank: { p: 0.0004 }, parts }), "Version 1 and version 2: luck alone makes such a difference in fewer than 1 of 100 cases.");
    says(rankText({ log_rank: { cannot_tell: "nothing_to_compare" }, parts }), "Nothing to compare yet.");
    says(rankText({ log_rank: { cannot_tell: "few_students" }, parts: [] }), "");
  },
  async "names what is cut short most"() {
    const { shortText } = await load("desk/cohort.js");
    const kind = (kind, planned_seconds, spent_seconds) => ({ kind, planned_seconds, spent_seconds });
    says(shortText([kind("warmup", 600, 590), kind("test", 1200, 600), kind("random", 0, 50)]), "Test is cut short most: 50 % of its planned time is spent.");
    says(shortText([kind("test", 1200, 1190)]), "No kind of block is cut short.");
    says(shortText([]), "No kind of block is cut short.");
  },
};
