import { equal, load } from "./harness.js";

const says = (got, want) => equal(got, want, "the details");

const given = { number: 7, subject_id: "s", data: { kind: "distance", skill_id: "", from: "2026-05-04", until: "2026-05-24", text: "Nearer at first.", revision: 2 } };

export const tests = {
  async "writes the details of an event in words"() {
    const { details } = await load("desk/log.js");
    const say = { nameOf: () => undefined, whole: false };
    says(details(given, say), "other distances, from 4 May 2026, until 24 May 2026, “Nearer at first.”");
    says(details({ number: 8, data: { name: "Ines", role: "coach" } }, say), "Ines, coach");
    says(details({ number: 9, data: { reason: "flat", balls: 3 } }, say), "Not improving, balls 3");
    says(details({ number: 10 }, say), "");
  },
  async "writes all of them with IDs"() {
    const { details } = await load("desk/log.js");
    says(details(given, { nameOf: () => undefined, whole: true }), "kind distance, from 2026-05-04, until 2026-05-24, text Nearer at first., revision 2, event 7, identity s");
  },
  async "folds a long list of proposals by the kind of the first"() {
    const { byKind } = await load("desk/proposals.js");
    const student = (name, ...kinds) => ({ student: { name }, items: [{}, ...kinds.map((kind) => ({ adjustment: { kind } }))] });
    const parts = byKind([student("Ada", "shares", "step"), student("Ben", "step"), student("Cy", "shares")]);
    equal(parts.map(({ name, students }) => `${name}: ${students.map((s) => s.student.name)}`), ["Steps: Ben", "Time: Ada,Cy"], "the parts");
  },
};
