// The first steps: three touches that show how balls are logged, and how to lay
// out the circle.

import { to } from "../base/router.js";
import { set } from "../base/settings.js";
import { near, number } from "../base/units.js";
import { ballOutcomes, outcomeName } from "../base/words.js";
import { html, Page, useState } from "../base/ui.js";
import { useNow } from "./plan.js";

// Where each ball lies, in radii of the circle from the hole: to the right and down.
const balls = {
  out: { x: 0.95, y: 0.85, text: "This ball stopped outside the circle. Touch Out." },
  in: { x: -0.5, y: 0.35, text: "This one stopped inside. Touch In. When you practise you may then touch how far from the hole it lies, too: that is the distance left." },
  holed: { x: 0, y: 0, text: "This one went in. Touch Holed." },
};

/** First leads through the touches, one ball after the other. */
export function First() {
  const [at, go] = useState(0);
  const [missed, miss] = useState(false);
  const outcome = ballOutcomes[at];
  const touch = (other) => {
    miss(other !== outcome);
    if (other === outcome) go(at + 1);
  };
  if (!outcome) return html`<${LayOut} />`;
  return html`<${Page} title="Logging a ball" lead=${`Touch ${at + 1} of ${ballOutcomes.length}`}>
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

/** The length of a wedge, and of a long step, in metres: common practice, no source. */
const WEDGE = 0.9;

/** LayOut tells how to measure a circle without a tape. */
function LayOut() {
  const skills = useNow().body?.skills ?? [];
  const radii = [...new Set(skills.map((s) => s.next_tier?.radius_m).filter(Boolean))].sort((a, b) => a - b);
  return html`<${Page} title="The circle" lead="Once it is marked, there is no arguing about in and out.">
    <svg class="circle-above" viewBox=${`${-1.7 * R} ${-1.25 * R} ${3.4 * R} ${2.5 * R}`} role="img" aria-label="A circle around the hole with four tees on it and a club from the hole to its edge">
      <circle class="edge" r=${R} /><circle class="hole" r="7" /><path class="club" d=${`M0 0H${R - 6}`} />
      ${[[R, 0], [-R, 0], [0, R], [0, -R]].map(([x, y]) => html`<circle class="tee" cx=${x} cy=${y} r="5" />`)}
    </svg>
    <ol class="plain">
      <li>Lay a wedge down with its head at the hole: it is about ${near(WEDGE)} long. A long step is as much.</li>
      <li>Mark where it ends with a coin or a tee, on four sides of the hole. Take them up when you go.</li>
      ${radii.length > 0 && html`<li>Yours: ${radii.map((r) => `${near(r)} is ${number(r / WEDGE, 1)} wedges or steps`).join("; ")}.</li>`}
    </ol>
    <p><a class="button main big" href=${to("now")} onClick=${done}>To today's plan</a></p>
  </${Page}>`;
}
