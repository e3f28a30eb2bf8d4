// Flown causes over the strip charts: layers of their own, so that a slider redraws nothing else.

import type uPlot from "uplot";
import type { Palette } from "../figure";
import { blank } from "../strip";
import type { TimeCharts } from "./charts";
import type { Flown } from "./types";

/** A flight that is shown: its number, ink and dash tell it apart, never colour alone. */
export interface Shown {
  cause: string;
  title: string;
  number: number;
  flown: Flown;
}

const HEIGHT = "pressure_altitude"; // panel in which the ground is drawn
const DASHES = [[7, 3], [2, 2], [9, 3, 2, 3], [14, 4], [4, 4, 1, 4]];
// Panel of the strip charts in which a flown curve is drawn, where the names differ.
const PLACES: Record<string, string[]> = {
  height: ["pressure_altitude", "altitude"],
  column_force: ["column_force", "moments_column_force"],
};

export const inkOf = (number: number, palette: Palette): string =>
  palette.inks[1 + ((number - 1) % (palette.inks.length - 1))];
export const dashOf = (number: number): number[] => DASHES[(number - 1) % DASHES.length];

export type Less = (key: string, time: Float32Array, curve: Float32Array) => Float32Array;

export class Overlay {
  readonly shown = new Map<string, Shown>();
  private readonly layers: Layer[] = [];
  private readonly watchers: (() => void)[] = [];

  /** Draw the flights on charts; `less` is what is taken off a curve there, such as the motion itself. */
  attach(charts: TimeCharts, palette: Palette, less: Less = (_key, _time, curve) => curve): void {
    this.layers.push(new Layer(charts, palette, this.shown, less));
  }

  /** Strip charts that have been replaced are drawn on no more. */
  release(charts: TimeCharts): void {
    const at = this.layers.findIndex((layer) => layer.charts === charts);
    if (at >= 0) this.layers.splice(at, 1);
  }

  onChange(watch: () => void): void {
    this.watchers.push(watch);
  }

  set(cause: string, title: string, flown: Flown): void {
    const number = this.shown.get(cause)?.number ?? this.free();
    this.shown.set(cause, { cause, title, number, flown });
    this.changed();
  }

  remove(cause: string): void {
    if (this.shown.delete(cause)) this.changed();
  }

  private free(): number {
    const taken = new Set([...this.shown.values()].map((held) => held.number));
    let number = 1;
    while (taken.has(number)) number++;
    return number;
  }

  private changed(): void {
    this.layers.forEach((layer) => layer.draw());
    this.watchers.forEach((watch) => watch());
  }
}

class Layer {
  private readonly canvases = new Map<string, HTMLCanvasElement>();

  constructor(
    readonly charts: TimeCharts,
    private readonly palette: Palette,
    private readonly shown: Map<string, Shown>,
    private readonly less: Less,
  ) {
    for (const panel of charts.strips.panels) {
      const canvas = document.createElement("canvas");
      canvas.setAttribute("aria-hidden", "true");
      canvas.width = 0;
      charts.charts.plot(panel.key)!.over.append(canvas);
      this.canvases.set(panel.key, canvas);
    }
    charts.onScale((key) => this.panel(key));
    new ResizeObserver(() => this.draw()).observe(charts.root);
  }

  draw(): void {
    for (const { key } of this.charts.strips.panels) this.panel(key);
  }

  private panel(key: string): void {
    const canvas = this.canvases.get(key)!;
    if (this.shown.size === 0) {
      if (canvas.width > 0) canvas.width = 0;
      return;
    }
    const plot = this.charts.charts.plot(key)!;
    if (this.widened(key, plot)) return;
    const [width, height] = [plot.over.clientWidth, plot.over.clientHeight];
    const size = [Math.round(width * devicePixelRatio), Math.round(height * devicePixelRatio)];
    [canvas.width, canvas.height] = size;
    canvas.style.width = `${width}px`;
    canvas.style.height = `${height}px`;
    const pen = canvas.getContext("2d")!;
    pen.scale(devicePixelRatio, devicePixelRatio);
    for (const held of this.shown.values()) {
      const flown = curveFor(held.flown, key);
      if (!flown) continue;
      const curve = this.less(key, held.flown.time, flown);
      if (held.flown.ground && key === HEIGHT && curve === flown) this.ground(pen, held, (value) => plot.valToPos(value, "y"), width);
      this.line(pen, held, curve, (time) => plot.valToPos(time, "x"), (value) => plot.valToPos(value, "y"));
    }
  }

  /** A chart without data of its own takes the scale of the flights; it is then drawn on again. */
  private widened(key: string, plot: uPlot): boolean {
    const panel = this.charts.strips.panels.find((one) => one.key === key)!;
    if (this.charts.charts.folded || !blank(panel)) return false;
    const values = [...this.shown.values()].flatMap(({ flown }) => [...(curveFor(flown, key) ?? [])]).filter(Number.isFinite);
    if (!values.length) return false;
    const [least, most] = [Math.min(...values), Math.max(...values)];
    const spare = 0.08 * (most - least) || 1;
    const { axis } = panel;
    if (axis.low === least - spare && axis.high === most + spare) return false;
    [axis.low, axis.high] = [least - spare, most + spare];
    plot.setScale("y", { min: axis.low, max: axis.high });
    queueMicrotask(() => this.panel(key));
    return true;
  }

  /** The ground that a flight is held over: a thin line with the number of the flight. */
  private ground(pen: CanvasRenderingContext2D, { number, flown }: Shown, y: (value: number) => number, width: number): void {
    const level = y(flown.ground!.level);
    pen.strokeStyle = pen.fillStyle = inkOf(number, this.palette);
    pen.lineWidth = 1;
    pen.beginPath();
    pen.moveTo(0, level);
    pen.lineTo(width, level);
    pen.stroke();
    pen.font = "11px system-ui, sans-serif";
    pen.fillText(`ground of ${number}`, 4, level - 3);
  }

  private line(
    pen: CanvasRenderingContext2D,
    held: Shown,
    curve: Float32Array,
    x: (time: number) => number,
    y: (value: number) => number,
  ): void {
    const { time } = held.flown;
    pen.strokeStyle = pen.fillStyle = inkOf(held.number, this.palette);
    pen.lineWidth = 2;
    pen.setLineDash(dashOf(held.number));
    pen.beginPath();
    const { clientWidth: width, clientHeight: height } = pen.canvas;
    let end: [number, number] | null = null;
    for (let k = 0; k < time.length; k++) {
      if (!Number.isFinite(curve[k])) continue;
      const at: [number, number] = [x(time[k]), y(curve[k])];
      pen.lineTo(...at);
      if (at[0] > 0 && at[0] < width - 16 * held.number && at[1] > 14 && at[1] < height - 6) end = at;
    }
    pen.stroke();
    pen.setLineDash([]);
    if (!end) return;
    // The number stands at the last point in view, on paper, so that it is read over other curves.
    pen.font = "bold 12px system-ui, sans-serif";
    pen.fillRect(end[0] - 1, end[1] - 11, 12, 13);
    pen.fillStyle = this.palette.paper;
    pen.fillText(String(held.number), end[0] + 2, end[1]);
  }
}

export function curveFor(flown: Flown, key: string): Float32Array | null {
  if (flown.curves[key]) return flown.curves[key];
  const found = Object.entries(PLACES).find(([, keys]) => keys.includes(key));
  return found ? (flown.curves[found[0]] ?? null) : null;
}
