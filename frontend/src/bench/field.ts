// One field of the case: label, input, help, and its error beside it.

import { coded, el, fill } from "./dom";
import type { Field } from "./types";

type Input = HTMLInputElement | HTMLSelectElement;

const upper = (text: string): string => (text.charAt(0).toUpperCase() + text.slice(1)).replace(/\bcg\b/i, "CG");

const isBox = (input: Input): input is HTMLInputElement =>
  input instanceof HTMLInputElement && input.type === "checkbox";

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
    box.checked = (text || field.default) === "true";
    return box;
  }
  const placeholder = field.default ? `${field.default} (assumed)` : undefined;
  return el("input", { type: "text", id, value: text, placeholder, autocomplete: "off", spellcheck: "false" });
}

function helpOf(field: Field): string {
  const unit = field.kind === "quantity" && field.unit ? `A number with its unit (${field.unit}, or one that converts).` : "";
  const time = field.kind === "time" ? "UTC, such as 18:54:30." : "";
  return [field.help, unit, time].filter(Boolean).join(" ");
}

export class Entered {
  readonly root: HTMLElement;
  private readonly input: Input;
  private readonly error: HTMLElement;
  private readonly held: string;
  private readonly needed = el("span", { class: "needed" });

  constructor(readonly field: Field) {
    const id = `field-${field.path.replace(/[^a-z0-9]+/gi, "-")}`;
    this.input = control(field, id);
    this.held = this.value;
    this.error = el("span", { class: "error", id: `${id}-error` });
    this.input.setAttribute("aria-describedby", `${id}-help ${id}-error`);
    if (field.required) this.input.setAttribute("aria-required", "true");
    this.lack(undefined);
    const label = el("label", { for: id }, upper(field.label), this.needed);
    const help = el("span", { class: "help", id: `${id}-help` }, ...coded(helpOf(field)));
    const order = field.kind === "flag" ? [this.input, label] : [label, this.input];
    this.root = el("div", { class: `field ${field.kind}` }, ...order, help, this.error);
    this.input.addEventListener("input", () => this.refuse(""));
  }

  get value(): string {
    return isBox(this.input) ? String(this.input.checked) : this.input.value;
  }

  get changed(): boolean {
    return this.value !== this.held;
  }

  get given(): boolean {
    return this.value !== "" && !isBox(this.input);
  }

  private lacked = false;

  /** Say beside the label that a study waits for this field, and below it why what it holds is not enough. */
  lack(why: string | undefined): void {
    const wrong = why !== undefined && this.held !== "" && !this.changed;
    this.needed.textContent = wrong ? "" : why !== undefined ? " still missing" : this.field.required && this.value === "" ? " needed" : "";
    if (wrong || this.lacked) this.refuse(wrong ? why : "");
    this.lacked = wrong;
  }

  refuse(message: string): void {
    fill(this.error, ...coded(message));
    if (!message) return this.input.removeAttribute("aria-invalid");
    this.input.setAttribute("aria-invalid", "true");
    this.root.closest("details")?.setAttribute("open", "");
  }

  /** Keep what was typed in place of what the file holds. */
  retype(value: string): void {
    if (isBox(this.input)) this.input.checked = value === "true";
    else this.input.value = value;
  }

  focus(): void {
    this.input.focus();
  }
}
