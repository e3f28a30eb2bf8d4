// The numbers of an airplane, and what a changed one changes in balance, trim, force and modes, at once.

import { printed } from "../words";
import { Refused, get, write } from "./api";
import type { Bench } from "./bench";
import { announce, button, el, fill, table } from "./dom";

interface NumberField {
  path: string;
  key: string;
  value: string;
  source: string;
}

interface Held {
  groups: { section: string; fields: NumberField[] }[];
  stops: { name: string; kind: string; reach: number; hands: number; after: string }[];
}

interface Changed {
  topic: string;
  name: string;
  unit: string;
  decimals: number;
  before: number | null;
  after: number | null;
}

const PAUSE = 250; // ms after the last key before the airplane is solved again
const SAME = 1e-6; // of a number, below which it has not changed
const words = (name: string): string => name.replace(/_/g, " ");
/** Of a section: "trim.stops[2]" reads "Trim, stops 2". */
const headed = (section: string): string => {
  const plain = words(section).replace(/\./g, ", ").replace(/\[(\d+)\]/g, " $1");
  return plain.charAt(0).toUpperCase() + plain.slice(1);
};

export class Numbers {
  readonly root = el("details", { class: "numbers" });
  private readonly inside = el("div");
  private readonly told = el("div", { "aria-live": "polite" });
  private readonly said = el("span", { role: "status" });
  private readonly typed = new Map<string, string>();
  private waiting = 0;
  private ticket = 0;

  constructor(private readonly bench: Bench, private readonly name: string, title: string, private readonly own: boolean) {
    this.root.append(el("summary", {}, el("h3", {}, `Numbers of ${title}, and what a change of one does`)), this.inside);
    // Nothing is solved before somebody looks.
    this.root.addEventListener("toggle", () => void (this.root.open && !this.inside.childElementCount && this.open()));
  }

  private async open(): Promise<void> {
    const held = await get<Held>("airplane", { name: this.name });
    const stops = held.stops.map((one) => [[one.name], [one.kind], [`${one.reach} s`], [one.hands], [one.after]]);
    fill(
      this.inside,
      el("p", { class: "hint" }, this.own ? "Change one: what it changes stands beside it at once, and nothing is written until it is saved." : "Change one to see what it changes. To keep it, copy the airplane into the case first."),
      el("div", { class: "pair" }, el("div", {}, ...held.groups.map((group) => this.group(group)), this.acts()), el("div", {}, el("h4", {}, "What changes"), this.told)),
      el("h4", {}, "Devices that stop the trim"),
      stops.length ? table(["Device", "Kind", "Reach", "Hands taken", "When released"], stops, { label: "Devices that stop the trim" }) : el("p", { class: "hint" }, "The file names none."),
    );
    // The first answer takes longest: it is asked for before anything is typed.
    await this.solve();
  }

  private group({ section, fields }: Held["groups"][number]): HTMLElement {
    return el("details", {}, el("summary", {}, headed(section), el("span", { class: "hint" }, ` ${fields.length}`)), ...fields.map((field) => this.field(field)));
  }

  private field({ path, key, value, source }: NumberField): HTMLElement {
    const id = `number-${path.replace(/[^\w]+/g, "-")}`;
    const input = el("input", { type: "text", id, value, autocomplete: "off", spellcheck: "false", "data-number": path, "aria-describedby": source ? `${id}-source` : undefined });
    input.addEventListener("input", () => {
      if (input.value.trim() === value) this.typed.delete(path);
      else this.typed.set(path, input.value);
      clearTimeout(this.waiting);
      this.waiting = window.setTimeout(() => void this.solve(), PAUSE);
    });
    return el("div", { class: "number-field" }, el("label", { for: id }, words(key)), input, source && el("span", { class: "hint", id: `${id}-source` }, source));
  }

  private acts(): HTMLElement | null {
    return this.own ? el("p", { class: "acts" }, button("Save the numbers", () => this.save(), { class: "first" }), this.said) : this.said;
  }

  private async solve(): Promise<void> {
    const ticket = ++this.ticket;
    const slow = window.setTimeout(() => (this.said.textContent = "solving \u2026 the first answer takes longest"), 400);
    try {
      const rows = await write<Changed[]>("POST", "airplane", { body: { name: this.name, values: Object.fromEntries(this.typed) } });
      if (ticket !== this.ticket) return;
      this.mark("");
      this.said.textContent = "";
      this.show(rows);
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      if (ticket !== this.ticket) return;
      this.mark(problem.where);
      this.said.textContent = problem.said;
    } finally {
      clearTimeout(slow);
    }
  }

  private mark(where: string): void {
    for (const input of this.root.querySelectorAll<HTMLInputElement>("[data-number]")) {
      const wrong = where !== "" && this.typed.has(input.dataset.number!);
      if (wrong) input.setAttribute("aria-invalid", "true");
      else input.removeAttribute("aria-invalid");
    }
  }

  private show(rows: Changed[]): void {
    const said = ({ unit, decimals }: Changed, value: number | null): string => {
      const gap = unit === "" || unit.startsWith("\u00b0") ? "" : "\u00a0";
      return value === null ? "no steady flight" : `${printed(value, decimals)}${gap}${unit}`;
    };
    const moved = ({ before, after }: Changed): boolean =>
      (before === null) !== (after === null) || Math.abs((before ?? 0) - (after ?? 0)) > SAME * Math.max(Math.abs(before ?? 0), 1e-3);
    const cells = rows.map((row) => [
      [el("small", {}, row.topic), " ", row.name],
      [el("span", { class: "n" }, said(row, row.before))],
      [moved(row) ? el("strong", { class: "n" }, said(row, row.after)) : el("span", { class: "hint" }, "same")],
    ]);
    fill(this.told, table(["At 3,000 ft, standard air", "As it is", "With the change"], cells, { label: "What changes", kind: "changes" }));
  }

  private async save(): Promise<void> {
    const values = Object.fromEntries(this.typed);
    if (this.typed.size === 0) {
      this.said.textContent = "Nothing was changed.";
      return;
    }
    const done = await this.bench.attempt(async () => this.bench.made(await write("PUT", "airplane", { body: { name: this.name, values } })));
    if (!done) return;
    announce(`${this.name} is saved; Undo takes it back. State the source of each number in the file.`);
    this.typed.clear();
    await this.bench.load();
    await this.open();
  }
}
