// Entry "Evidence": files dropped or chosen, what they are, and the way to their columns.

import { Refused, write } from "./api";
import type { Bench } from "./bench";
import { Columns } from "./columns";
import { announce, button, el, fill, part, put, renew, table } from "./dom";
import { showPicture } from "./picture";
import type { HeldFile, State } from "./types";

const sized = (bytes: number): string =>
  bytes < 10_000 ? `${bytes} B` : bytes < 10_000_000 ? `${(bytes / 1000).toFixed(0)} kB` : `${(bytes / 1e6).toFixed(1)} MB`;

export class Evidence {
  private readonly columns: Columns;

  constructor(private readonly bench: Bench) {
    this.columns = new Columns(bench);
    const pick = part<HTMLInputElement>("pick");
    pick.addEventListener("change", () => {
      void this.take([...(pick.files ?? [])]).then(() => (pick.value = ""));
    });
    this.wireDrop(part("drop"));
    bench.onState((state) => this.list(state));
    const asked = new URLSearchParams(location.search).get("look");
    if (asked) void this.look(asked).then(() => history.replaceState(null, "", location.pathname + location.hash));
  }

  private wireDrop(drop: HTMLElement): void {
    // A file that misses the box must not make the browser leave the notebook.
    for (const name of ["dragover", "drop"]) addEventListener(name, (event) => event.preventDefault());
    addEventListener("dragenter", () => drop.classList.add("over"));
    addEventListener("dragleave", (event) => event.relatedTarget === null && drop.classList.remove("over"));
    addEventListener("drop", (event) => {
      drop.classList.remove("over");
      const files = [...(event.dataTransfer?.files ?? [])];
      if (files.length) void this.take(files);
    });
  }

  /** Send the files one after another; one that is refused keeps none of the others back. */
  private async take(files: File[], replace = false): Promise<void> {
    const said = part("upload-said");
    const refused: { file: File; problem: Refused }[] = [];
    let last = "";
    for (const file of files) {
      said.textContent = `Adding ${file.name} \u2026`;
      try {
        await write("PUT", "file", { raw: file, asked: { name: file.name, replace: replace ? 1 : undefined } });
        last = file.name;
        // A track is drawn at once, before anything else is read anew.
        if (!/\.toml$/i.test(last)) await showPicture(last);
      } catch (problem) {
        if (!(problem instanceof Refused)) throw problem;
        refused.push({ file, problem });
      }
    }
    const taken = files.length - refused.length;
    fill(said, taken > 0 && `${taken === 1 ? last : `${taken} files`} added.`);
    for (const { file, problem } of refused) this.refuse(said, file, problem);
    await this.bench.load();
    if (taken > 0 && !/\.toml$/i.test(last)) await this.columns.open(last);
  }

  /** A track is drawn at once; what its columns were taken as stands below. */
  async look(name: string): Promise<void> {
    await showPicture(name);
    await this.columns.open(name);
  }

  private refuse(said: HTMLElement, file: File, problem: Refused): void {
    const again = button("Replace; keep the old file aside", () => this.take([file], true));
    const text = `${file.name} was not added: ${problem.said}`;
    put(said, el("span", { class: "refused" }, text, problem.status === 409 && again));
  }

  private list(state: State): void {
    const rows = state.files.map((file) => this.row(file));
    const heads = ["File", "Kind", "Used as", "Size", "SHA-256", "Actions"];
    renew(
      part("files"),
      rows.length
        ? table(heads, rows, { label: "Files of the case" })
        : el("p", { class: "hint" }, "No file yet."),
    );
  }

  private row(file: HeldFile): (Node | string)[][] {
    const look = button("Preview", () => this.look(file.name), { "aria-label": `Preview ${file.name}` });
    const out = button("Remove", () => this.remove(file.name), { "aria-label": `Remove ${file.name}` });
    const acts = el("span", { class: "acts" });
    if (!/\.toml$/i.test(file.name)) put(acts, look);
    if (!["case.toml", "claims.toml", "script.txt"].includes(file.name)) put(acts, out);
    return [
      [el("code", {}, file.name)],
      [file.kind],
      [file.used || "not used yet"],
      [el("span", { class: "n" }, sized(file.size))],
      [el("code", { class: "digest" }, file.sha256)],
      [acts],
    ];
  }

  private async remove(name: string): Promise<void> {
    const done = await this.bench.attempt(() => write("DELETE", "file", { asked: { name } }));
    if (done) announce(`${name} is removed; Undo brings it back.`);
    await this.bench.load();
  }
}
