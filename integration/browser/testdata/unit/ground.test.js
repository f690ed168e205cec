import { equal, load } from "./harness.js";

const ground = await load("base/ground.js");

// Balls that roll so far that one over it grows evenly with one over the speed, as of
// a ball that only rolls: twice the speed, twice the run.
const table = {
  carry_m: [1, 5, 9], apex_m: [0.5, 1, 2], descent_deg: [30, 35, 40], stimp_ft: [6, 12], slope_deg: [-1, 0, 1],
  run_m: [6, 10, 10.2].map((run) => [[1.25, 1, 0.8].map((by) => by * run / 2), [1.25, 1, 0.8].map((by) => by * run)]),
};
const station = { name: "51", lie: "fairway", loft_deg: 51, table };
const fast = { stimp_ft: 12, slope_deg: 0 };
const near = (a, b) => Math.abs(a - b) < 1e-9;

export const tests = {
  "a run is read at the table's entries and between them"() {
    equal(ground.run(station, 5, fast), 10);
    equal(ground.run(station, 5, { stimp_ft: 6 }), 5);
    equal(near(ground.run(station, 5, { stimp_ft: 8 }), 20 / 3), true); // two thirds of the speed of 12 ft
    equal(ground.run(station, 3, fast), 8);
    equal(near(ground.run(station, 5, { stimp_ft: 12, slope_deg: -0.5 }), 2 / (1 / 12.5 + 1 / 10)), true);
  },

  "what lies outside the table is taken at its edge"() {
    equal(ground.run(station, 0.2, fast), 6);
    equal(ground.run(station, 99, { stimp_ft: 99, slope_deg: 9 }), 10.2 * 0.8);
  },

  "what was learned counts"() {
    equal(ground.run({ ...station, learned: { run_factor: 1.5 } }, 5, fast), 15);
  },

  "a club is half carry and half roll, and stops at a distance, from one spot"() {
    const spot = ground.half({ ...station, learned: { run_factor: 0.5 } }, fast);
    equal(near(spot, 6 * ground.PACE), true); // lands at 5.4 m and runs 5.01 m
    equal(ground.half(station, { stimp_ft: 16, slope_deg: -1 }), null);
    const far = { ...station, table: { ...table, carry_m: [1, 5, 49], run_m: [6, 10, 20].map((run) => [[run / 2, run / 2, run / 2], [run, run, run]]) } };
    equal(ground.half(far, fast) < 13, true); // stops 24 m away
    equal(ground.half({ ...far, learned: { run_factor: 2 } }, fast), null); // it would stop 65 m away
    const stop = ground.stopping(station, 15, fast);
    equal(stop + ground.run(station, stop, fast) >= 15 && stop - ground.PACE / 2 + ground.run(station, stop - ground.PACE / 2, fast) < 15, true);
    equal(ground.stopping(station, 99, fast), null);
  },

  "balls that land short of the spot stop short of the others"() {
    const [short, long] = ground.spreadOf(station, 5, fast);
    const usual = 5 + ground.run(station, 5, fast);
    equal(short < usual && usual < long, true);
  },

  "two rolls tell the green"() {
    equal(ground.greenOf(7.5, 11).stimp_ft, 8.9);
    equal(ground.greenOf(9, 9), { stimp_ft: 9, slope_deg: 0 });
    equal(ground.greenOf(11, 7.5), null);
    equal(ground.greenOf(NaN, 9), null);
  },

  "distances are told in paces"() {
    equal([0, 0.45, 0.9, 5.85, -1.8].map(ground.paces), ["0", "½", "1", "6½", "−2"]);
  },

  "a drill's clubs are found from its lie"() {
    const now = { stations: [station, { ...station, lie: "rough" }, { ...station, name: "60" }] };
    equal(ground.stationsOf(now, { clubs: ["60", "51", "putter"], lies: ["light rough"] }).map((s) => s.name + s.lie), ["51rough"]);
    equal(ground.stationsOf(now, { clubs: ["60", "51"] }).map((s) => s.name), ["60", "51"]);
    equal(ground.stationsOf({}, { clubs: ["60"] }), []);
  },
};
