// Strip charts over one time axis, linked by one cursor and one zoom.

import uPlot from "uplot";
import type { Axis, Palette, Panel, Strips } from "./figure";
import { paintLevels, paintMarks, paintReadings, paintShades } from "./paint";
import { clock, printed, reading } from "./words";

const HEIGHT = 138;
const LEFT = 66;
const RIGHT = 58;
const FONT = "11px system-ui, sans-serif";

export interface Listener {
  /** The cursor stands at this index of the common times. */
  moved(at: number): void;
  /** This stretch of time is visible. */
  zoomed(from: number, to: number): void;
}

function steps(low: number, high: number, count: number): number[] {
  const raw = (high - low) / count;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 2.5, 5, 10].map((k) => k * power).find((k) => k >= raw) ?? raw;
  const first = Math.ceil(low / step);
  return Array.from({ length: Math.floor(high / step) - first + 1 }, (_, k) => (first + k) * step);
}

function tickDecimals(values: number[]): number {
  const step = values.length > 1 ? values[1] - values[0] : 1;
  return Math.min(4, Math.max(0, -Math.floor(Math.log10(step) + 1e-9)) + (step % 1 && step > 1 ? 1 : 0));
}

function scaleAxis(axis: Axis, palette: Palette, second: boolean): uPlot.Axis {
  const factor = second ? axis.second_factor : 1;
  return {
    scale: "y",
    side: second ? 1 : 3,
    size: second ? RIGHT : LEFT,
    font: FONT,
    stroke: second ? palette.quiet : palette.ink,
    grid: { show: !second, stroke: palette.grid, width: 1 },
    ticks: { stroke: palette.quiet, width: 1, size: 4 },
    gap: 3,
    splits: (_u, _i, low, high) =>
      steps(low * factor, high * factor, 4).map((value) => value / factor),
    values: (_u, splits) => {
      const scaled = splits.map((value) => value * factor);
      const decimals = tickDecimals(scaled);
      return scaled.map((v) => printed(axis.wrap ? ((v % axis.wrap) + axis.wrap) % axis.wrap : v, decimals));
    },
  };
}

function options(
  strips: Strips,
  panel: Panel,
  palette: Palette,
  width: number,
  link: string,
): uPlot.Options {
  const { axis } = panel;
  const series: uPlot.Series[] = [{}];
  const bands: uPlot.Band[] = [];
  for (const band of panel.bands) {
    const first = series.length;
    const ink = palette.inks[band.ink];
    const dash = band.standing === "inferred" ? [6, 4] : palette.dashes[band.ink];
    const main = panel.bands.length === 1;
    // Top before bottom, wide before narrow: a band is filled when its first series is drawn.
    const edge = (width: number): uPlot.Series => ({
      stroke: main ? palette.edge : ink,
      width,
      points: { show: false },
    });
    const median = { ...edge(1.7), stroke: ink, dash };
    series.push(edge(0.7), edge(0.7), edge(0), edge(0), median);
    bands.push(
      { series: [first, first + 1], fill: main ? palette.band90 : ink + "22" },
      { series: [first + 2, first + 3], fill: main ? palette.band50 : ink + "44" },
    );
  }
  return {
    width,
    height: HEIGHT,
    padding: [6, axis.second_unit ? 0 : RIGHT, 0, 0],
    legend: { show: false },
    cursor: {
      sync: { key: link, scales: ["x", null] },
      y: false,
      points: { show: false },
      drag: { x: true, y: false, setScale: false },
    },
    scales: { x: { time: false }, y: { range: [axis.low, axis.high] } },
    series,
    bands,
    axes: [
      {
        font: FONT,
        size: 26,
        gap: 2,
        stroke: palette.ink,
        grid: { stroke: palette.grid, width: 1 },
        ticks: { stroke: palette.quiet, width: 1, size: 4 },
        space: 74,
        incrs: [0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600],
        splits: (_u, _i, low, high, step) => {
          const first = Math.ceil((low + strips.start) / step);
          const last = Math.floor((high + strips.start) / step);
          return Array.from({ length: last - first + 1 }, (_, k) => (first + k) * step - strips.start);
        },
        values: (_u, splits, _i, _space, step) =>
          splits.map((value) => clock(value + strips.start, step < 1 ? 1 : 0)),
      },
      scaleAxis(axis, palette, false),
      ...(axis.second_unit ? [scaleAxis(axis, palette, true)] : []),
    ],
    hooks: {
      drawClear: [(u) => paintShades(u, panel, palette)],
      draw: [
        (u) => {
          if (panel.readings) paintReadings(u, panel.readings, palette);
          paintLevels(u, panel, palette);
          paintMarks(u, strips.marks, palette);
        },
      ],
    },
  };
}

export class StripCharts {
  private readonly plots: uPlot[] = [];
  private readonly outputs: { value: Element; span: Element }[] = [];
  private at = -1;
  private quiet = false;

  constructor(
    private readonly root: HTMLElement,
    readonly strips: Strips,
    private readonly palette: Palette,
    private readonly listener: Listener,
  ) {
    for (const panel of strips.panels) this.add(panel);
    new ResizeObserver(() => this.fit()).observe(root);
  }

  get length(): number {
    return this.strips.time.length;
  }

  private holder(panel: Panel): HTMLElement {
    return this.root.querySelector<HTMLElement>(`[data-panel="${panel.key}"]`)!;
  }

  private add(panel: Panel): void {
    const figure = this.holder(panel);
    const place = figure.querySelector<HTMLElement>(".plot")!;
    this.outputs.push({
      value: figure.querySelector(".read-value")!,
      span: figure.querySelector(".read-span")!,
    });
    const gaps = (curve: Float32Array): (number | null)[] =>
      Array.from(curve, (value) => (Number.isFinite(value) ? value : null));
    const curves = panel.bands.flatMap((band) => {
      const [low90, low50, median, high50, high90] = band.quantiles.map(gaps);
      return [high90, low90, high50, low50, median];
    });
    const plot = new uPlot(
      options(this.strips, panel, this.palette, place.clientWidth, this.root.dataset.strips!),
      [Array.from(this.strips.time), ...curves] as uPlot.AlignedData,
      place,
    );
    plot.hooks.setCursor = [(u) => this.follow(u)];
    plot.hooks.setSelect = [(u) => this.select(u)];
    plot.over.addEventListener("dblclick", () => this.all());
    this.plots.push(plot);
  }

  private follow(u: uPlot): void {
    const at = u.cursor.idx;
    if (this.quiet || at === null || at === undefined || at === this.at) return;
    this.show(at);
  }

  private show(at: number): void {
    this.at = at;
    this.strips.panels.forEach((panel, k) => {
      const said = reading(panel.bands[0], panel.axis, at);
      this.outputs[k].value.textContent = said.value;
      this.outputs[k].span.textContent = said.span;
    });
    this.listener.moved(at);
  }

  private select(u: uPlot): void {
    if (u.select.width < 4) return;
    const from = u.posToVal(u.select.left, "x");
    const to = u.posToVal(u.select.left + u.select.width, "x");
    u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    this.zoom(from, to);
  }

  /** Move the cursor to an index of the common times; it comes into view. */
  moveTo(at: number): void {
    const time = this.strips.time[at];
    const { min, max } = this.plots[0].scales.x;
    if (time < min! || time > max!) {
      const half = (max! - min!) / 2;
      this.zoom(time - half, time + half);
    }
    this.quiet = true;
    for (const plot of this.plots) {
      plot.setCursor({ left: plot.valToPos(time, "x"), top: 10 }, false);
    }
    this.quiet = false;
    this.show(at);
  }

  zoom(from: number, to: number): void {
    const last = this.strips.time[this.length - 1];
    const span = Math.min(Math.max(to - from, 2), last);
    const min = Math.min(Math.max(from, 0), last - span);
    for (const plot of this.plots) plot.setScale("x", { min, max: min + span });
    this.listener.zoomed(min, min + span);
  }

  /** Narrow (factor < 1) or widen the visible time about the cursor. */
  scale(factor: number): void {
    const { min, max } = this.plots[0].scales.x;
    const centre = this.at >= 0 ? this.strips.time[this.at] : (min! + max!) / 2;
    const half = ((max! - min!) * factor) / 2;
    this.zoom(centre - half, centre + half);
  }

  all(): void {
    this.zoom(0, this.strips.time[this.length - 1]);
  }

  last(seconds: number): void {
    const end = this.strips.time[this.length - 1];
    this.zoom(end - seconds, end);
  }

  private fit(): void {
    this.plots.forEach((plot, k) => {
      const width = this.holder(this.strips.panels[k]).querySelector(".plot")!.clientWidth;
      if (width > 0 && width !== plot.width) plot.setSize({ width, height: HEIGHT });
    });
  }
}
