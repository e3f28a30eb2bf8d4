// The case file itself, for what the form does not offer.

import { Refused, get, write } from "./api";
import type { Bench } from "./bench";
import { part } from "./dom";

export class RawCase {
  private readonly text = part<HTMLTextAreaElement>("raw-text");
  private readonly said = part("raw-said");
  private readonly details = part<HTMLDetailsElement>("raw");
  private saved = "";
  private revision = "";

  constructor(private readonly bench: Bench) {
    this.details.addEventListener("toggle", () => void this.read());
    part("raw-save").addEventListener("click", () => void this.save());
    bench.onState(() => void this.read());
  }

  private async read(): Promise<void> {
    const { revision } = this.bench.state ?? { revision: "" };
    if (!this.details.open || revision === this.revision || this.text.value !== this.saved) return;
    await this.bench.attempt(async () => {
      const held = await get<{ text: string; revision: string }>("case.toml");
      this.text.value = this.saved = held.text;
      this.revision = held.revision;
    });
  }

  private async save(): Promise<void> {
    try {
      const asked = { revision: this.revision };
      const { revision } = await write<{ revision: string }>("PUT", "case.toml", { raw: this.text.value, asked });
      this.saved = this.text.value;
      this.revision = revision;
      this.bench.made({ revision });
      this.show("Saved.");
      await this.bench.load();
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      const elsewhere = "Not saved: the file was saved elsewhere since it was read here. Copy what you typed, then load this page again.";
      this.show(problem.status === 409 ? elsewhere : `Not saved: ${problem.said} ${problem.where}`, true);
    }
  }

  private show(text: string, wrong = false): void {
    this.said.className = wrong ? "error" : "";
    this.said.textContent = text;
    if (wrong) this.text.setAttribute("aria-invalid", "true");
    else this.text.removeAttribute("aria-invalid");
  }
}
