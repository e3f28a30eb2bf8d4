// The case as a form: each quantity with its unit, errors beside the field, nothing lost to another tab.

import { Refused, get, write } from "./api";
import type { Bench } from "./bench";
import { announce, button, el, fill, part } from "./dom";
import { Draft, type Typed } from "./draft";
import { FieldGroup, adders, arrayOf, numberOf, openAtFirst, renumbered } from "./groups";
import { Missing } from "./missing";
import type { Form, Group } from "./types";

const AFTER = 300; // ms until the form follows what was saved elsewhere, at least

export class CaseForm {
  private readonly root = part<HTMLFormElement>("form");
  private groups: FieldGroup[] = [];
  private revision = "";
  private last: Promise<unknown> = Promise.resolve();
  private addable: NonNullable<Form["addable"]> = [];
  private readonly draft = new Draft();
  private readonly said = el("span", { role: "status" });
  private readonly conflict = el("div", { class: "conflict", role: "alert" });
  private readonly fresh = el("div");
  private readonly missing = new Missing((gap) => this.go(gap.path));

  constructor(private readonly bench: Bench) {
    this.conflict.hidden = true;
    bench.unsaved = () => this.values.length;
    bench.goTo = (path) => this.go(path);
    this.root.addEventListener("submit", (event) => {
      event.preventDefault();
      void this.inTurn(() => this.save());
    });
    for (const told of ["input", "change"]) this.root.addEventListener(told, () => this.count());
    bench.onState((state) => {
      // What another tab has saved can wait a moment: that tab is still at work.
      if (this.revision === "" || this.bench.isOwn(state.revision)) void this.news(state.revision);
      else if (state.revision !== this.revision) setTimeout(() => void this.news(this.bench.state!.revision), AFTER * (1 + Math.random()));
      this.lack();
    });
    addEventListener("beforeunload", (event) => {
      if (this.values.length) event.preventDefault();
    });
  }

  private get values(): [string, string | null][] {
    return this.groups.flatMap((group) => group.values);
  }

  /** The file has changed: read it again, unless something typed here would be lost. */
  private async news(revision: string): Promise<void> {
    await this.inTurn(async () => {
      if (revision === this.revision) return;
      if (this.revision && this.values.length && !this.bench.isOwn(revision)) return;
      await this.read(true);
    });
  }

  /** Readings and savings follow one another: none draws over what another has just said. */
  private inTurn(act: () => Promise<void>): Promise<void> {
    const next = this.last.then(act);
    this.last = next.catch(() => undefined);
    return next;
  }

  /** Read the form anew. Not asked for, it leaves alone what was begun meanwhile, unless it was this
   * page that changed the case: then what was typed stays on top. */
  private async read(unasked = false): Promise<void> {
    try {
      const form = await get<Form>("form");
      const first = this.revision === "" && this.groups.length === 0;
      const typed: Typed = first ? this.draft.held() : Object.fromEntries(unasked ? this.values : []);
      const revision = form.revision ?? this.bench.state?.revision ?? "";
      if (this.revision && Object.keys(typed).length && !this.bench.isOwn(revision)) return;
      this.revision = revision;
      this.draw(form);
      this.retype(typed);
      if (first && Object.keys(typed).length) announce("What was typed here before, and not saved, stands in the form again.");
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.revision = ""; // whatever comes next is read, with what was typed on top
      fill(this.root, el("p", { class: "refused" }, problem.said));
    }
  }

  private draw(form: Form): void {
    const focused = document.activeElement?.id;
    const open = new Map(this.groups.map((held) => [held.group.path, held.root.open]));
    this.addable = form.addable ?? [];
    this.groups = form.groups.map(
      (group) => new FieldGroup(group, open.get(group.path) ?? openAtFirst(group), false, () => this.count()),
    );
    const foot = el("div", { class: "form-foot" });
    foot.append(el("button", { type: "submit", class: "first" }, "Save the case"), this.said);
    this.conflict.hidden = true;
    fill(this.fresh);
    const add = adders(form.addable, (group) => this.add(group));
    fill(this.root, this.missing.root, ...this.groups.map((group) => group.root), this.fresh, add, this.conflict, foot);
    this.lack();
    if (focused) document.getElementById(focused)?.focus();
    this.count();
  }

  /** What the case, as it is saved, still needs. */
  private lack(): void {
    const gaps = this.bench.state?.missing ?? [];
    this.missing.show(gaps);
    const paths = new Map(gaps.filter(({ stage }) => stage === "motion").map(({ path, hint }) => [path, hint]));
    this.groups.forEach((group) => group.lack(paths));
  }

  /** To where something missing is given: its field, its group, its file, or the way to add one. */
  private go(path: string): void {
    const entry = this.entries.find((held) => held.field.path === path);
    const group = this.groups.find((held) => held.entries.includes(entry!) || held.group.path === path.replace(/\.columns.*$/, ""));
    if (group) group.root.open = true;
    const file = group?.entries.find((held) => held.field.path === path.replace(/\.columns.*$/, ".file"))?.value;
    const look = file && path.includes(".columns") ? document.querySelector<HTMLElement>(`[aria-label="Preview ${CSS.escape(file)}"]`) : null;
    if (path === "tracks") part("pick").focus();
    else if (entry) entry.focus();
    else (look ?? group?.entries[0]?.root.querySelector<HTMLElement>("input, select") ?? this.root.querySelector<HTMLElement>(`[data-add="${path}"]`))?.focus();
  }

  /** One entry more of a list; any number may wait to be saved. */
  private add(group: Group, focus = true): FieldGroup {
    const array = arrayOf(group.path);
    this.groups = this.groups.filter((held) => !(held.fresh && held.gone));
    const waiting = this.groups.filter((held) => held.fresh && arrayOf(held.group.path) === array);
    const number = Math.max(numberOf(group.path) - 1, ...waiting.map((held) => numberOf(held.group.path))) + 1;
    const made = new FieldGroup(renumbered(group, number), true, true, () => this.count());
    this.groups = [...this.groups, made];
    this.fresh.append(made.root);
    if (focus) made.entries[0]?.focus();
    return made;
  }

  /** New entries follow the saved ones without a gap, whatever was left out in between. */
  private placed(typed: Typed): { values: Typed; back: Map<string, string> } {
    const numbers = new Map<string, string>();
    for (const { path } of this.addable) {
      const waiting = this.groups.filter((held) => held.fresh && held.values.length > 0 && arrayOf(held.group.path) === arrayOf(path));
      waiting.forEach((held, k) => numbers.set(held.group.path!, `${arrayOf(path)}[${numberOf(path) + k}]`));
    }
    const back = new Map<string, string>();
    const moved = ([path, value]: [string, string | null]): [string, string | null] => {
      const before = path.match(/^[^\]]*\]/)?.[0] ?? "";
      const after = numbers.has(before) ? numbers.get(before)! + path.slice(before.length) : path;
      back.set(after, path);
      return [after, value];
    };
    return { values: Object.fromEntries(Object.entries(typed).map(moved)), back };
  }

  private count(): void {
    this.draft.keep(Object.fromEntries(this.values));
    const changed = this.values.length;
    this.said.className = "";
    this.said.textContent = changed ? `${changed} ${changed === 1 ? "change" : "changes"} not saved yet.` : "";
  }

  private async save(again = false): Promise<void> {
    const typed: Typed = Object.fromEntries(this.values);
    const { values, back } = this.placed(typed);
    if (Object.keys(values).length === 0) {
      this.said.textContent = "Nothing was changed.";
      return;
    }
    this.entries.forEach((entry) => entry.refuse(""));
    try {
      this.bench.made(await write("PUT", "form", { body: { revision: this.revision, values } }));
      const later = this.values.filter(([path, value]) => typed[path] !== value);
      await this.read();
      this.retype(Object.fromEntries(later));
      if (this.values.length === 0) this.said.textContent = "Saved.";
      await this.bench.load();
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      if (problem.status !== 409) return this.refuse(problem, back);
      // This page itself may have changed the case, such as by its columns: then nobody clashes.
      if (again || !this.bench.isOwn((await this.bench.load()).revision)) return this.clash(typed);
      await this.read(true);
      await this.save(true);
    }
  }

  private retype(values: Typed): void {
    this.addAgain(values);
    for (const entry of this.entries) {
      const typed = values[entry.field.path];
      if (typeof typed === "string" && numberOf(entry.field.path) < this.firstNew(entry.field.path)) entry.retype(typed);
    }
    this.count();
  }

  /** The number that a new entry of the same list gets; none lies beyond it where there is no list. */
  private firstNew(path: string): number {
    const list = this.addable.find((held) => arrayOf(held.path) === arrayOf(path));
    return list && path.includes("[") ? numberOf(list.path) : Infinity;
  }

  /** Entries that were begun and not saved come back with what was typed in them. */
  private addAgain(values: Typed): void {
    for (const list of this.addable) {
      const own = Object.entries(values).filter(([path]) => arrayOf(path) === arrayOf(list.path) && numberOf(path) >= numberOf(list.path));
      for (const number of [...new Set(own.map(([path]) => numberOf(path)))].sort((a, b) => a - b)) {
        const before = `${arrayOf(list.path)}[${number}]`;
        const kind = values[`${before}.kind`];
        const made = this.add(list.kinds.find((group) => group.kind === kind) ?? list.kinds[0], false);
        for (const entry of made.entries) {
          const typed = values[before + entry.field.path.slice(made.group.path!.length)];
          if (typeof typed === "string") entry.retype(typed);
        }
      }
    }
  }

  private get entries(): FieldGroup["entries"] {
    return this.groups.flatMap((group) => group.entries);
  }

  private refuse(problem: Refused, back: Map<string, string>): void {
    const wrong = problem.errors.flatMap((error) => {
      const path = back.get(error.path) ?? error.path;
      const entry = this.entries.find((held) => held.field.path === path);
      entry?.refuse([error.message, error.hint].filter(Boolean).join(" "));
      return entry ? [entry] : [];
    });
    const count = problem.errors.length;
    this.said.className = "error";
    this.said.textContent = wrong.length
      ? `Not saved: ${count === 1 ? "one field" : `${count} fields`} cannot be accepted.`
      : `Not saved: ${problem.said} ${problem.where}`;
    wrong[0]?.focus();
  }

  /** Another tab or program saved first: nothing typed here is lost, and nothing there. */
  private clash(values: Typed): void {
    const text =
      "The case was saved elsewhere (another tab, or an editor) since this form was read. What you typed is still here and not saved.";
    const keep = async (): Promise<void> => {
      await this.read();
      this.retype(values);
      announce("The case has been read again, with what you typed on top. Save to keep it.");
    };
    const drop = async (): Promise<void> => {
      await this.read();
      announce("The case has been read again; what was typed here is gone.");
    };
    fill(
      this.conflict,
      el("p", {}, el("strong", {}, "Not saved. "), text),
      el(
        "p",
        { class: "acts" },
        button("Read it again, keep what I typed", keep),
        button("Read it again, drop what I typed", drop),
      ),
    );
    this.conflict.hidden = false;
    this.conflict.scrollIntoView({ block: "center" });
  }
}
