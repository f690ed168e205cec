import { equal, load } from "./harness.js";

const { clubText, taskText, waitText } = await load("base/words.js");

export const tests = {
  "clubs are called as golfers call them"() {
    for (const [club, want] of [["9 iron", "9-iron"], ["7", "7-iron"], ["56", "56°"], ["54° wedge", "54° wedge"], ["sand wedge", "sand wedge"], ["2 hybrid", "2 hybrid"]]) {
      equal(clubText(club), want, club);
    }
    equal(taskText({ lie: "fringe", distance_m: 10.9728, club: "8 iron" }, "feet"), "fringe · 12 yd · 8-iron", "a task");
    equal(taskText({ distance_m: 10.9728 }, "feet", [7.9248, 10.9728]), "36 ft", "a task beside a shorter one");
    equal(taskText({ distance_m: 7.9248 }, "feet", [7.9248, 18.288]), "9 yd", "a task beside a longer one");
  },

  "a wait is told in sessions only as far as the season goes"() {
    const pace = ", 4 to 9 days at your pace";
    for (const [low, high, want] of [
      [2.4, 5.6, `most likely 2 to 6 sessions${pace}`],
      [0.9, 1.2, `most likely 1 session${pace}`],
      [12, 30, `most likely 12 to 30 sessions${pace}`],
      [12, 30.1, "at least 12 sessions, perhaps more than 30"],
      [1, null, "at least 1 session, perhaps more than 30"],
      [30.1, 170, "more than 30 sessions"],
      [null, null, "more than 30 sessions"],
      [undefined, undefined, "more than 30 sessions"],
    ]) {
      equal(waitText({ low, high }, pace), want, `${low} to ${high}`);
    }
    equal(waitText({ low: 2, high: 3 }), "most likely 2 to 3 sessions", "without a pace");
  },
};
