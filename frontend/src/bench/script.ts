// Entry "Findings", the analyst's own text: numbers that follow the findings, wording checked as it is
// typed, and a view to read aloud from.

import { Refused, get, write } from "./api";
import type { Bench } from "./bench";
import { announce, button, el, fill, part, table } from "./dom";
import type { Wording } from "./types";

const REST = 600; // ms without a key before the wording is checked
const NAMED = /\{([^{}]+)\}/g;

export class Script {
  private readonly text = part<HTMLTextAreaElement>("wording-text");
  private readonly said = part("script-said");
  private numbers: Record<string, string> = {};
  private saved = "";
  private timer = 0;
  private asked = 0;

  constructor(private readonly bench: Bench) {
    this.text.addEventListener("input", () => this.typed());
    part("wording-check").addEventListener("click", () => void this.check(true));
    part("script-save").addEventListener("click", () => void this.save());
    part("script-read").addEventListener("click", () => this.read());
    part<HTMLSelectElement>("script-number").addEventListener("change", (event) => this.insert(event.target as HTMLSelectElement));
  }

  async refresh(): Promise<void> {
    const found = await get<{ text: string; numbers: Record<string, string> }>("script").catch(() => null);
    if (!found) return;
    if (this.text.value === this.saved) this.text.value = found.text;
    [this.saved, this.numbers] = [found.text, found.numbers];
    const choose = part<HTMLSelectElement>("script-number");
    fill(choose, el("option", { value: "" }, "Put in a number \u2026"), ...Object.entries(this.numbers).map(([name, value]) => el("option", { value: name }, `${name}: ${value}`)));
    this.show();
  }

  /** The text with its numbers as they are now. */
  private get resolved(): string {
    return this.text.value.replace(NAMED, (whole, name: string) => this.numbers[name.trim()] ?? whole);
  }

  private insert(choose: HTMLSelectElement): void {
    if (!choose.value) return;
    const { selectionStart: from, selectionEnd: to } = this.text;
    this.text.setRangeText(`{${choose.value}}`, from, to, "end");
    choose.value = "";
    this.text.focus();
    this.typed();
  }

  private typed(): void {
    this.show();
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => void this.check(false), REST);
  }

  /** How the text reads, each number that follows the findings marked, one that is not known as well. */
  private show(): void {
    const parts: (Node | string)[] = [];
    let at = 0;
    for (const found of this.text.value.matchAll(NAMED)) {
      const value = this.numbers[found[1].trim()];
      parts.push(this.text.value.slice(at, found.index));
      parts.push(value ? el("data", { value: found[1].trim(), title: found[1].trim() }, value) : el("mark", { title: "The findings hold no number of this name." }, found[0]));
      at = found.index + found[0].length;
    }
    parts.push(this.text.value.slice(at));
    fill(part("script-shown"), ...parts);
    part("script-shown").hidden = !this.text.value.includes("{");
    const changed = this.text.value !== this.saved;
    this.said.textContent = changed ? "Not saved yet." : "";
  }

  private async check(asked: boolean): Promise<void> {
    const place = part("wording-found");
    const ticket = ++this.asked;
    if (!this.text.value.trim()) return fill(place);
    const ask = async (): Promise<void> => {
      const found = await write<Wording[]>("POST", "wording", { body: { text: this.resolved } });
      if (ticket !== this.asked) return; // a later text is being checked
      const rows = found.map((one) => [[String(one.line)], [el("q", {}, one.words)], [one.problem], [one.suggestion || "\u2013"]]);
      const none = "No overclaim found. The rules find the usual ways to overclaim, not every way.";
      fill(place, rows.length ? table(["Line", "Words", "Problem", "Instead"], rows, { label: "Wording" }) : el("p", { class: "hint" }, none));
      if (asked) announce("The wording has been checked.");
    };
    if (asked) await this.bench.attempt(ask);
    else await ask().catch((problem: unknown) => {
      if (!(problem instanceof Refused)) throw problem; // without findings there is nothing to hold it against
    });
  }

  private async save(): Promise<void> {
    const { value } = this.text;
    const done = await this.bench.attempt(() => write("PUT", "script", { raw: value }));
    if (!done) return;
    this.saved = value;
    this.show();
    this.said.textContent = "Saved.";
  }

  /** Large, a paragraph at a time, nothing else on the page: for a recording. */
  private read(): void {
    const paragraphs = this.resolved.split(/\n\s*\n/).map((text) => text.trim()).filter(Boolean);
    if (paragraphs.length === 0) return announce("There is no text to read yet.");
    let at = 0;
    const body = el("p", { class: "reading-text", "aria-live": "polite" });
    const place = el("p", { class: "hint" });
    const show = (step: number): void => {
      at = Math.min(Math.max(at + step, 0), paragraphs.length - 1);
      body.textContent = paragraphs[at];
      place.textContent = `${at + 1} of ${paragraphs.length}. Not for flight. No blame is found; the official investigation decides.`;
    };
    const view: HTMLDialogElement = el(
      "dialog",
      { class: "reading", "aria-label": "The text, to be read aloud" },
      body,
      el("p", { class: "acts" }, button("\u2190 Before", () => show(-1)), button("Next \u2192", () => show(1)), button("Close", () => view.close())),
      place,
    );
    view.addEventListener("keydown", (event) => {
      const step = { ArrowRight: 1, " ": 1, PageDown: 1, ArrowLeft: -1, PageUp: -1 }[event.key];
      if (step === undefined || (event.key === " " && event.target instanceof HTMLButtonElement)) return;
      event.preventDefault();
      show(step);
    });
    view.addEventListener("close", () => view.remove());
    document.body.append(view);
    show(0);
    view.showModal();
  }
}
