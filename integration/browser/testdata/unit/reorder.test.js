import { equal, load, until } from "./harness.js";

/** listed draws a list of entries of a height, with grips and buttons; moves are what was asked for. */
async function listed(names) {
  const { html, render } = await load("base/ui.js");
  const { Grip, moved, Reorder } = await load("desk/edit.js");
  const list = [...names];
  const moves = [];
  const draw = () => render(html`<ol style="margin:0;padding:0">${list.map((name, i) => {
    const move = (by) => (moves.push([i, by]), moved(list, i, by), draw());
    return html`<li key=${i} data-entry="list" style="display:block;height:60px">${name}<${Grip} group="list" index=${i} length=${list.length} onMove=${move} />
      <${Reorder} what=${name} group="list" index=${i} length=${list.length} onMove=${move} /></li>`;
  })}</ol>`, document.body);
  draw();
  await until(() => document.querySelectorAll("li").length === names.length, "the list");
  return { list, moves };
}

const pointer = (kind, target, y) => target.dispatchEvent(new PointerEvent(kind, { clientX: 10, clientY: y, button: 0, bubbles: true, cancelable: true }));

function drag(from, y, end = () => pointer("pointerup", document.body, y)) {
  pointer("pointerdown", document.querySelectorAll(".grip")[from], 0);
  pointer("pointermove", document.body, y);
  end();
}

const middle = (i) => {
  const r = document.querySelectorAll("li")[i].getBoundingClientRect();
  return r.top + r.height / 2;
};

export const tests = {
  async "an entry is dragged past the middle of others"() {
    const { list, moves } = await listed(["a", "b", "c", "d"]);
    drag(0, middle(2) + 1);
    equal([list.join(""), moves], ["bcad", [[0, 2]]], "down two places");
    drag(3, middle(0) - 1);
    equal(list.join(""), "dbca", "up to the top");
    drag(1, middle(1) + 1);
    drag(1, middle(2) - 1);
    equal([list.join(""), moves.length], ["dbca", 2], "not past anybody's middle");
  },

  async "a drag that is given up moves nothing, and leaves no marks"() {
    const { list } = await listed(["a", "b", "c"]);
    const marks = () => document.querySelectorAll(".dragged, .drop-above, .drop-below").length;
    drag(0, middle(2) + 1, () => {
      equal(marks(), 2, "what is dragged, and where it would go");
      dispatchEvent(new KeyboardEvent("keydown", { key: "a" }));
      equal(marks(), 2, "after another key");
      dispatchEvent(new KeyboardEvent("keydown", { key: "Escape" }));
    });
    pointer("pointerup", document.body, middle(2) + 1);
    drag(0, middle(2) + 1, () => pointer("pointercancel", document.body, 0));
    equal([list.join(""), marks()], ["abc", 0], "the list and the marks");
  },

  async "the focus stays with an entry that is moved by its buttons"() {
    const { list } = await listed(["a", "b", "c"]);
    const button = (label) => document.querySelector(`button[aria-label="${label}"]`);
    const focus = (label) => until(() => document.activeElement?.getAttribute("aria-label") === label, `the focus on ${label}`);
    button("Move down a").focus();
    button("Move down a").click();
    await focus("Move down a");
    equal(list.join(""), "bac", "the list");
    button("Move down a").click();
    await focus("Move up a"); // the other one, at the end
    button("Move up a").click();
    await focus("Move up a");
    equal([list.join(""), document.querySelectorAll(".grip").length], ["bac", 3], "the list");
  },
};
