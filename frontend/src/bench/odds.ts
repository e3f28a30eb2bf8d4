// Entry "Odds": probabilities with their intervals, recomputed at once when a prior is moved.

import { Refused, write } from "./api";
import type { Bench, Entry } from "./bench";
import { announce, bar, button, coded, el, fill, part, standing, table } from "./dom";
import { scoreBox } from "./sections";
import { reliabilityDiagram } from "./reliability";
import type { Odds, OddsRow } from "./types";

const two = (value: number): string => {
  if (value > 0 && value < 0.005) return "< 0.01";
  return value < 1 && value >= 0.995 ? "> 0.99" : value.toFixed(2);
};

/** What the data alone say of a cause against the one they favour. */
function inWords(row: OddsRow, leader: string | undefined): string {
  if (row.cause === leader) return "reference: best supported by the data";
  return /strong|positive/.test(row.words) ? `${row.words} evidence against it` : row.words;
}

const LIGHTEST = -3; // power of ten at the left end of a slider; analyst's
const HEAVIEST = 3;

const NOTHING = "no-failure"; // the name of an ordinary flight among the causes

/** A weight near enough for a slider, in two figures. */
const rounded = (weight: number): number => Number(weight.toPrecision(2));

/** A share in per cent with as many figures as tell it from none. */
function percent(share: number): string {
  const value = 100 * share;
  return `${value >= 10 || value === 0 ? value.toFixed(0) : Number(value.toPrecision(2))}%`;
}

/** One cause's row: kept while the prior is dragged, so that the slider stays in the hand. */
class Row {
  readonly root = el("tr");
  weight = 1;
  /** What one of its weight counts among all: rows of a mechanism share what the mechanism has. */
  private readonly unit: number;
  private readonly chance = el("td", { class: "n", "data-name": "Odds" });
  private readonly factor = el("td", { "data-name": "Evidence" });
  private readonly range: HTMLInputElement;
  private readonly number: HTMLInputElement;
  private readonly share = el("small", { class: "share" });

  constructor(row: OddsRow, changed: () => void) {
    const name = `Prior weight of ${row.title}`;
    this.range = el("input", {
      type: "range", min: LIGHTEST, max: HEAVIEST, step: 0.02, "aria-label": `${name}, on a scale of powers of ten`,
    });
    this.number = el("input", { type: "number", min: 0, step: "any", "aria-label": name });
    this.range.addEventListener("input", () => this.take(rounded(10 ** Number(this.range.value)), this.range, changed));
    this.number.addEventListener("input", () => this.take(this.number.valueAsNumber, this.number, changed));
    const heading = el("th", { scope: "row", title: row.cause }, row.title || row.cause);
    // An ordinary flight has what the chance above leaves.
    const governed = row.cause === NOTHING;
    const hands = governed ? [el("span", { class: "hint" }, "by the chance above ")] : [this.range, " ", this.number, " "];
    this.root.append(heading, el("td", { class: "weight", "data-name": "Prior weight" }, ...hands, this.share), this.chance, this.factor);
    this.root.dataset.cause = row.cause;
    this.unit = row.prior > 0 && row.weight > 0 ? row.prior / row.weight : 1;
    this.set(row.weight);
  }

  /** Its part of the prior, up to a factor that all rows have. */
  get counts(): number {
    return this.weight * this.unit;
  }

  /** Let it count so much. */
  count(part: number): void {
    this.set(part / this.unit);
  }

  private take(weight: number, from: HTMLInputElement | null, changed?: () => void): void {
    if (!Number.isFinite(weight) || weight <= 0) return;
    this.weight = weight;
    // The field shows the very number that is sent.
    if (from !== this.number) this.number.value = String(weight);
    if (from !== this.range) this.range.value = String(Math.log10(weight));
    this.range.setAttribute("aria-valuetext", String(weight));
    changed?.();
  }

  set(weight: number): void {
    this.take(weight, null);
  }

  /** What the weight comes to among all. */
  among(sum: number): void {
    this.share.textContent = `= ${percent(this.counts / sum)}`;
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
  private readonly prior = el("p", { role: "status" });
  private readonly chance = el("input", { type: "number", id: "odds-chance", min: 0, max: 100, step: "any" });
  private anything = 0.5; // chance that anything failed
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
      fill(part("odds-none"), ...coded(problem.said));
      fill(part("odds-body"));
    }
  }

  private draw(odds: Odds): void {
    const sorted = [...odds.rows].sort((a, b) => b.probability - a.probability);
    this.given = Object.fromEntries(sorted.map((row) => [row.cause, row.weight]));
    this.rows = sorted.map((row) => new Row(row, () => this.moved()));
    this.rows.forEach((row, k) => row.show(sorted[k], odds.leader));
    const heads = ["Cause", "Prior weight, and its share", "Odds: probability, lowest to highest of the networks", "Evidence: ln of the Bayes factor against the best-supported cause"];
    this.say(odds);
    fill(
      part("odds-body"),
      odds.fit ? el("p", { class: "beside", id: "odds-fit" }, el("strong", {}, odds.fit)) : null,
      scoreBox([], odds.score),
      this.prior,
      this.chanceBox(),
      el(
        "table",
        { class: "odds stacks", "aria-label": "Odds" },
        el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { scope: "col" }, head)))),
        el("tbody", {}, ...this.rows.map((row) => row.root)),
      ),
      this.twin(odds),
      el("p", { class: "hint" }, "Words for a Bayes factor: Kass and Raftery (1995). The factor rests on the data alone; the probability also holds the prior weights, which are a judgment."),
      el(
        "p",
        { class: "acts" },
        button("Prior weights of the case", () => this.put(this.given)),
        button("Equal prior weights", () => this.put({})),
      ),
      odds.evidence?.length ? this.beside(odds.evidence) : null,
      reliabilityDiagram(odds.reliability),
    );
    this.readChance();
    this.shares();
  }

  private say({ prior }: Odds): void {
    fill(this.prior, ...(prior ? [standing("inferred"), ` ${prior}`] : []));
  }

  /** The cause that the track tells least from the favoured one, in a sentence. */
  private twin(odds: Odds): HTMLElement | null {
    const { leader, twin } = odds;
    if (!leader || !twin) return null;
    const titled = (cause: string): HTMLElement => el("strong", {}, odds.rows.find((row) => row.cause === cause)?.title.split(":")[0] ?? cause);
    return el(
      "p",
      {},
      standing("inferred"),
      " Nearest rivals on this track: ",
      titled(leader),
      " and ",
      titled(twin),
      ". Of flights of the other causes, one of the second comes closest to the recorded flight.",
    );
  }

  /** The chance that anything failed, where an ordinary flight is among the causes. */
  private chanceBox(): HTMLElement | null {
    if (!this.ordinary) return null;
    this.chance.oninput = () => this.takeChance();
    return el(
      "p",
      { class: "acts" },
      el("label", { for: this.chance.id }, "Prior probability that something failed"),
      this.chance,
      " %",
    );
  }

  private takeChance(): void {
    const percent = this.chance.valueAsNumber;
    if (!(percent > 0 && percent < 100)) return;
    this.anything = percent / 100;
    this.moved();
  }

  private get ordinary(): Row | undefined {
    return this.rows.find((row) => row.root.dataset.cause === NOTHING);
  }

  private sum(): number {
    return this.rows.reduce((sum, row) => sum + row.counts, 0);
  }

  /** The chance that anything failed, as these weights have it. */
  private readChance(): void {
    const { ordinary } = this;
    if (!ordinary) return;
    this.anything = 1 - ordinary.counts / this.sum();
    this.chance.value = String(Number((100 * this.anything).toPrecision(6)));
  }

  /** Shares anew; the chance that anything failed stays as it is whatever the weights. */
  private shares(): void {
    const { ordinary, anything } = this;
    ordinary?.count(((this.sum() - ordinary.counts) * (1 - anything)) / anything);
    const sum = this.sum();
    this.rows.forEach((row) => row.among(sum));
  }

  /** Evidence other than the track that the odds hold. */
  private beside(evidence: NonNullable<Odds["evidence"]>): HTMLElement {
    const rows = evidence.map((item) => [
      [item.name],
      [item.doubt === null ? "\u2013" : String(item.doubt)],
      [item.source, item.caution ? el("em", { class: "beside" }, item.caution) : null],
    ]);
    const held = table(["Other evidence", "Chance that it tells nothing", "Rests on"], rows, { label: "Other evidence" });
    return el("div", {}, el("h3", {}, "Other evidence that these odds include"), held);
  }

  private put(weights: Record<string, number>): void {
    this.rows.forEach((row) => row.set(weights[row.root.dataset.cause!] ?? 1));
    this.readChance();
    this.moved();
  }

  private moved(): void {
    this.shares();
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
      this.say(odds);
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
