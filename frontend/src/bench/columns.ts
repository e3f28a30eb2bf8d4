// The columns of a file: what each was taken as and why, to be changed where it is wrong.

import { Refused, get, write } from "./api";
import type { Bench } from "./bench";
import { announce, button, coded, el, fill, part, table } from "./dom";
import type { Form, Preview } from "./types";

const BY_PHYSICS = "found by physics";

const words = (name: string): string => name.replace(/_/g, " ");
/** A line of the reader, which begins with the name of a quantity. */
const told = (line: string): string => line.replace(/^[a-z]+(_[a-z]+)+(?=:)/, words);

/** Those at the keyboard go on where the case does. */
function next(): void {
  if (document.activeElement === document.body) document.querySelector<HTMLElement>("#steps li:not(.done) button")?.focus();
}

class Column {
  readonly cells: (Node | string)[][];
  private readonly quantity = el("select");
  private readonly unit = el("select");
  private readonly error: HTMLElement;

  constructor(readonly column: Preview["columns"][number], private readonly choices: Preview["choices"], at: number) {
    const id = `column-${at}-error`;
    this.error = el("p", { class: "error", id });
    this.quantity.setAttribute("aria-label", `Quantity of ${column.name}`);
    this.unit.setAttribute("aria-label", `Unit of ${column.name}`);
    for (const select of [this.quantity, this.unit]) select.setAttribute("aria-describedby", id);
    this.quantity.append(el("option", { value: "" }, "not used"));
    for (const name of Object.keys(choices)) this.quantity.append(el("option", { value: name }, words(name)));
    this.quantity.value = column.quantity ?? "";
    this.quantity.addEventListener("change", () => this.units(""));
    this.units(column.unit ?? "");
    this.cells = [
      [el("code", {}, column.name)],
      [el("span", { class: "samples" }, column.samples.slice(0, 4).join(" \u00b7 "))],
      [this.quantity],
      [this.unit],
      [column.why, column.confidence ? el("small", {}, ` (${column.confidence})`) : "", this.error],
    ];
  }

  private units(chosen: string): void {
    const units = this.choices[this.quantity.value] ?? [];
    const known = chosen && !units.includes(chosen) ? [chosen, ...units] : units;
    const open = el("option", { value: "" }, known.length ? BY_PHYSICS : "no unit");
    this.unit.replaceChildren(open, ...known.map((unit) => el("option", { value: unit }, unit)));
    this.unit.value = chosen;
    this.unit.disabled = known.length === 0;
  }

  get value(): { quantity: string; unit: string } {
    return { quantity: this.quantity.value, unit: this.quantity.value ? this.unit.value : "" };
  }

  refuse(message: string): void {
    this.error.textContent = message;
    for (const select of [this.quantity, this.unit]) {
      if (message) select.setAttribute("aria-invalid", "true");
      else select.removeAttribute("aria-invalid");
    }
  }
}

export class Columns {
  private readonly place = part("columns");
  private rows: Column[] = [];

  constructor(private readonly bench: Bench) {}

  async open(name: string): Promise<void> {
    let preview: Preview;
    try {
      preview = await get<Preview>("preview", { name });
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      fill(this.place, el("p", { class: "refused" }, `${name} cannot be read: ${problem.said} ${problem.where}`));
      this.place.hidden = false;
      return;
    }
    this.draw(name, preview);
  }

  private draw(name: string, preview: Preview): void {
    this.rows = preview.columns.map((column, at) => new Column(column, preview.choices, at));
    const heads = ["Column", "First values", "Taken as", "Unit", "Why"];
    const first = table(
      preview.columns.map((column) => column.name),
      preview.rows.map((row) => row.map((cell) => [cell])),
      { label: `First rows of ${name}` },
    );
    const heading = el("h3", { tabindex: "-1" }, this.rows.length ? "Columns of " : "Inside ", el("code", {}, name));
    fill(
      this.place,
      el(
        "div",
        { class: "columns" },
        heading,
        preview.error && el("p", { class: "refused" }, ...coded(`${preview.error.message} ${preview.error.hint ?? ""}`)),
        ...preview.warnings.map((line) => el("p", { class: "refused" }, ...coded(line))),
        this.rows.length === 0 && el("p", { class: preview.kind === "other" ? "refused" : undefined }, ...preview.report),
        this.rows.length > 0 && el("ul", { class: "told" }, ...preview.report.map((line) => el("li", {}, told(line)))),
        preview.suggest && el("p", {}, this.suggestion(name, preview.suggest)),
        this.rows.length > 0 && table(heads, this.rows.map((row) => row.cells), { label: `Columns of ${name}` }),
        el("details", {}, el("summary", {}, "First rows, as they stand"), first),
        el(
          "p",
          { class: "acts" },
          this.rows.length > 0 && button("Use these columns", () => this.save(name), { class: "first" }),
          button("Close", () => (this.place.hidden = true)),
        ),
      ),
    );
    this.place.hidden = false;
    heading.focus();
  }

  private suggestion(name: string, { array, kind }: { array: string; kind: string }): HTMLElement {
    return button(`Use it as ${words(kind)} (${array})`, async () => {
      const form = await get<Form>("form");
      const entry = form.addable?.find(({ path }) => path.replace(/\[\d+\]$/, "") === array);
      if (!entry) return;
      const values = { [`${entry.path}.kind`]: kind, [`${entry.path}.file`]: name };
      const done = await this.bench.attempt(async () => {
        this.bench.made(await write("PUT", "form", { body: { revision: form.revision, values } }));
      });
      if (done) announce(`${name} is in the case as ${words(kind)}; what else is known of it goes into the form.`);
      if (done) this.place.hidden = true;
      await this.bench.load();
    });
  }

  private async save(name: string): Promise<void> {
    const used = this.rows.map((row) => [row.column.name, row.value]);
    this.rows.forEach((row) => row.refuse(""));
    try {
      this.bench.made(await write("PUT", "columns", { body: Object.fromEntries(used), asked: { name } }));
      announce(`The columns of ${name} are saved in the case file.`);
      this.place.hidden = true;
      await this.bench.load();
      next();
      // What the reader says against columns that were chosen must be seen.
      const now = await get<Preview>("preview", { name });
      if (now.error || now.warnings.length) this.draw(name, now);
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      for (const error of problem.errors) {
        this.rows.find((row) => row.column.name === error.path)?.refuse(`${error.message} ${error.hint ?? ""}`);
      }
      announce(problem.said);
    }
  }
}
