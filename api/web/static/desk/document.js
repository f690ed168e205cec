// Programme documents: importing and exporting YAML; saving any answer as a file.

import { reached } from "../base/reached.js";
import { go, to } from "../base/router.js";
import { Button, Field, html, Page, useSend, useState, Wrong } from "../base/ui.js";
import { ProgrammeNav } from "./programmes.js";

/** SaveButton saves what the API answers as a file, of the name that it gives or else of name. */
export function SaveButton({ path, type, name, label, before }) {
  const send = useSend(async () => {
    await before?.();
    const file = await reached(path, { headers: { Accept: type }, silence: 120_000 },
      async (response) => ({ blob: await response.blob(), name: /filename="([^"]+)"/.exec(response.headers.get("Content-Disposition") ?? "")?.[1] ?? name }));
    const url = URL.createObjectURL(file.blob);
    const a = Object.assign(document.createElement("a"), { href: url, download: file.name });
    a.click();
    setTimeout(() => URL.revokeObjectURL(url), 10_000);
  });
  return html`<${Button} busy=${send.busy} onClick=${send.run}>${label}</${Button}><${Wrong} problem=${send.problem} />`;
}

/** ExportButton saves a programme's document as a file. */
export function ExportButton({ id, version, label, before }) {
  return html`<${SaveButton} path=${`/v1/programmes/${id}/document${version ? `?version=${version}` : ""}`} type="application/yaml" name="programme.yaml" label=${label} before=${before} />`;
}

export function Import() {
  const [text, setText] = useState("");
  const send = useSend(async () => {
    const mediaType = text.trimStart().startsWith("{") ? "application/json" : "application/yaml";
    const programme = await reached("/v1/programmes/import", { method: "POST", headers: { "Content-Type": mediaType }, body: text }, (response) => response.json());
    go(to("programme", programme.id));
  });
  const choose = async (e) => {
    const [file] = e.currentTarget.files;
    if (file) setText(await file.text());
  };
  return html`<${Page} title="Import a programme" wide><${ProgrammeNav} current="import" />
    <p>Paste an exported programme, in YAML or JSON. It becomes a new programme; skills you already have (same name, kind and ladder) are used, others are created. <a href="/programme.schema.json">Its schema</a></p>
    <form onSubmit=${send.run}>
      <${Field} class="form" label="File" type="file" accept=".yaml,.yml,.json,application/yaml,application/json" onChange=${choose} />
      <${Field} as="textarea" class="code" label="Document" rows="16" required spellcheck="false" value=${text} onInput=${(e) => setText(e.currentTarget.value)} />
      <div role="alert"><${Wrong} problem=${send.problem} /></div>
      <${Button} kind="main" type="submit" busy=${send.busy}>Import</${Button}>
    </form></${Page}>`;
}
