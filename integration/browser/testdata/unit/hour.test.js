import { equal, load } from "./harness.js";

const { roomFor } = await load("desk/hour.js");

export const tests = {
  "names go where there is room for them"() {
    for (const [shares, room] of [
      [[25, 25, 25, 25], "roomy"], [[22, 38, 40], "roomy"], [[100], "roomy"], [[], "roomy"],
      [[15, 20, 20, 20, 25], ""], [[11, 11, 39, 39], ""], [[40, 40, 20], ""], [[30, 30, 14, 15, 11], "crowded"],
      [[5, 5, 45, 45], "crowded"], [[10, 11, 39, 40], "crowded"], [[30, 27, 14, 15, 14], "crowded"], [[40, 20, 13, 10, 17], "crowded"],
    ]) equal(roomFor(shares), room, String(shares));
  },

  async "each part is drawn in proportion, and what is not given is left open"() {
    const { html, render } = await load("base/ui.js");
    const { Hour } = await load("desk/hour.js");
    render(html`<${Hour} blocks=${[{ kind: "test", share: 60, minutes: 18 }, { kind: "random", share: 0 }, { kind: "technique", share: 15 }]} length=${30} />`, document.body);
    const parts = [...document.querySelectorAll("li")].map((e) => [e.style.flexGrow, e.innerText.replace(/\s+/g, " ").trim()]);
    equal(parts, [["60", "Test18 min"], ["15", "Technique– min"], ["25", ""]], "the parts");
  },
};
