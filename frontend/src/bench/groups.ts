// Groups of fields that fold away, entries of lists that come and go, and what may be added.

import { button, el, fill } from "./dom";
import { Entered } from "./field";
import type { Form, Group } from "./types";

/** The list that an entry stands in. */
export const arrayOf = (path = ""): string => path.replace(/\[\d+\].*$/, "");
/** The number of an entry in its list; 0 of none. */
export const numberOf = (path = ""): number => Number(path.match(/\[(\d+)\]/)?.[1] ?? 0);

/** The same group as another entry of its list. */
export function renumbered(group: Group, number: number): Group {
  const [before, after] = [group.path ?? "", `${arrayOf(group.path)}[${number}]`];
  const fields = group.fields.map((field) => ({ ...field, path: after + field.path.slice(before.length) }));
  return { ...group, path: after, fields };
}

const OPEN = [""]; // paths of the groups that stand open at first

export class FieldGroup {
  readonly root: HTMLDetailsElement;
  readonly entries: Entered[];
  gone = false;
  private readonly lacking = el("span", { class: "needed" });

  constructor(readonly group: Group, open: boolean, readonly fresh = false, changed: () => void = () => undefined) {
    this.entries = group.fields.map((field) => new Entered(field));
    const given = this.entries.filter((entry) => entry.given).length;
    const count = el("span", { class: "hint" }, fresh ? " new" : ` ${given} of ${this.entries.length} given`);
    this.root = el(
      "details",
      { class: "group", "data-group": group.path ?? "" },
      el("summary", {}, el("strong", {}, group.title), count, this.lacking),
      el("fieldset", { "aria-label": group.title }, ...this.entries.map((entry) => entry.root)),
    );
    this.root.open = open;
    if (/\[\d+\]$/.test(group.path ?? "")) this.root.append(this.takeOut(count, changed));
  }

  private takeOut(count: HTMLElement, changed: () => void): HTMLElement {
    if (this.fresh) return el("p", { class: "acts" }, button("Leave this entry out", () => this.leave(changed)));
    const before = count.textContent ?? "";
    const act = button("Remove this entry", () => {
      this.gone = !this.gone;
      act.textContent = this.gone ? "Keep this entry" : "Remove this entry";
      count.textContent = this.gone ? " is removed when you save" : before;
      changed();
    });
    return el("p", { class: "acts" }, act);
  }

  /** An entry that was never saved goes at once. */
  private leave(changed: () => void): void {
    this.gone = true;
    this.root.remove();
    document.querySelector<HTMLButtonElement>(`[data-add="${arrayOf(this.group.path)}"]`)?.focus();
    changed();
  }

  /** Mark what a study waits for. */
  lack(paths: Map<string, string>): void {
    const within = this.group.path ?? "";
    const missing = [...paths.keys()].filter((path) => path === within || (within !== "" && path.startsWith(`${within}.`)));
    this.lacking.textContent = missing.length ? ` \u00b7 ${missing.length} still missing` : "";
    this.entries.forEach((entry) => entry.lack(paths.get(entry.field.path)));
  }

  /** What is to be written: a value by path, or null for an entry that goes. */
  get values(): [string, string | null][] {
    if (this.gone) return this.fresh ? [] : [[this.group.path!, null]];
    const kind: [string, string][] = this.fresh && this.group.kind ? [[`${this.group.path}.kind`, this.group.kind]] : [];
    const typed = this.entries.filter((entry) => entry.changed || (this.fresh && entry.given));
    const values = typed.map((entry): [string, string] => [entry.field.path, entry.value]);
    return this.fresh && values.length === 0 ? [] : [...kind, ...values];
  }
}

export const openAtFirst = (group: Group): boolean => OPEN.includes(group.path ?? "");

/** Buttons that add an entry to a list: one for each list, with its kinds. */
export function adders(addable: Form["addable"], add: (group: Group) => void): HTMLElement {
  const row = el("p", { class: "acts" }, "Add: ");
  for (const list of addable ?? []) {
    const kinds = el("select", { "aria-label": `Kind of ${list.title.toLowerCase()}` });
    fill(kinds, ...list.kinds.map((group, k) => el("option", { value: k }, group.kind || list.title)));
    const act = button(list.title, () => add(list.kinds[Number(kinds.value) || 0]), { "data-add": arrayOf(list.path) });
    row.append(el("span", { class: "adder" }, list.kinds.length > 1 ? kinds : null, act));
  }
  return row;
}
