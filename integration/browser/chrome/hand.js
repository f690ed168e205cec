// What a hand needs to know of the page: where something is that can be pressed
// or filled in, and whether a touch there reached it.
({
  /** find finds it by what a person is told about it: its label, or the text on
   * it. A whole match goes before a part of it, and what is in an open dialog
   * before what is behind. */
  find(name, kinds) {
    const scope = document.querySelector("dialog[open]") ?? document;
    const nameOf = (e) => {
      const label = e.getAttribute("aria-label");
      if (label) return label;
      if (e.labels?.length) return e.labels[0].innerText;
      return e.innerText ?? "";
    };
    const clean = (s) => s.replace(/\s+/g, " ").trim();
    const all = [...scope.querySelectorAll(kinds)].filter((e) => e.checkVisibility() && !e.disabled);
    return all.find((e) => clean(nameOf(e)) === name) ?? all.find((e) => clean(e.innerText ?? "") === name) ?? all.find((e) => clean(nameOf(e)).includes(name));
  },

  frame() {
    return new Promise((done) => {
      const late = setTimeout(done, 100); // a page that is not drawn has no frames
      requestAnimationFrame(() => (clearTimeout(late), done()));
    });
  },

  /** surface is what a finger meets: a choice is met by its label. */
  surface(e) {
    return ["radio", "checkbox"].includes(e.type) ? e.closest("label") ?? e : e;
  },

  /** middle is the middle of the first line of it. */
  middle(e) {
    const r = e.getClientRects()[0] ?? e.getBoundingClientRect();
    return { x: r.x + r.width / 2, y: r.y + r.height / 2 };
  },

  /** aim finds it, waits until it stands still and nothing covers it, and lets no
   * touch through but one on it. It gives where to touch, { done } when there is
   * nothing to do any more, or { why } not. */
  async aim({ step, name, kinds, ms, unless }) {
    let why = "there is nothing like it";
    for (const end = performance.now() + ms; performance.now() < end; await this.frame()) {
      if (unless()) return { done: true };
      const e = this.find(name, kinds);
      if (!e) continue;
      const surface = this.surface(e);
      surface.scrollIntoView({ block: "center", inline: "center", behavior: "instant" });
      const was = this.middle(surface);
      await this.frame();
      await this.frame();
      const at = this.middle(surface);
      if (this.find(name, kinds) !== e || at.x !== was.x || at.y !== was.y) {
        why = "it does not stand still";
        continue;
      }
      const top = document.elementFromPoint(at.x, at.y);
      if (!surface.contains(top)) {
        why = `something covers it: ${top?.outerHTML.slice(0, 200)}`;
        continue;
      }
      this.guard(step, e, surface);
      return at;
    }
    return { why };
  },

  /** guard keeps every touch from the page until one reaches what was aimed at,
   * and notes that where a following page finds it, too. */
  guard(step, e, surface) {
    globalThis.hand?.release();
    const kinds = ["pointerdown", "mousedown", "touchstart", "pointerup", "mouseup", "touchend", "click"];
    const hand = { state: "aimed" };
    const reached = () => {
      hand.state = "touched";
      sessionStorage.setItem("touched", step);
    };
    const meet = (event) => {
      if (!event.isTrusted || hand.state === "touched") return;
      const path = event.composedPath();
      if (hand.state === "aimed" && (path.includes(surface) || path.includes(e))) {
        if (event.type === "click") reached();
        return;
      }
      hand.state = "astray";
      event.preventDefault();
      event.stopImmediatePropagation();
    };
    // A page that acts as the finger is lifted wants no click after it.
    const lifted = (event) => event.isTrusted && hand.state === "aimed" && event.defaultPrevented && reached();
    hand.release = () => {
      kinds.forEach((kind) => removeEventListener(kind, meet, { capture: true }));
      removeEventListener("touchend", lifted);
    };
    addEventListener("touchend", lifted);
    kinds.forEach((kind) => addEventListener(kind, meet, { capture: true, passive: false }));
    globalThis.hand = hand;
  },

  /** touched tells whether the touch reached it. One that has not by then is kept
   * from the page for good. */
  async touched({ step, ms }) {
    const done = () => sessionStorage.getItem("touched") === String(step);
    const hand = globalThis.hand;
    for (const end = performance.now() + ms; hand?.state === "aimed" && performance.now() < end; ) await this.frame();
    if (hand?.state === "aimed") hand.state = "astray";
    if (!done()) return false; // the note stays: this answer may be lost with the page, and asked for again
    hand?.release();
    return true;
  },

  /** put sets what is typed in parts that differ by locale, and what is chosen; it
   * gives "typed" then, "type" for what is typed, and "gone" for what is not there. */
  put({ name, kinds, text }) {
    const e = this.find(name, kinds);
    if (!e) return "gone";
    if (!["date", "time", "select-one"].includes(e.type)) return "type";
    Object.getOwnPropertyDescriptor(Object.getPrototypeOf(e), "value").set.call(e, text);
    e.dispatchEvent(new Event("input", { bubbles: true }));
    e.dispatchEvent(new Event("change", { bubbles: true }));
    return "typed";
  },

  /** take readies a field for typing over what stands in it: "ready", "typed" when
   * it is empty and shall be, or "gone". */
  take({ name, kinds, text }) {
    const e = this.find(name, kinds);
    e?.focus();
    e?.select?.();
    if (!e || document.activeElement !== e) return "gone";
    if (text === "" && e.value === "") return "typed";
    globalThis.typed = null;
    addEventListener("input", (event) => (globalThis.typed = event.target === e ? e.value : null), { capture: true, once: true });
    return "ready";
  },
})
