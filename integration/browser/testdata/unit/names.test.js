import { equal, load } from "./harness.js";

const read = async (text) => (await load("desk/names.js")).readNames(text).map((p) => `${p.name}|${p.email}`);

export const tests = {
  async "one person on each line, with an e-mail if there is one"() {
    equal(await read("Edda Falk\nFinn, finn@example.org\nGry Holm <gry@example.org>\nHal\thal@example.org\nida@example.org"),
      ["Edda Falk|", "Finn|finn@example.org", "Gry Holm|gry@example.org", "Hal|hal@example.org", "|ida@example.org"], "the people");
  },

  async "empty lines, numbers and repeated lines are left out"() {
    equal(await read("\r\n1. Edda Falk\r\n  2) Finn\r\n- Gry\r\n\r\nEdda  Falk\r\n"), ["Edda Falk|", "Finn|", "Gry|"], "the people");
  },

  async "a comma within a name is no e-mail"() {
    equal(await read("Falk, Edda\nFalk, Edda, edda@example.org\n\"Finn\"; finn@example.org"), ["Falk, Edda|", "Falk, Edda|edda@example.org", "Finn|finn@example.org"], "the people");
  },

  async "several people on a line, as from a spreadsheet or a mail"() {
    equal(await read("Edda Falk; Finn Moe;Gry"), ["Edda Falk|", "Finn Moe|", "Gry|"], "by semicolons");
    equal(await read("Edda Falk\tFinn Moe\nGry\tHolm\nAda\tBen\tCy"), ["Edda Falk|", "Finn Moe|", "Gry Holm|", "Ada|", "Ben|", "Cy|"], "by tabs");
    equal(await read("Edda Falk, Finn Moe\nvan Dam, Edda"), ["Edda Falk|", "Finn Moe|", "van Dam, Edda|"], "by commas");
    equal(await read("Edda Falk <edda@example.org>; Finn, finn@example.org; gry@example.org; Hal"), ["Edda Falk|edda@example.org", "Finn|finn@example.org", "|gry@example.org", "Hal|"], "with e-mails");
    equal(await read("Edda\tFalk\tedda@example.org"), ["Edda Falk|edda@example.org"], "a row of a spreadsheet");
  },

  async "what is written is read the same"() {
    const { readNames, writeName } = await load("desk/names.js");
    const people = [{ name: "Edda Falk", email: "edda@example.org" }, { name: "", email: "finn@example.org" }, { name: "Gry", email: "" }];
    equal(readNames(people.map(writeName).join("\n")), people, "the people");
  },
};
