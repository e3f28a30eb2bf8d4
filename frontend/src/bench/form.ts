// The case as a form: each quantity with its unit, errors beside the field, nothing lost to another tab.

import { Refused, get, write } from "./api";
import type { Bench } from "./bench";
import { announce, button, el, fill, part } from "./dom";
import type { Field, Form } from "./types";

type Input = HTMLInputElement | HTMLSelectElement;

class Entered {
  readonly root: HTMLElement;
  private readonly input: Input;
  private readonly error: HTMLElement;
  private held: string;

  constructor(readonly field: Field) {
    const id = `field-${field.path.replace(/[^a-z0-9]+/gi, "-")}`;
    this.input = control(field, id);
    this.held = this.value;
    this.error = el("span", { class: "error", id: `${id}-error` });
    const help = [field.unit && `unit: ${field.unit}`, field.help].filter(Boolean).join("; ");
    this.input.setAttribute("aria-describedby", `${id}-help ${id}-error`);
    const label = el("label", { for: id }, field.label, field.required && el("span", { class: "needed" }, " needed"));
    const helped = el("span", { class: "help", id: `${id}-help` }, help);
    this.root = el("div", { class: `field ${field.kind}` });
    this.root.append(...(field.kind === "flag" ? [this.input, label] : [label, this.input]), helped, this.error);
    this.input.addEventListener("input", () => this.refuse(""));
  }

  get value(): string {
    return this.input instanceof HTMLInputElement && this.input.type === "checkbox"
      ? String(this.input.checked)
      : this.input.value;
  }

  get changed(): boolean {
    return this.value !== this.held;
  }

  refuse(message: string): void {
    this.error.textContent = message;
    if (message) this.input.setAttribute("aria-invalid", "true");
    else this.input.removeAttribute("aria-invalid");
  }

  /** Keep what was typed in place of what the file holds. */
  retype(value: string): void {
    if (this.input instanceof HTMLInputElement && this.input.type === "checkbox") this.input.checked = value === "true";
    else this.input.value = value;
  }

  focus(): void {
    this.input.focus();
  }
}

function control(field: Field, id: string): Input {
  const text = field.value === null ? "" : String(field.value);
  if (field.kind === "choice") {
    const choices = field.choices ?? [];
    const all = choices.includes(text) ? choices : [text, ...choices];
    const select = el("select", { id }, ...all.map((choice) => el("option", { value: choice }, choice || "\u2013")));
    select.value = text;
    return select;
  }
  if (field.kind === "flag") {
    const box = el("input", { type: "checkbox", id });
    box.checked = text === "true";
    return box;
  }
  return el("input", { type: "text", id, value: text, autocomplete: "off", spellcheck: "false" });
}

export class CaseForm {
  private readonly root = part<HTMLFormElement>("form");
  private entries: Entered[] = [];
  private revision = "";
  private readonly said = el("span", { role: "status" });
  private readonly conflict = el("div", { class: "conflict", role: "alert" });

  constructor(private readonly bench: Bench) {
    this.conflict.hidden = true;
    this.root.addEventListener("submit", (event) => {
      event.preventDefault();
      void this.save();
    });
    this.root.addEventListener("input", () => this.count());
    this.root.addEventListener("change", () => this.count());
    bench.onState((state) => void this.news(state.revision));
    addEventListener("beforeunload", (event) => {
      if (this.entries.some((entry) => entry.changed)) event.preventDefault();
    });
  }

  /** The file has changed: read it again, unless something typed here would be lost. */
  private async news(revision: string): Promise<void> {
    if (revision === this.revision) return;
    if (this.entries.some((entry) => entry.changed)) return;
    await this.read(revision);
  }

  private async read(revision: string): Promise<void> {
    const form = await get<Form>("form").catch((problem) => {
      if (!(problem instanceof Refused)) throw problem;
      fill(this.root, el("p", { class: "refused" }, problem.said));
      return null;
    });
    if (!form) return;
    this.revision = revision;
    this.draw(form);
  }

  private draw(form: Form): void {
    const focused = document.activeElement?.id;
    this.entries = [];
    const groups = form.groups.map((group) => {
      const made = group.fields.map((field) => new Entered(field));
      this.entries.push(...made);
      return el("fieldset", {}, el("legend", {}, group.title), ...made.map((entry) => entry.root));
    });
    const foot = el("div", { class: "form-foot" }, el("button", { type: "submit", class: "first" }, "Save the case"), this.said);
    this.conflict.hidden = true;
    fill(this.root, ...groups, this.conflict, foot);
    if (focused) document.getElementById(focused)?.focus();
    this.count();
  }

  private count(): void {
    const changed = this.entries.filter((entry) => entry.changed).length;
    this.said.className = "";
    this.said.textContent = changed ? `${changed} ${changed === 1 ? "change" : "changes"} not saved yet.` : "";
  }

  private async save(): Promise<void> {
    const values = Object.fromEntries(this.entries.filter((e) => e.changed).map((e) => [e.field.path, e.value]));
    if (Object.keys(values).length === 0) {
      this.said.textContent = "Nothing was changed.";
      return;
    }
    this.entries.forEach((entry) => entry.refuse(""));
    try {
      const { revision } = await write<{ revision: string }>("PUT", "form", { body: { revision: this.revision, values } });
      await this.read(revision);
      this.said.textContent = "Saved.";
      await this.bench.load();
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      if (problem.status === 409) this.clash(values);
      else this.refuse(problem);
    }
  }

  private refuse(problem: Refused): void {
    const wrong = problem.errors.flatMap((error) => {
      const entry = this.entries.find((held) => held.field.path === error.path);
      entry?.refuse([error.message, error.hint].filter(Boolean).join(" "));
      return entry ? [entry] : [];
    });
    this.said.className = "error";
    const count = problem.errors.length;
    this.said.textContent = wrong.length
      ? `Not saved: ${count === 1 ? "one field" : `${count} fields`} cannot be read.`
      : `Not saved: ${problem.said}`;
    wrong[0]?.focus();
  }

  /** Another tab or program saved first: nothing typed here is lost, and nothing there. */
  private clash(values: Record<string, string>): void {
    const text = "The case was saved elsewhere (another tab, or an editor) since this form was read. What you typed is still here and not saved.";
    const keep = async (): Promise<void> => {
      await this.read((await this.bench.load()).revision);
      for (const entry of this.entries) {
        const typed = values[entry.field.path];
        if (typed !== undefined) entry.retype(typed);
      }
      this.count();
      announce("The case has been read again, with what you typed on top. Save to keep it.");
    };
    const drop = async (): Promise<void> => {
      await this.read((await this.bench.load()).revision);
      announce("The case has been read again; what was typed here is gone.");
    };
    fill(
      this.conflict,
      el("p", {}, el("strong", {}, "Not saved. "), text),
      el("p", { class: "acts" }, button("Read it again, keep what I typed", keep), button("Read it again, drop what I typed", drop)),
    );
    this.conflict.hidden = false;
    this.conflict.scrollIntoView({ block: "nearest" });
  }
}
