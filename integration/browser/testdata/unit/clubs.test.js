import { equal, load } from "./harness.js";

const { clubLists } = await load("desk/clubs.js");

export const tests = {
  "a list of clubs is completed by those it lacks"() {
    equal(clubLists([]).slice(0, 2).join("; "), "low wedge; middle wedge", "nothing yet");
    equal(clubLists(["sand wedge", "54°"])[0], "sand wedge, 54°, low wedge", "two whole names");
    equal(clubLists(["low wedge"]).includes("low wedge, low wedge"), false, "no club twice");
  },

  "a name half written is replaced"() {
    equal(clubLists(["7-iron", "Hi"]).includes("7-iron, high wedge"), true, "high wedge");
    equal(clubLists(["hi"])[0], "low wedge", "it alone");
  },
};
