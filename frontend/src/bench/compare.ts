// Entry "Compare studies": what differs between two kept studies, and what moved by how much.

import { Refused, get, write } from "./api";
import type { Bench, Entry } from "./bench";
import { announce, button, el, fill, part, svg, table } from "./dom";

interface Input {
  kind: string;
  name: string;
  before: string;
  after: string;
  words_only: boolean;
}

interface Moved {
  topic: string;
  name: string;
  before: string;
  after: string;
  size: string;
  low: number[];
  middle: number[];
  high: number[];
}

interface Comparison {
  before: string;
  after: string;
  inputs: Input[];
  moved: Moved[];
  why: string[];
}

const NOW = "Results as they are now";
const TOLD = ["beyond its band", "in one study alone"];
const [LONG, HIGH, PAD] = [150, 26, 5];

/** Both bands on one scale: the first study above, the second below, a mark at each middle. */
function bands({ low, middle, high }: Moved): SVGElement | string {
  if (low.length === 0) return "";
  const [least, most] = [Math.min(...low), Math.max(...high)];
  const span = most - least || 1;
  const x = (value: number): string => (PAD + ((value - least) / span) * (LONG - 2 * PAD)).toFixed(1);
  const rows = [0, 1].flatMap((k) => [
    svg("rect", { class: k ? "reach after" : "reach", x: x(low[k]), y: 3 + 12 * k, width: Math.max(Number(x(high[k])) - Number(x(low[k])), 1.5), height: 8 }),
    svg("line", { class: "at", x1: x(middle[k]), x2: x(middle[k]), y1: 1 + 12 * k, y2: 13 + 12 * k }),
  ]);
  return svg("svg", { class: "bar two", width: LONG, height: HIGH, viewBox: `0 0 ${LONG} ${HIGH}`, "aria-hidden": "true" }, ...rows);
}

export class CompareEntry implements Entry {
  stages: Entry["stages"] = ["motion", "moments", "weighing", "response"];
  failed = false;
  private readonly before = el("select", { id: "compare-before" });
  private readonly after = el("select", { id: "compare-after" });
  private readonly name = el("input", { type: "text", id: "compare-name", autocomplete: "off", placeholder: "by the time of the results" });
  private readonly out = button("Remove", () => this.remove());
  private names: string[] = [];

  constructor(readonly bench: Bench) {
    for (const select of [this.before, this.after]) select.addEventListener("change", () => void this.show());
    fill(
      part("compare-acts"),
      el("p", { class: "acts" }, el("label", { for: "compare-name" }, "Keep the results as they are now, as"), this.name, button("Keep", () => this.keep())),
      el("p", { class: "acts" }, el("label", { for: "compare-before" }, "Before"), this.before, this.out, el("label", { for: "compare-after" }, "After"), this.after),
    );
  }

  async refresh(): Promise<void> {
    this.failed = false;
    const missing = this.bench.missing("motion");
    part("compare-acts").hidden = missing !== null;
    fill(part("compare-none"), missing);
    if (missing) return fill(part("compare-body"));
    const chosen = [this.before.value, this.after.value];
    const first = this.names.length === 0;
    this.names = (await get<{ names: string[] }>("kept")).names;
    for (const [k, select] of [this.before, this.after].entries()) {
      fill(select, ...this.names.map((name) => el("option", { value: name }, name)), el("option", { value: "" }, NOW));
      const newest = k === 0 && first ? this.names[this.names.length - 1] ?? "" : "";
      select.value = this.names.includes(chosen[k]) ? chosen[k] : newest;
    }
    await this.show();
  }

  private asked = 0; // an answer that a later choice has overtaken is not drawn

  private async show(): Promise<void> {
    const ticket = ++this.asked;
    const [before, after] = [this.before.value, this.after.value];
    this.out.disabled = before === "";
    this.out.setAttribute("aria-label", `Remove the kept results ${before}`);
    if (this.names.length === 0) {
      return fill(part("compare-body"), el("p", { class: "hint" }, "Nothing is kept yet. A new run of the whole study keeps what was there before it; or keep the results now, change one thing in the case, and run again."));
    }
    if (before === after) return fill(part("compare-body"), el("p", { class: "hint" }, "Choose two different studies."));
    try {
      const found = await get<Comparison>("compare", { before, after });
      if (ticket === this.asked) this.draw(found);
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      fill(part("compare-body"), el("p", { class: "refused" }, problem.said));
    }
  }

  private draw({ before, after, inputs, moved, why }: Comparison): void {
    const told = moved.filter(({ size }) => TOLD.includes(size));
    const rest = moved.filter(({ size }) => !TOLD.includes(size));
    const changed = inputs.map((one) => [[`${one.kind}: ${one.name}`], [one.before], [one.after]]);
    fill(
      part("compare-body"),
      el("h3", {}, "What differs in the inputs"),
      inputs.length > 0 && table(["Input", before, after], changed, { label: "Inputs that differ" }),
      ...why.map((said) => el("p", {}, said)),
      el("h3", {}, "What moved"),
      told.length ? this.rows(told, before, after, "Results that moved") : el("p", {}, "No result moved by more than its band."),
      el("p", { class: "hint" }, "Moved: its middle lies outside the band that it has in the other study. Both studies share readings, so a change within the bands can be real too."),
      rest.length > 0 && el("details", {}, el("summary", {}, `The same, or within its band (${rest.length})`), this.rows(rest, before, after, "Results that are the same or within their bands")),
    );
  }

  private rows(moved: Moved[], before: string, after: string, label: string): HTMLElement {
    const cells = moved.map((row) => [
      [el("span", {}, el("small", {}, row.topic), el("br"), row.name)],
      [row.before],
      [row.after],
      [bands(row)],
      [row.size],
    ]);
    return table(["Result", before, after, "Both bands", "Moved"], cells, { label, kind: "compared" });
  }

  private async keep(): Promise<void> {
    const name = this.name.value.trim();
    let kept = "";
    const done = await this.bench.attempt(async () => {
      kept = (await write<{ kept: string }>("POST", "kept", { body: { name } })).kept;
    });
    if (!done) return;
    announce(`The results are kept as ${kept}.`);
    this.name.value = "";
    await this.refresh();
    this.before.value = kept;
    await this.show();
  }

  private async remove(): Promise<void> {
    const name = this.before.value;
    const done = await this.bench.attempt(() => write("DELETE", "kept", { asked: { name } }));
    if (done) announce(`The kept results ${name} are removed.`);
    await this.refresh();
    this.before.focus();
  }
}
