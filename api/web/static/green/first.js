// The first steps: three taps that show how balls are logged, and how to lay
// out the circle.

import { to } from "../base/router.js";
import { set } from "../base/settings.js";
import { near } from "../base/units.js";
import { ballOutcomes, outcomeName } from "../base/words.js";
import { html, Page, useState } from "../base/ui.js";
import { useNow } from "./plan.js";

// Where each ball lies, in radii of the circle from the hole: to the right and down.
const balls = {
  out: { x: 0.95, y: 0.85, text: "This ball stopped outside the circle. Tap Out." },
  in: { x: -0.5, y: 0.35, text: "This one stopped inside. Tap In. In practice you can then tap how far it is to the hole, too." },
  holed: { x: 0, y: 0, text: "This one went in. Tap Holed." },
};

/** First leads through the taps, one ball after the other. */
export function First() {
  const [at, go] = useState(0);
  const [missed, miss] = useState(false);
  const outcome = ballOutcomes[at];
  const touch = (other) => {
    miss(other !== outcome);
    if (other === outcome) go(at + 1);
  };
  if (!outcome) return html`<${LayOut} />`;
  return html`<${Page} title=${`Log a ball, ${at + 1} of ${ballOutcomes.length}`}>
    <div class="first"><${Circle} outcome=${outcome} />
    <div><p role="status">${missed && "Not that one. "}${balls[outcome].text}</p>
    <div class="targets">${ballOutcomes.map((o) => html`<button type="button" class=${`target ${o}`} onClick=${() => touch(o)}><span class="target-word">${outcomeName(o)}</span></button>`)}</div></div></div>
    <p><a class="button quiet" href=${to("now")} onClick=${done}>Skip</a></p>
  </${Page}>`;
}

const done = () => set({ shown: true });

/** The radius of the drawn circle, in CSS pixels. */
const R = 80;

/** Circle is the circle from above: the hole with its flag, and a ball. */
function Circle({ outcome }) {
  const { x, y } = balls[outcome];
  return html`<svg class="circle-above" viewBox=${`${-1.7 * R} ${-1.25 * R} ${3.4 * R} ${2.5 * R}`} role="img" aria-label=${`The circle around the hole from above; the ball ${{ out: "lies outside it", in: "lies inside it", holed: "is in the hole" }[outcome]}`}>
    <circle class="edge" r=${R} />
    ${outcome === "in" && html`<path class="left" d=${`M0 0L${x * R} ${y * R}`} />`}
    <circle class="hole" r="7" /><path class="flag" d="M0 0v-44l24 9l-24 9" />
    ${outcome === "holed" ? html`<circle class="ball" r="4.5" />` : html`<circle class="ball" cx=${x * R} cy=${y * R} r="6" />`}
  </svg>`;
}

/** The length of a wedge, and of a long stride, in metres: common practice, no source. */
const WEDGE = 0.9;

/** clubs says a length in clubs, to the quarter: "1¾ club lengths". */
function clubs(metres) {
  const quarters = Math.round((4 * metres) / WEDGE);
  const whole = Math.floor(quarters / 4);
  const text = `${whole || ""}${["", "¼", "½", "¾"][quarters % 4]}` || "0";
  return `${text} club ${quarters > 4 ? "lengths" : "length"}`;
}

/** LayOut tells how to measure a circle without a tape. */
function LayOut() {
  const skills = useNow().body?.skills ?? [];
  const radii = [...new Set(skills.map((s) => s.next_tier?.radius_m).filter(Boolean))].sort((a, b) => a - b);
  return html`<${Page} title="Mark the circle">
    <div class="first"><svg class="circle-above" viewBox=${`${-1.7 * R} ${-1.25 * R} ${3.4 * R} ${2.5 * R}`} role="img" aria-label="A circle around the hole with four tees on it and a club from the hole to its edge">
      <circle class="edge" r=${R} /><circle class="hole" r="7" /><path class="club" d=${`M0 0H${R - 6}`} />
      ${[[R, 0], [-R, 0], [0, R], [0, -R]].map(([x, y]) => html`<circle class="tee" cx=${x} cy=${y} r="5" />`)}
    </svg>
    <ol class="plain">
      <li>Lay a wedge on the green, head at the hole: about ${near(WEDGE)}, and so is one long stride.</li>
      ${radii.length > 0 && html`<li>Your circle: ${radii.map((r) => `${near(r)} is about ${clubs(r)}`).join("; ")}.</li>`}
      <li>Mark it on four sides with tees or coins, and pick them up when you leave.</li>
    </ol></div>
    <p class="start"><a class="button main big" href=${to("now")} onClick=${done}>To today's plan</a></p>
  </${Page}>`;
}
