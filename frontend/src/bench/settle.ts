// Entry "Next evidence": evidence not in hand, by what it is expected to tell.

import { Refused, get } from "./api";
import type { Bench, Entry } from "./bench";
import { bar, coded, el, fill, part, standing, table } from "./dom";
import type { EvidenceItem } from "./types";

const leaders = (said: string | string[]): string => (Array.isArray(said) ? said.join("; ") : said);

function row(item: EvidenceItem, most: number): (Node | string | null)[][] {
  const outcomes = item.outcomes.map((one) =>
    el("li", {}, `${one.outcome} `, el("span", { class: "n" }, `(${(100 * one.chance).toFixed(0)}%)`), `: ${leaders(one.leaders)}`),
  );
  const known = typeof item.lowest === "number" && typeof item.highest === "number";
  const span = known && item.bits >= 0.005 ? el("small", {}, ` ${item.lowest!.toFixed(2)} to ${item.highest!.toFixed(2)}`) : null;
  return [
    [item.item],
    [bar(0, item.bits, item.bits, most), el("span", { class: "n" }, item.bits < 0.005 ? "< 0.01 bit" : `${item.bits.toFixed(2)} bit`), span],
    [item.cost],
    [el("ul", { class: "outcomes" }, ...outcomes)],
    [item.source, item.caution ? el("em", { class: "beside" }, item.caution) : null],
  ];
}

export class SettleEntry implements Entry {
  stages: Entry["stages"] = ["weighing"];
  failed = false;

  constructor(readonly bench: Bench) {}

  async refresh(): Promise<void> {
    this.failed = false;
    const missing = this.bench.missing("weighing");
    if (missing) {
      fill(part("settle-none"), missing);
      fill(part("settle-body"));
      return;
    }
    try {
      const items = await get<EvidenceItem[]>("evidence");
      const most = Math.max(0.1, ...items.map((item) => item.bits));
      fill(part("settle-none"), items.length === 0 && "No evidence is listed yet.");
      fill(
        part("settle-body"),
        el("p", {}, standing("inferred"), " One bit halves the number of causes in question."),
        table(
          ["Evidence not in hand", "Expected gain", "Effort", "If found: leading causes", "Rests on"],
          items.map((item) => row(item, most)),
          { label: "Evidence not in hand", kind: "settling" },
        ),
      );
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      fill(part("settle-none"), ...coded(problem.said));
      fill(part("settle-body"));
    }
  }
}
