// Entry "Time to act": latest effective action and column force, as maps; a cell can be flown.

import { Refused, get } from "./api";
import type { Bench, Entry } from "./bench";
import type { CausesEntry } from "./causes";
import { type Child, announce, coded, el, fill, headed, part, standing, table, typeset } from "./dom";
import { type Chosen, HeatMap } from "./heat";
import { lineChart } from "./lines";
import { sentences } from "./sections";
import type { HoldForce, ResponseResult, ShareMap } from "./types";

type Row = ResponseResult["latest"][number];

const words = (name: string): string => name.replace(/_/g, " ");

/** Rows of plain values as a table; the columns are what the rows hold. */
function plainTable(rows: Row[], label: string): HTMLElement {
  const heads = [...new Set(rows.flatMap((row) => Object.keys(row)))].filter((head) => head !== "cause");
  const cell = (value: Row[string] | undefined): string =>
    value === null || value === undefined ? "\u2013" : typeset(words(String(value)));
  return table(heads.map((head) => headed(words(head))), rows.map((row) => heads.map((head, k) => [k ? cell(row[head]) : headed(cell(row[head]))])), { label });
}

/** One row for each procedure, one column for each percentile of pilots. */
function pivoted(rows: Row[]): Row[] {
  const found = new Map<string, Row>();
  for (const { procedure, latest, "percentile of pilots": share } of rows) {
    if (share === undefined) return rows;
    const row = found.get(String(procedure)) ?? { procedure: procedure };
    row[`latest: ${share}`] = latest;
    found.set(String(procedure), row);
  }
  return [...found.values()];
}

function forceChart({ time, pull, unit, one_hand, two_hands }: HoldForce): HTMLElement {
  const curves = (Array.isArray(pull[0]) ? pull : [pull]) as (number | null)[][];
  const middle = curves[Math.floor(curves.length / 2)];
  const band = curves.length > 2 ? { low: curves[0], high: curves[curves.length - 1] } : {};
  const percent = (share: (number | null)[]): (number | null)[] => share.map((one) => (one === null ? null : 100 * one));
  return el(
    "div",
    { class: "pair" },
    lineChart(time, [{ label: "to hold level", y: middle, ...band, ink: "var(--derived)" }], "s after the fault began", `pull, ${unit}`,
      "Column force needed to hold, by time"),
    lineChart(
      time,
      [
        { label: "two hands", y: percent(two_hands), ink: "var(--derived)" },
        { label: "one hand", y: percent(one_hand), ink: "var(--event)", dash: "7 3" },
      ],
      "s after the fault began", "people able to hold it, %", "Share of people able to hold it, by time",
    ),
  );
}

/** Causes without a map, folded: each with its reason, causes of one reason in one line. */
function leftOut(sentences: string[]): HTMLElement | null {
  const reasons = new Map<string, string[]>();
  for (const said of sentences) {
    const at = said.indexOf(": ");
    const [cause, why] = at < 0 ? ["", said] : [said.slice(0, at), said.slice(at + 2)];
    reasons.set(why, [...(reasons.get(why) ?? []), cause]);
  }
  if (reasons.size === 0) return null;
  const lines = [...reasons].map(([why, causes]) => el("li", {}, el("strong", {}, causes.join(", ")), causes[0] ? ": " : "", why));
  const many = sentences.length === 1 ? "cause" : "causes";
  return el("details", { class: "left-out" }, el("summary", {}, `Not computed: ${sentences.length} ${many}, and why`), el("ul", {}, ...lines));
}

export class TimeEntry implements Entry {
  stages: Entry["stages"] = ["response"];
  failed = false;
  private found: ResponseResult | null = null;
  private readonly cause = el("select", { id: "time-cause" });
  private readonly procedure = el("select", { id: "time-procedure" });
  private readonly of = el("div");
  private readonly maps = el("div", { class: "maps" });
  private readonly had = el("h3");

  constructor(readonly bench: Bench, private readonly causes: CausesEntry) {
    this.cause.addEventListener("input", () => this.chooseCause());
    this.procedure.addEventListener("input", () => this.drawMaps());
  }

  async refresh(): Promise<void> {
    this.failed = false;
    const missing = this.bench.missing("response");
    if (missing) {
      fill(part("time-none"), missing);
      fill(part("time-body"));
      return;
    }
    try {
      this.found = await get<ResponseResult>("response");
      fill(part("time-none"));
      this.draw(this.found);
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      fill(part("time-none"), ...coded(problem.said));
      fill(part("time-body"));
    }
  }

  private draw(found: ResponseResult): void {
    const { reaction, height } = found;
    const known = this.bench.state?.cautions ?? [];
    const own = (found.cautions ?? []).filter((said) => !known.includes(said));
    const cautions = own.map((said) => el("p", { class: "beside" }, el("strong", {}, "Caution: "), said));
    const settings: Child[] = [
      reaction && `Delays drawn about ${reaction.median} s (${reaction.source}); rules speak of ${reaction.of_rules.join(", ")} s. `,
      height && `Height above the ground at the start ${Math.round(height.value).toLocaleString("en-US")} ${height.unit} (stated in the case: ${height.stated}).`,
    ];
    fill(this.cause, ...found.causes.map((name) => el("option", { value: name }, found.titles?.[name] ?? words(name))));
    const lessons = found.lessons.map((text) => ({ kind: "inferred" as const, text, basis: ["response.nc"], caution: "", detail: false, about: "" }));
    fill(
      part("time-body"),
      ...cautions,
      el("p", { class: "hint" }, ...settings),
      lessons.length > 0 && el("h3", {}, "Lessons for design and training"),
      lessons.length > 0 && sentences(lessons),
      el("p", { class: "acts" }, el("label", { for: "time-cause" }, "Cause"), this.cause, el("label", { for: "time-procedure" }, "Procedure"), this.procedure),
      this.had,
      this.maps,
      this.of,
      leftOut(found.left_out ?? []),
    );
    this.chooseCause();
  }

  private chooseCause(): void {
    const { maps, reference, latest, recoveries, force } = this.found!;
    const cause = this.cause.value;
    fill(this.had, `If: ${this.cause.selectedOptions[0]?.textContent?.toLowerCase() ?? cause}`);
    const procedures = [...new Set(maps.filter((map) => map.cause === cause).map((map) => map.procedure))];
    fill(this.procedure, ...procedures.map((name) => el("option", { value: name }, words(name))));
    const first = reference?.[cause];
    if (first && procedures.includes(first)) this.procedure.value = first;
    const of = (rows: Row[] | undefined): Row[] => (rows ?? []).filter((row) => row.cause === undefined || row.cause === cause);
    const [late, back, hold] = [of(latest), of(recoveries), force?.[cause]];
    fill(
      this.of,
      late.length > 0 && el("h3", {}, "Latest effective action ", standing("inferred")),
      late.length > 0 && plainTable(pivoted(late), "Latest effective action"),
      hold && el("h3", {}, "Force needed to hold, and share able to ", standing("inferred")),
      hold && forceChart(hold),
      back.length > 0 && el("h3", {}, "Recovery: height, speed and load factor of those saved ", standing("inferred")),
      back.length > 0 && plainTable(back, "Recoveries"),
    );
    this.drawMaps();
  }

  private drawMaps(): void {
    const chosen = this.found!.maps.filter(
      (map) => map.cause === this.cause.value && map.procedure === this.procedure.value,
    );
    fill(this.maps, ...chosen.map((map) => this.map(map)));
  }

  private map(map: ShareMap): HTMLElement {
    const lesson = map.lesson ? " (a lesson: not this airplane as it was)" : "";
    const title = `${words(map.procedure)}${lesson}, over ${map.y.label.toLowerCase()}`;
    return new HeatMap(map, title, (chosen) => this.fly(map, chosen)).root;
  }

  private fly(map: ShareMap, chosen: Chosen): void {
    const values: Record<string, number> = { ...this.found!.faults?.[map.cause] };
    if (map.x.parameter) values[map.x.parameter] = chosen.x;
    if (map.y.parameter) values[map.y.parameter] = chosen.y;
    if (!this.causes.flyWith(map.cause, values, map.procedure)) return;
    announce("The cell is flown, by a median pilot and with a median fault; its curves stand in the entry on causes.");
  }
}
