// Beside the charts: the attitude, found stretches, why something is hatched, and what is set from the time axis.

import type { Panel, Strips } from "../figure";
import { clock } from "../words";
import { get, write } from "./api";
import type { Attitude } from "./attitude";
import type { Bench } from "./bench";
import type { TimeCharts } from "./charts";
import { announce, button, el, fill, part } from "./dom";
import { readTranscript } from "./transcript";
import type { Form, FoundStretch, Hatch } from "./types";

/** What a drag across a chart does. */
export type DragAct = "show" | "reference" | "onset" | "event";

const WHY = ": why?";

export class Side {
  private readonly stretches = el("div", { class: "found" });
  private readonly hatches = el("div", { class: "hatches" });
  private readonly paste = el("textarea", { id: "transcript", rows: 4, spellcheck: "false", "aria-describedby": "transcript-said" });
  private readonly pasted = el("p", { class: "hint", id: "transcript-said", role: "status" });
  private readonly add = button("Add the calls as events", () => this.addCalls());
  private readonly text = el("input", { type: "text", id: "event-text", autocomplete: "off" });
  readonly drag = el(
    "select",
    { id: "drag-act" },
    ...[["show", "shows the stretch"], ["reference", "sets the trimmed reference"], ["onset", "sets the onset at its start"], ["event", "adds an event at its start"]].map(
      ([value, words]) => el("option", { value }, words),
    ),
  );

  constructor(
    private readonly bench: Bench,
    private readonly charts: TimeCharts,
    attitude: Attitude,
    private readonly goTo: (path: string) => void,
  ) {
    this.paste.addEventListener("input", () => this.read());
    this.read();
    fill(part("flight-side"), attitude.root, this.foundBox(), this.hatches, this.setBox(), this.transcriptBox());
  }

  private get strips(): Strips {
    return this.charts.strips;
  }

  private foundBox(): HTMLElement {
    return el("section", { "aria-label": "Stretches" }, el("h3", {}, "Stretches"), this.stretches);
  }

  private setBox(): HTMLElement {
    const acts = el(
      "p",
      { class: "acts" },
      button("Onset at the cursor", () => this.setOnset(this.cursor)),
      button("Reference: stretch in view", () => this.setReference(...this.charts.charts.view)),
    );
    return el(
      "section",
      { "aria-label": "Set from the time axis" },
      el("h3", {}, "Set from the charts"),
      el("p", {}, el("label", { for: "drag-act" }, "A drag across a chart "), this.drag),
      acts,
      el("label", { for: "event-text" }, "Event at the cursor"),
      el("p", { class: "acts" }, this.text, button("Add", () => this.addEvent(this.cursor))),
      el("p", { class: "hint" }, "Each is saved in the case at once; Undo takes it back."),
    );
  }

  private transcriptBox(): HTMLElement {
    return el(
      "details",
      { class: "transcript" },
      el("summary", {}, "Paste a transcript"),
      el("label", { for: "transcript" }, "One call a line, its time (UTC) first, such as ", el("code", {}, "18:54:38 CREW: unable to descend")),
      this.paste,
      this.pasted,
      el("p", { class: "acts" }, this.add),
    );
  }

  private get cursor(): number {
    return this.strips.time[Number(this.charts.bar.slider.value)];
  }

  /** What the server has found on the time axis. */
  async refresh(): Promise<void> {
    const found = await get<{ stretches: FoundStretch[]; hatches: Hatch[] }>("stretches").catch(() => null);
    if (!found) return;
    this.charts.overview?.offer(found.stretches);
    const go = ({ start, end }: FoundStretch): void => {
      const pad = 0.06 * (end - start);
      this.charts.charts.zoom(start - pad, end + pad);
      announce(`${clock(start + this.strips.start)} to ${clock(end + this.strips.start)} in view.`);
    };
    const chip = (one: FoundStretch): HTMLElement =>
      el("li", {}, button(one.name, () => go(one), { title: one.why }), el("span", { class: "n" }, ` ${clock(one.start + this.strips.start)}\u2013${clock(one.end + this.strips.start)}`));
    fill(this.stretches, found.stretches.length ? el("ul", {}, ...found.stretches.map(chip)) : el("p", { class: "hint" }, "None found: neither climb, descent, dive nor onset."));
    this.explain(found.hatches, go);
  }

  /** Why something is hatched: a list beside the charts, and a button at each chart that has some. */
  private explain(hatches: Hatch[], go: (one: FoundStretch) => void): void {
    const titled = (key: string): string => this.strips.panels.find((panel: Panel) => panel.key === key)?.title ?? "";
    const shown = hatches.filter(({ quantity }) => titled(quantity));
    const item = (one: Hatch): HTMLElement =>
      el(
        "li",
        { "data-hatch": one.quantity },
        el("strong", {}, titled(one.quantity)),
        " ",
        button(`${clock(one.start + this.strips.start)}\u2013${clock(one.end + this.strips.start)}`, () => go({ ...one, name: "" }), { class: "to" }),
        el("p", {}, one.why),
        one.helps.length > 0 && el("p", { class: "hint" }, "What would help:"),
        one.helps.length > 0 && el("ul", { class: "helps" }, ...one.helps.map((help) => el("li", {}, button(`Add ${help.words}`, () => this.goTo(help.path), { class: "to" })))),
      );
    const details = el("details", { id: "why-hatched" }, el("summary", {}, `Why not observable, and what would help (${shown.length})`), el("ul", {}, ...shown.map(item)));
    fill(this.hatches, shown.length > 0 && details);
    for (const place of this.charts.root.querySelectorAll<HTMLElement>(".panel")) {
      const own = shown.filter(({ quantity }) => quantity === place.dataset.panel);
      const mark = place.querySelector<HTMLElement>(".partly");
      if (!mark || own.length === 0) continue;
      const open = (): void => {
        details.open = true;
        const found = details.querySelector<HTMLElement>(`[data-hatch="${place.dataset.panel}"]`);
        found?.scrollIntoView({ block: "nearest" });
        found?.querySelector<HTMLElement>("button")?.focus();
      };
      mark.replaceChildren(button(`${mark.textContent?.replace(WHY, "")}${WHY}`, open, { class: "to" }));
    }
  }

  dragged(from: number, to: number): boolean {
    const act = this.drag.value as DragAct;
    if (act === "show") return false;
    if (act === "reference") void this.setReference(from, to);
    else if (act === "onset") void this.setOnset(from);
    else void this.addEvent(from);
    return true;
  }

  private clockOf(time: number): string {
    return clock(time + this.strips.start, 1);
  }

  private setOnset(time: number): Promise<void> {
    return this.put({ "analysis.onset": this.clockOf(time) }, `Onset set to ${this.clockOf(time)} UTC.`);
  }

  private setReference(from: number, to: number): Promise<void> {
    const values = { "analysis.reference_start": this.clockOf(from), "analysis.reference_end": this.clockOf(to) };
    return this.put(values, `Trimmed reference set to ${this.clockOf(from)} to ${this.clockOf(to)} UTC.`);
  }

  private async addEvent(time: number): Promise<void> {
    const said = this.text.value.trim();
    if (!said) {
      announce("Say first what happened, under Event at the cursor.");
      return this.text.focus();
    }
    const call = { time: this.clockOf(time), text: said, source: "" };
    await this.putEvents([call], "record", `Event added at ${call.time} UTC.`);
    this.text.value = "";
  }

  private read(): void {
    const { calls, lost } = readTranscript(this.paste.value);
    const odd = lost.length ? ` ${lost.length} ${lost.length === 1 ? "line begins" : "lines begin"} with no time and ${lost.length === 1 ? "is" : "are"} left out: ${lost[0].slice(0, 60)}` : "";
    this.pasted.textContent = calls.length ? `${calls.length} ${calls.length === 1 ? "call" : "calls"}, ${calls[0].time} to ${calls[calls.length - 1].time} UTC.${odd}` : odd.trim();
    this.add.disabled = calls.length === 0;
  }

  private async addCalls(): Promise<void> {
    const { calls } = readTranscript(this.paste.value);
    const done = await this.putEvents(calls, "voice", `${calls.length} ${calls.length === 1 ? "event" : "events"} added.`);
    if (done) this.paste.value = "";
    this.read();
  }

  private async putEvents(calls: { time: string; text: string; source: string }[], kind: string, said: string): Promise<boolean> {
    const form = await get<Form>("form");
    const next = form.addable?.find(({ path }) => path.startsWith("events["))?.path.match(/\d+/);
    const values: Record<string, string> = {};
    calls.forEach((call, k) => {
      const at = `events[${Number(next?.[0] ?? 1) + k}]`;
      Object.assign(values, { [`${at}.time`]: call.time, [`${at}.kind`]: kind, [`${at}.text`]: call.text });
      if (call.source) values[`${at}.source`] = call.source;
    });
    return this.save(form, values, said);
  }

  private async put(values: Record<string, string>, said: string): Promise<void> {
    await this.save(await get<Form>("form"), values, said);
  }

  private async save(form: Form, values: Record<string, string>, said: string): Promise<boolean> {
    const done = await this.bench.attempt(async () => {
      this.bench.made(await write("PUT", "form", { body: { revision: form.revision, values } }));
    });
    if (done) announce(`${said} Undo takes it back.`);
    await this.bench.load();
    return done;
  }
}
