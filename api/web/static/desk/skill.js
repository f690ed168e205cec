// One skill: its ladder, what each step takes, and its drills.

import * as api from "../base/api.js";
import * as db from "../base/db.js";
import { Ladder } from "../base/ladder.js";
import { go, to } from "../base/router.js";
import { dayTime } from "../base/units.js";
import { Switch } from "../base/choices.js";
import { Button, Failed, Field, html, Loading, Notice, Page, useEffect, useRef, useSend, useState, Wrong } from "../base/ui.js";
import { atOf, Parsed, Reorder, moved } from "./edit.js";
import { Insights } from "./insights.js";
import { LadderPreview } from "./ladder.js";
import { parseLength, writeLength } from "./lengths.js";
import { ProgrammeNav } from "./programmes.js";
import { SkillDrills } from "./skilldrills.js";
import { skillKinds } from "../base/skillkinds.js";

const FIVE_FEET = 1.524;

const fresh = () => ({ name: "", kind: "pitch", text: "", ladder: { tiers: [{ run: 5, radius_m: FIVE_FEET }, { run: 9, radius_m: FIVE_FEET }] } });

/** useSkill reads a skill and what was typed on this device on top of it. */
function useSkill(id) {
  const [state, set] = useState({});
  const load = async () => {
    const typed = await db.read("drafts", `skill ${id}`).catch(() => undefined);
    if (id === "new") return set({ skill: typed?.content ?? fresh(), typed });
    try {
      const answer = await api.send("GET", `/v1/skills/${id}`);
      const { name, kind, text, ladder, drills } = answer.body;
      set({ skill: typed?.content ?? { name, kind, text: text ?? "", ladder, drills }, stored: answer.body, etag: answer.etag, typed });
    } catch (problem) {
      set({ problem });
      if (!problem.known) console.error(problem);
    }
  };
  useEffect(() => {
    set({});
    load();
  }, [id]);
  const edit = (fn) => set((s) => {
    const skill = structuredClone(s.skill);
    fn(skill);
    db.write("drafts", { id: `skill ${id}`, content: skill, etag: s.etag, at: Date.now() }).catch(console.error);
    return { ...s, skill, typed: s.typed ?? { at: Date.now(), now: true } };
  });
  const forget = () => db.remove("drafts", `skill ${id}`).catch(() => {});
  return { ...state, edit, load, forget };
}

export function SkillPage({ args: [id] }) {
  const s = useSkill(id);
  if (!s.skill) return html`<${Page} title="Skill" wide>${s.problem ? html`<${Failed} what="The skill" problem=${s.problem} retry=${s.load} />` : html`<${Loading} what="the skill" />`}</${Page}>`;
  return html`<${Page} title=${s.skill.name || "New skill"} wide><${ProgrammeNav} current="skills" /><${Form} id=${id} s=${s} /></${Page}>`;
}

function Form({ id, s }) {
  const { skill, edit } = s;
  const [done, setDone] = useState("");
  const tried = useRef(null); // what was saved on top of, the last time
  const save = useSend(async () => {
    setDone("");
    tried.current = s.etag;
    if (id === "new") {
      const made = await api.post("/v1/skills", skill);
      await s.forget();
      return go(to("skill", made.id), { replace: true });
    }
    await api.put(`/v1/skills/${id}`, skill, { headers: { "If-Match": s.etag } });
    await s.forget();
    await s.load();
    setDone("Saved. Published versions keep the skill as it was; publish again to use it.");
  });
  const discard = async () => {
    await s.forget();
    s.load();
  };
  const at = atOf(save.problem?.errors ?? [], "");
  const set = (name) => (e) => edit((x) => (x[name] = e.currentTarget.value));
  return html`${s.typed && !s.typed.now && html`<${Notice} title="Not saved yet"><p>You typed this on this device, last on ${dayTime(s.typed.at)}. <${Button} onClick=${discard}>Discard it</${Button}></p></${Notice}>`}
    <form onSubmit=${save.run}>
      <div class="pair"><${Field} label="Name" required maxlength="120" ...${at("/name")} value=${skill.name} onInput=${set("name")} />
        <${Field} as="select" label="Sort of shot" ...${at("/kind")} value=${skill.kind} onChange=${set("kind")}>${skillKinds.map(([k, name]) => html`<option value=${k}>${name}</option>`)}</${Field}></div>
      <${Field} as="textarea" label="What a good one looks like" hint="For the students." rows="3" maxlength="4000" ...${at("/text")} value=${skill.text ?? ""} onInput=${set("text")} />
      <h2>Ladder</h2><p>Each step is harder than the one before: more in a row, a smaller circle, or more holed. From step to step the circle may stay or shrink; it never grows.</p><${Ladder} tiers=${skill.ladder.tiers} />
      <${Tiers} skill=${skill} edit=${edit} at=${at} />
      <${Switch} label="Only tests count" hint="Otherwise warm-ups that play the skill count, too." on=${Boolean(skill.ladder.test_only)} onChange=${(on) => edit((x) => (x.ladder.test_only = on))} />
      ${!skill.ladder.test_only && html`<${Switch} label="Technique counts, too" hint="As a rule technique is not tested: the phone shows one cue, no balls in a row and no odds." on=${Boolean(skill.ladder.technique_counts)} onChange=${(on) => edit((x) => (x.ladder.technique_counts = on))} />`}
      <${SkillDrills} skill=${skill} edit=${edit} problems=${save.problem?.errors ?? []} />
      <div role="alert">${save.problem?.status === 412 && tried.current === s.etag ? html`<${Notice} kind="bad" title="Changed by somebody else meanwhile"><p>What you typed is kept on this device. <${Button} onClick=${discard}>Discard mine</${Button}> <${Button} onClick=${s.load}>Keep mine</${Button}></p></${Notice}>` : save.problem?.status !== 412 && html`<${Wrong} problem=${save.problem} />`}</div>
      <div class="row"><${Button} kind="main" type="submit" busy=${save.busy}>${id === "new" ? "Create the skill" : "Save the skill"}</${Button}>${s.stored && html`<${Archive} id=${id} s=${s} />`}<span role="status">${done}</span></div>
    </form>
    <section><h2>What each step takes</h2><${LadderPreview} skill=${skill} id=${id === "new" ? undefined : id} /></section>
    ${id !== "new" && html`<${Insights} skillID=${id} />`}`;
}

function Tiers({ skill, edit, at }) {
  const { tiers } = skill.ladder;
  const set = (i, name, value) => edit((x) => (x.ladder.tiers[i][name] = value));
  const whole = (i, name) => (e) => e.currentTarget.value !== "" && set(i, name, Math.trunc(Number(e.currentTarget.value)));
  const add = () => edit((x) => x.ladder.tiers.push({ ...(tiers.at(-1) ?? { radius_m: FIVE_FEET }), run: (tiers.at(-1)?.run ?? 2) + 3 }));
  return html`<ol class="tier-edit">${tiers.map((t, i) => html`<li key=${i}><div class="edit-head"><h3>Step ${i + 1}</h3><${Reorder} what=${`step ${i + 1}`} group="steps" index=${i} length=${tiers.length} onMove=${(by) => edit((x) => moved(x.ladder.tiers, i, by))} onCopy=${() => edit((x) => x.ladder.tiers.splice(i + 1, 0, { ...t }))} onRemove=${() => edit((x) => x.ladder.tiers.splice(i, 1))} /></div><div class="trio" role="group" aria-label=${`Step ${i + 1}`}>
      <${Field} label="In a row" type="number" min="1" max="200" required ...${at(`/ladder/tiers/${i}/run`)} value=${t.run} onInput=${whole(i, "run")} />
      <${Parsed} label="Inside a radius of" ...${at(`/ladder/tiers/${i}/radius_m`)} value=${t.radius_m} parse=${(t) => parseLength(t)} write=${(v) => writeLength(v)} wrong="is not a length; write one such as 5 ft or 1.5 m" onValue=${(v) => set(i, "radius_m", v)} />
      <${Field} label="Of them holed, at least" type="number" min="0" max="200" ...${at(`/ladder/tiers/${i}/holed`)} value=${t.holed ?? 0} onInput=${whole(i, "holed")} /></div>
      ${at(`/ladder/tiers/${i}`).error && html`<p class="wrong">${at(`/ladder/tiers/${i}`).error}</p>`}</li>`)}</ol>
    <p><${Button} disabled=${tiers.length >= 12} onClick=${add}>Add a step</${Button}></p>`;
}

function Archive({ id, s }) {
  const send = useSend(async () => {
    await api.post(`/v1/skills/${id}/${s.stored.archived_at ? "restore" : "archive"}`);
    await s.load();
  });
  return html`<${Button} busy=${send.busy} onClick=${send.run}>${s.stored.archived_at ? "Bring back" : "Archive"}</${Button}><${Wrong} problem=${send.problem} />`;
}
