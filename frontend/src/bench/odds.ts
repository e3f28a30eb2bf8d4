// Entry "Odds": probabilities with their intervals, recomputed at once when a prior is moved.

import { Refused, write } from "./api";
import type { Bench, Entry } from "./bench";
import { announce, bar, button, el, fill, part, standing, table } from "./dom";
import { scoreBox } from "./sections";
import { reliabilityDiagram } from "./reliability";
import type { Odds, OddsRow } from "./types";

const two = (value: number): string => (value > 0 && value < 0.005 ? "< 0.01" : value.toFixed(2));

/** What the data alone say of a cause against the one they favour. */
function inWords(row: OddsRow, leader: string | undefined): string {
  if (row.cause === leader) return "favoured by the data";
  return /strong|positive/.test(row.words) ? `${row.words} evidence for the favoured one over it` : row.words;
}

/** One cause's row: kept while the prior is dragged, so that the slider stays in the hand. */
class Row {
  readonly root = el("tr");
  weight: number;
  private readonly chance = el("td", { class: "n" });
  private readonly factor = el("td");
  private readonly range: HTMLInputElement;
  private readonly number: HTMLInputElement;

  constructor(row: OddsRow, changed: () => void) {
    this.weight = row.prior;
    const name = `Prior weight of ${row.title}`;
    this.range = el("input", { type: "range", min: -3, max: 0, step: 0.02, "aria-label": `${name}, on a scale of powers of ten` });
    this.number = el("input", { type: "number", min: 0, step: "any", "aria-label": name });
    this.range.addEventListener("input", () => this.take(10 ** Number(this.range.value), this.range, changed));
    this.number.addEventListener("input", () => this.take(this.number.valueAsNumber, this.number, changed));
    const heading = el("th", { scope: "row" }, row.title || row.cause);
    this.root.append(heading, el("td", {}, this.range, " ", this.number), this.chance, this.factor);
    this.root.dataset.cause = row.cause;
    this.set(row.prior);
  }

  private take(weight: number, from: HTMLInputElement, changed: () => void): void {
    if (!Number.isFinite(weight) || weight < 0) return;
    this.weight = weight;
    if (from !== this.number) this.number.value = String(Number(weight.toPrecision(3)));
    if (from !== this.range) this.range.value = String(Math.log10(Math.max(weight, 1e-3)));
    this.range.setAttribute("aria-valuetext", String(Number(weight.toPrecision(3))));
    changed();
  }

  set(weight: number): void {
    this.weight = weight;
    this.number.value = String(Number(weight.toPrecision(3)));
    this.range.value = String(Math.log10(Math.max(weight, 1e-3)));
    this.range.setAttribute("aria-valuetext", this.number.value);
  }

  show(row: OddsRow, leader: string | undefined): void {
    const band = `${two(row.low)} to ${two(row.high)}`;
    fill(
      this.chance,
      bar(row.low, row.probability, row.high),
      el("strong", {}, two(row.probability)),
      el("small", {}, ` (${band})`),
    );
    const factor = row.log_bayes_factor;
    const number = factor === null ? "\u2013" : `${factor > 0 ? "+" : ""}${factor.toFixed(1)}`.replace("-", "\u2212");
    fill(this.factor, el("span", { class: "n" }, number), " ", standing("inferred"), ` ${inWords(row, leader)}`);
  }
}

export class OddsEntry implements Entry {
  stages: Entry["stages"] = ["weighing"];
  failed = false;
  private rows: Row[] = [];
  private given: Record<string, number> = {};
  private waiting = false;
  private asking = false;

  constructor(readonly bench: Bench) {}

  async refresh(): Promise<void> {
    this.failed = false;
    const missing = this.bench.missing("weighing");
    if (missing) {
      fill(part("odds-none"), missing);
      fill(part("odds-body"));
      return;
    }
    try {
      const odds = await write<Odds>("POST", "odds", { body: {} });
      fill(part("odds-none"));
      this.draw(odds);
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      fill(part("odds-none"), problem.said);
      fill(part("odds-body"));
    }
  }

  private draw(odds: Odds): void {
    const sorted = [...odds.rows].sort((a, b) => b.probability - a.probability);
    this.given = Object.fromEntries(sorted.map((row) => [row.cause, row.prior]));
    this.rows = sorted.map((row) => new Row(row, () => this.moved()));
    this.rows.forEach((row, k) => row.show(sorted[k], odds.leader));
    const heads = ["Cause", "Prior weight (the analyst's)", "Probability, with its 90 % interval", "What the data say: natural log of the Bayes factor against the favoured cause"];
    fill(
      part("odds-body"),
      scoreBox([], odds.score),
      odds.prior && el("p", {}, standing("inferred"), ` ${odds.prior}`),
      el(
        "table",
        { class: "odds", "aria-label": "Odds" },
        el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { scope: "col" }, head)))),
        el("tbody", {}, ...this.rows.map((row) => row.root)),
      ),
      el("p", { class: "hint" }, "Words for a Bayes factor: Kass and Raftery (1995). The factor is what the data say; the probability also holds the prior weights, which are judgement."),
      el(
        "p",
        { class: "acts" },
        button("Prior weights of the case", () => this.put(this.given)),
        button("Equal prior weights", () => this.put({})),
      ),
      odds.twin && el("p", {}, standing("inferred"), ` The cause that the track tells least from the favoured one: ${this.titleOf(odds, odds.twin)}.`),
      odds.evidence?.length ? this.beside(odds.evidence) : null,
      reliabilityDiagram(odds.reliability),
    );
  }

  private titleOf({ rows }: Odds, cause: string): string {
    return rows.find((row) => row.cause === cause)?.title ?? cause;
  }

  /** Evidence other than the track that the odds hold. */
  private beside(evidence: NonNullable<Odds["evidence"]>): HTMLElement {
    const rows = evidence.map((item) => [
      [item.name],
      [item.doubt === null ? "\u2013" : String(item.doubt)],
      [item.source, item.caution ? el("em", { class: "beside" }, item.caution) : null],
    ]);
    const held = table(["Evidence beside the track", "Doubt", "Rests on"], rows, { label: "Evidence beside the track" });
    return el("div", {}, el("h3", {}, "Evidence beside the track that these odds hold"), held);
  }

  private put(weights: Record<string, number>): void {
    const even = 1 / this.rows.length;
    this.rows.forEach((row) => row.set(weights[row.root.dataset.cause!] ?? even));
    this.moved();
  }

  private moved(): void {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      void this.recompute();
    });
  }

  /** One question at a time; what was moved meanwhile is asked afterwards. */
  private async recompute(): Promise<void> {
    if (this.asking) return;
    this.asking = true;
    const prior = Object.fromEntries(this.rows.map((row) => [row.root.dataset.cause!, row.weight]));
    try {
      const odds = await write<Odds>("POST", "odds", { body: { prior } });
      const found = new Map(odds.rows.map((row) => [row.cause, row]));
      for (const row of this.rows) {
        const fresh = found.get(row.root.dataset.cause!);
        if (fresh) row.show(fresh, odds.leader);
      }
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      announce(problem.said);
    } finally {
      this.asking = false;
    }
    const same = this.rows.every((row) => row.weight === prior[row.root.dataset.cause!]);
    if (!same) this.moved();
  }
}
