// What is kept, in plain words, for everybody.

import { html, Page, render, SkipLink } from "../base/ui.js";

const Privacy = () => html`<${Page} title="What is kept" lead="What this service keeps about people, who reads it, and what you may do about it.">
  <section><h2>What is kept of everybody</h2>
    <p>Your name, e-mail, a password that nobody can read, your time zone, when you signed in, and a log of who changed what. Where there is mail, whether you want the weekly letter; each letter is kept until it is sent.</p></section>
  <section><h2>What is kept of a student</h2>
    <p>The programmes that you were given; your sessions with every ball, time and note; your rounds; your clubs; your goal, competitions and off-season; what was worked out from all that; comments and messages; your lessons, with the coach's notes.</p>
    <p>A photo or clip of a lesson is kept for the days that you agreed with your coach and then deleted; a junior's only if the guardian has agreed. Photos are kept without where they were taken. You can delete them earlier, on the page of the lesson.</p></section>
  <section><h2>Who reads it</h2>
    <ul class="plain"><li>Your own coaches, and the owners of your academy. No other academy.</li>
      <li>A junior's guardians.</li>
      <li>Whoever has a link to your report, or the address of your calendar, until it is ended.</li>
      <li>Software that an owner of your academy gave a key.</li>
      <li>Apps that you or your coaches connected, until they are disconnected. You find yours under <a href="/apps">Connected apps</a>.</li></ul></section>
  <section><h2>Juniors</h2>
    <p>Nothing a junior practises is kept until a guardian agrees. A guardian is asked separately about links to reports, and about software with a key and apps. A guardian may withdraw at any time; from then on nothing more is kept. Once you are no longer a junior, you decide which guardians may still read your practice.</p></section>
  <section><h2>What you may do</h2>
    <ul class="plain"><li>Download all that is held about you, in your settings.</li>
      <li>Leave an academy. An owner may then erase you, or the academy does so by itself after the time it has set.</li>
      <li>Delete your account: everything goes at once, in every academy.</li></ul></section>
  <section><h2>What stays after that</h2>
    <p>How often and how much a skill was practised, added up over everybody, without you. What a coach wrote into a programme or a plan stays without the name. What other people wrote about you stays until they delete it. Backups are kept for as long as the operator keeps them.</p></section>
  <p><a href="/">Back to the front page</a></p>
</${Page}>`;

const root = document.getElementById("app");
root.replaceChildren();
render(html`<div class="app front"><${SkipLink} /><${Privacy} /></div>`, root);
