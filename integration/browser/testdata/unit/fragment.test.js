import { equal, load } from "./harness.js";

/** at reads what follows the # of an address. */
async function at(hash) {
  const { fragment } = await load("front/fragment.js");
  history.replaceState(null, "", hash);
  try {
    return fragment();
  } finally {
    history.replaceState(null, "", location.pathname + location.search);
  }
}

export const tests = {
  async "a code is what follows the #"() {
    equal(await at("#ABCD-EFGH"), "ABCD-EFGH", "a code");
    equal(await at("#a%20b"), "a b", "an encoded one");
    equal(await at("#"), "", "nothing");
  },

  async "what is not well encoded is given as it is, for the page to say that it is wrong"() {
    for (const text of ["%", "%zz", "ABCD%", "%E0%A4%A"]) equal(await at(`#${text}`), text, text);
  },
};
