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
  async "says the steps passed by skill where a session has several"() {
    const { passedText } = await load("desk/clinic.js");
    const nameOf = (id) => ({ chip: "Chip and run", pitch: "Pitch" })[id];
    const passed = (skill_id, run, radius_m = 1.524, holed) => ({ skill_id, tier: { run, radius_m, holed } });
    const says = (session, want) => equal(passedText(session, nameOf), want, want);
    const [chip, pitch, unknown] = ["chip", "pitch", "gone"].map((skill_id) => ({ skill_id }));
    says({ blocks: [chip, chip], milestones: [passed("chip", 2)] }, "Passed 2 in a row inside 5 ft.");
    says({ blocks: [chip, pitch], milestones: [passed("chip", 2)] }, "Passed Chip and run: 2 in a row inside 5 ft.");
    says({ blocks: [chip, pitch], milestones: [passed("chip", 2), passed("pitch", 3), passed("chip", 4), passed("chip", 5, 1.524, 1), passed("chip", 3, 0.9144)] },
      "Passed Chip and run: 2 and 4 in a row inside 5 ft, 3 in a row inside 3 ft, 5 in a row inside 5 ft, 1 of them holed; Pitch: 3 in a row inside 5 ft.");
    says({ blocks: [unknown, pitch], milestones: [passed("gone", 1)] }, "Passed 1 ball inside 5 ft.");
  },
  async "lists landings by club, in the reader's unit"() {
    const { aimText, byClub, greenText, pairText } = await load("desk/landings.js");
    const { who } = await load("base/account.js");
    const landed = (club, carry_m, total_m, aim_m) => ({ club, carry_m, total_m, aim_m });
    const before = who.value;
    who.value = { member: { units: "metres" } };
    const clubs = byClub([landed("sand wedge", 8.21, 17.5, 8), landed("9-iron", 4, 16, undefined), landed("sand wedge", 7, 6.5, 9)]);
    equal(clubs.map(([club, balls]) => `${club}: ${aimText(balls)}; ${balls.map(pairText).join(", ")}`), ["sand wedge: 8 to 9; 8.2 → 17.5, 7 → 6.5", "9-iron: –; 4 → 16"], "in metres");
    who.value = { member: { units: "feet" } };
    equal([aimText([landed("", 1, 1, 6.096)]), pairText(landed("", 6.096, 9.144))], ["20", "20 → 30"], "in feet");
    who.value = before;
    equal([greenText({ stimp_ft: 9, slope_deg: -1 }), greenText({ stimp_ft: 8.5, slope_deg: 0 })], ["9 ft on the stimpmeter, 1° downhill", "8.5 ft on the stimpmeter, level"], "the green");
  },
  async "folds a long list of proposals by the kind of the first"() {
    const { byKind } = await load("desk/proposals.js");
    const student = (name, ...kinds) => ({ student: { name }, items: [{}, ...kinds.map((kind) => ({ adjustment: { kind } }))] });
    const parts = byKind([student("Ada", "shares", "step"), student("Ben", "step"), student("Cy", "shares")]);
    equal(parts.map(({ name, students }) => `${name}: ${students.map((s) => s.student.name)}`), ["Steps: Ben", "Time: Ada,Cy"], "the parts");
  },
};
