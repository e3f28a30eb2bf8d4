// Entry "Claims and report": sentences checked against the findings, wording, and the report.

import { Refused, get, write } from "./api";
import type { Bench, Entry } from "./bench";
import { coded, el, fill, part, standing } from "./dom";
import { Script } from "./script";
import type { CheckedClaim, Claims } from "./types";

/** One claim with what it rests on, and what the findings say of it. */
function card(row: CheckedClaim): HTMLElement {
  const holds = row.holds ?? row.doubts.length === 0;
  const said = [row.said_likelihood, row.confidence && `confidence ${row.confidence}`].filter(Boolean).join(", ");
  return el(
    "li",
    { class: holds ? undefined : "unsupported" },
    el("p", { class: "claim-says" }, row.claim.says),
    el(
      "p",
      { class: "claim-about" },
      standing(row.claim.kind),
      el("strong", { class: holds ? undefined : "against" }, holds ? "\u2713 supported" : "\u2715 not supported"),
      said && el("span", {}, said),
    ),
    ...row.doubts.map((doubt) => el("p", { class: "against" }, doubt.sentence)),
    row.claim.data.length > 0 && el("ul", { class: "bound", "aria-label": "Numbers that it is bound to" }, ...row.claim.data.map((one) => el("li", {}, el("code", {}, one)))),
    row.claim.method && el("p", { class: "basis" }, row.claim.method),
  );
}

const held = (rows: CheckedClaim[], label: string): HTMLElement => el("ul", { class: "claim-cards", "aria-label": label }, ...rows.map(card));

/** Not for paper: nobody says them. */
const drafts = (rows: CheckedClaim[]): HTMLElement =>
  el(
    "div",
    { class: "screen" },
    el("h3", {}, "Drafts: sentences that the findings support"),
    el("p", { class: "hint" }, "None of these is published until you adopt it."),
    held(rows, "Drafts"),
  );

export class ClaimsEntry implements Entry {
  stages: Entry["stages"] = ["motion", "moments", "weighing", "response"];
  failed = false;
  readonly prints = true;
  private saved = "";
  private draft = "";
  private readonly script: Script;

  constructor(readonly bench: Bench) {
    this.script = new Script(bench);
    part("claims-save").addEventListener("click", () => void this.save());
    part("claims-draft").addEventListener("click", () => this.startFromDrafts());
    for (const kind of ["report", "pdf", "zip"]) {
      part(`export-${kind}`).addEventListener("click", () => void bench.start(kind));
    }
    bench.onState(({ no_parquet, stages }) => {
      part("out-parquet").hidden = no_parquet;
      for (const kind of ["report", "pdf", "zip"]) {
        const lacking = kind !== "zip" && !stages.motion?.made;
        part<HTMLButtonElement>(`export-${kind}`).disabled = lacking;
      }
      part("hand-on").hidden = !stages.motion?.made;
    });
  }

  private get text(): HTMLTextAreaElement {
    return part<HTMLTextAreaElement>("claims-text");
  }

  async refresh(): Promise<void> {
    this.failed = false;
    void this.script.refresh();
    const missing = this.bench.missing("motion");
    if (missing) return fill(part("claims-none"), missing);
    try {
      this.show(await get<Claims>("claims"));
      fill(part("claims-none"));
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      fill(part("claims-none"), ...coded(problem.said));
    }
  }

  private show(found: Claims): void {
    // What is being typed is not taken away by news of the server.
    if (this.text.value === this.saved) this.text.value = found.text;
    this.saved = found.text;
    this.draft = found.draft_text ?? "";
    this.offer();
    fill(
      part("claims-held"),
      found.claims.length > 0 && el("h3", {}, "Claims of the analyst"),
      found.claims.length > 0 && held(found.claims, "Claims of the analyst"),
      found.drafts.length > 0 && drafts(found.drafts),
    );
  }

  private offer(): void {
    part("claims-draft").hidden = this.draft === "" || this.text.value.trim() !== "";
  }

  private startFromDrafts(): void {
    this.text.value = this.draft;
    this.text.focus();
    this.offer();
  }

  private async save(): Promise<void> {
    const said = part("claims-said");
    try {
      const found = await write<Claims>("PUT", "claims", { raw: this.text.value });
      this.saved = this.text.value;
      this.text.removeAttribute("aria-invalid");
      said.className = "";
      said.textContent = "Saved.";
      this.show(found);
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.text.setAttribute("aria-invalid", "true");
      said.className = "error";
      said.textContent = [problem.said, problem.where].filter(Boolean).join(" ");
    }
  }
}
