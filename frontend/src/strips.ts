// Strip charts over one time axis, linked by one cursor and one zoom.

import uPlot from "uplot";
import type { Palette, Panel, Strips } from "./figure";
import { Sight } from "./sight";
import { type Shown, options } from "./strip";
import { reading } from "./words";

export interface Listener {
  /** The cursor stands at this index of the common times. */
  moved(at: number): void;
  /** This stretch of time is visible. */
  zoomed(from: number, to: number): void;
  /** A chart was drawn anew, perhaps on other scales. */
  renewed?(key: string): void;
  /** A chart was clicked at this time. */
  picked?(time: number): void;
  /** A stretch was dragged over; true where that has been dealt with. */
  dragged?(from: number, to: number): boolean;
}

const gaps = (curve: Float32Array): (number | null)[] =>
  Array.from(curve, (value) => (Number.isFinite(value) ? value : null));

/** Columns of one chart as the plotting library wants them, wide bands first. */
function columns(strips: Strips, panel: Panel): uPlot.AlignedData {
  const curves = panel.bands.flatMap((band) => {
    const [low90, low50, median, high50, high90] = band.quantiles.map(gaps);
    return [high90, low90, high50, low50, median];
  });
  return [Array.from(strips.time), ...curves] as uPlot.AlignedData;
}

export class StripCharts implements Shown {
  private readonly plots: uPlot[] = [];
  private readonly outputs: { value: Element; span: Element }[] = [];
  private at = -1;
  private inView: [number, number];
  private quiet = false;
  private selecting = false;
  private readonly sights: Sight[] = [];
  private readonly drawn: Strips[] = [];
  readonly folded: boolean;

  constructor(
    private readonly root: HTMLElement,
    public strips: Strips,
    private readonly palette: Palette,
    private readonly listener: Listener,
    /** Whether the scales follow the stretch in view. */
    public fitted = false,
  ) {
    this.folded = fitted;
    this.inView = [strips.time[0], strips.time[strips.time.length - 1]];
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
    const plot = new uPlot(
      options(this, this.plots.length, this.palette, place.clientWidth, this.root.dataset.strips!),
      columns(this.strips, panel),
      place,
    );
    plot.hooks.setCursor = [(u) => this.follow(u)];
    plot.hooks.setSelect = [(u) => this.select(u)];
    plot.over.addEventListener("dblclick", () => this.all());
    plot.over.addEventListener("click", () => this.pick(plot));
    const k = this.plots.push(plot) - 1;
    this.drawn.push(this.strips);
    this.sights.push(new Sight(figure, () => this.renew(k)));
  }

  private follow(u: uPlot): void {
    const at = u.cursor.idx;
    if (!this.quiet) this.left = NaN;
    if (this.quiet || at === null || at === undefined || at === this.at) return;
    for (const sight of this.sights) if (!sight.seen) sight.ask();
    this.show(at);
  }

  private show(at: number): void {
    this.read(at);
    this.listener.moved(at);
  }

  private read(at: number): void {
    this.at = at;
    this.strips.panels.forEach((panel, k) => {
      const said = reading(panel.bands[0], panel.axis, at);
      this.outputs[k].value.textContent = said.value;
      this.outputs[k].span.textContent = said.span;
    });
  }

  private pick(u: uPlot): void {
    const { left } = u.cursor;
    if (left !== undefined && left >= 0 && !this.selecting) this.listener.picked?.(u.posToVal(left, "x"));
  }

  private select(u: uPlot): void {
    if (u.select.width < 4) return;
    const from = u.posToVal(u.select.left, "x");
    const to = u.posToVal(u.select.left + u.select.width, "x");
    u.setSelect({ left: 0, top: 0, width: 0, height: 0 }, false);
    // The linked charts are told as well, right after the one that was dragged over.
    if (this.selecting) return;
    this.selecting = true;
    queueMicrotask(() => (this.selecting = false));
    if (!this.listener.dragged?.(from, to)) this.zoom(from, to);
  }

  /** Move the cursor to an index of the common times; it comes into view. */
  moveTo(at: number): void {
    const time = this.strips.time[at];
    const [min, max] = this.inView;
    if (time < min || time > max) {
      const half = (max - min) / 2;
      this.zoom(time - half, time + half);
    }
    this.line(time);
    this.show(at);
  }

  /** Set the cursor's line at a time between two of the common times, and read the one before it. */
  lineAt(time: number, at: number): void {
    this.line(time);
    if (at !== this.at) this.read(at);
  }

  /** Where the lines stand, px; not known after whatever else may have moved them. */
  private left = NaN;

  private line(time: number): void {
    const seen = this.plots.find((_, k) => this.sights[k].seen);
    const left = seen ? Math.round(2 * seen.valToPos(time, "x")) / 2 : NaN;
    if (left === this.left) return; // half a pixel is not seen
    this.left = left;
    this.quiet = true;
    this.plots.forEach((plot, k) => {
      if (this.sights[k].seen) plot.setCursor({ left: plot.valToPos(time, "x"), top: 10 }, false);
      else this.sights[k].ask();
    });
    this.quiet = false;
  }

  /** Bring one chart up to date: its data where they were replaced, its scale, its cursor. */
  private renew(k: number): void {
    const plot = this.plots[k];
    const [min, max] = this.inView;
    this.left = NaN;
    this.quiet = true;
    plot.batch(() => {
      if (this.drawn[k] !== this.strips) plot.setData(columns(this.strips, this.strips.panels[k]), false);
      plot.setScale("x", { min, max });
    });
    this.drawn[k] = this.strips;
    // The library sets its scales in a task of its own; the cursor then stays at its time.
    queueMicrotask(() => {
      this.quiet = true;
      const time = this.at >= 0 ? this.strips.time[this.at] : NaN;
      if (time >= min && time <= max) plot.setCursor({ left: plot.valToPos(time, "x"), top: 10 }, false);
      else plot.setCursor({ left: -10, top: -10 }, false);
      this.quiet = false;
      this.listener.renewed?.(this.strips.panels[k].key);
    });
  }

  zoom(from: number, to: number): void {
    const last = this.strips.time[this.length - 1];
    const span = Math.min(Math.max(to - from, 2), last);
    const min = Math.min(Math.max(from, 0), last - span);
    this.inView = [min, min + span];
    this.left = NaN;
    this.sights.forEach((sight) => sight.ask());
    this.listener.zoomed(min, min + span);
    this.keepInView();
  }

  /** What is read out beside a chart belongs to a time that the chart shows. */
  private keepInView(): void {
    if (this.at < 0) return;
    const { time } = this.strips;
    const [min, max] = this.inView;
    if (time[this.at] >= min && time[this.at] <= max) return;
    const first = time.findIndex((value) => value >= min);
    let last = time.length - 1;
    while (last > 0 && time[last] > max) last -= 1;
    const at = Math.max(time[this.at] < min ? first : last, 0);
    this.line(time[at]);
    this.show(at);
  }

  /** Narrow (factor < 1) or widen the visible time about the cursor. */
  scale(factor: number): void {
    const [min, max] = this.inView;
    const centre = this.at >= 0 ? this.strips.time[this.at] : (min + max) / 2;
    const half = ((max - min) * factor) / 2;
    this.zoom(centre - half, centre + half);
  }

  get every(): readonly uPlot[] {
    return this.plots;
  }

  /** The chart of a panel, for what is drawn over it. */
  plot(key: string): uPlot | undefined {
    return this.plots[this.strips.panels.findIndex((panel) => panel.key === key)];
  }

  /** Another figure of the same panels, such as one with more detail; zoom and cursor stay. */
  replace(strips: Strips): void {
    const time = this.at >= 0 ? this.strips.time[this.at] : 0;
    this.strips = strips;
    this.at = strips.time.findIndex((value) => value >= time);
    this.sights.forEach((sight) => sight.ask());
  }

  /** Let the scales follow the stretch in view, or hold them to the whole record. */
  fitScales(fitted: boolean): void {
    this.fitted = fitted;
    // The library looks at its scales again only when one changes.
    const [from, to] = this.inView;
    this.zoom(from, to + (fitted ? -1e-4 : 1e-4));
  }

  /** The stretch in view; the library's own scales follow a moment later. */
  get view(): [number, number] {
    return this.inView;
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
      if (width > 0 && width !== plot.width) plot.setSize({ width, height: plot.height });
    });
  }
}
