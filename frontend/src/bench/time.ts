// Entry "Time and strength": how long something could still be done, as maps; a cell can be flown.

import { Refused, get } from "./api";
import type { Bench, Entry } from "./bench";
import type { CausesEntry } from "./causes";
import { announce, el, fill, part, standing, table, typeset } from "./dom";
import { type Chosen, HeatMap } from "./heat";
import { sentences } from "./sections";
import type { ResponseResult, ShareMap } from "./types";

const words = (name: string): string => name.replace(/_/g, " ");

const cell = (value: unknown): string => {
  if (value === null || value === undefined) return "\u2013";
  if (typeof value === "number") return Number.isInteger(value) ? String(value) : value.toPrecision(3);
  return typeset(Array.isArray(value) ? value.join(" to ") : String(value));
};

/** Rows of plain values as a table; the columns are what the rows hold. */
function plainTable(rows: Record<string, unknown>[], label: string): HTMLElement {
  const heads = [...new Set(rows.flatMap((row) => Object.keys(row)))];
  return table(heads.map(words), rows.map((row) => heads.map((head) => [cell(row[head])])), { label });
}

export class TimeEntry implements Entry {
  stages: Entry["stages"] = ["response"];
  failed = false;

  constructor(readonly bench: Bench, private readonly causes: CausesEntry) {}

  async refresh(): Promise<void> {
    this.failed = false;
    const missing = this.bench.missing("response");
    if (missing) {
      fill(part("time-none"), missing);
      fill(part("time-body"));
      return;
    }
    const place = part("time-body");
    try {
      const found = await get<ResponseResult>("response");
      fill(part("time-none"));
      fill(place, ...this.parts(found));
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      fill(part("time-none"), problem.said);
      fill(place);
    }
  }

  private parts(found: ResponseResult): HTMLElement[] {
    const parts: HTMLElement[] = (found.cautions ?? []).map((said) => el("p", { class: "beside" }, el("strong", {}, "Caution: "), said));
    if (found.latest.length) {
      parts.push(el("h3", {}, "Latest moment at which each action still held ", standing("inferred")));
      parts.push(plainTable(found.latest, "Latest moments"));
    }
    if (found.maps.length) {
      parts.push(el("h3", {}, "Over delay and setting ", standing("inferred")));
      parts.push(el("div", { class: "maps" }, ...found.maps.map((map) => this.map(map))));
    }
    if (found.lessons.length) {
      parts.push(el("h3", {}, "Lessons for design and training"));
      const said = found.lessons.map((one) =>
        typeof one === "string" ? { kind: "inferred", text: one, basis: [], caution: "" } : one,
      );
      parts.push(sentences(said));
    }
    return parts;
  }

  private map(map: ShareMap): HTMLElement {
    const title = `${words(map.cause)}: ${words(map.procedure)}`;
    return new HeatMap(map, title, (chosen) => this.fly(map, chosen)).root;
  }

  private fly(map: ShareMap, chosen: Chosen): void {
    const values = Object.fromEntries(
      ([["x", chosen.x], ["y", chosen.y]] as const).flatMap(([side, value]) => {
        const { parameter } = map[side] as { parameter?: string };
        return parameter ? [[parameter, value]] : [];
      }),
    );
    this.causes.flyWith(map.cause, values);
    announce("The cell is flown; its curves stand in the entry on causes.");
  }
}
