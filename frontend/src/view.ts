// The path in a plane, drawn on a canvas of our own: equal scales, clock ticks, a moving dot.

import type { Mark, Palette, PathView, Strips } from "./figure";
import { ringRadius } from "./paint";
import { Sight } from "./sight";
import { indexAt, valueAt } from "./times";
import { clock, printed } from "./words";

const MARGIN = { left: 58, right: 16, top: 14, bottom: 34 };

/** Heights of the path above the ground at some times, in the unit of the view's height. */
export interface Clearance {
  time: Float32Array;
  above: Float32Array;
}

const WORD = 54; // px, a clock time
const REACH = 2; // times the span of the heights within which the ground is brought into view

interface Window {
  low: [number, number];
  scale: [number, number];
}

const round = (span: number, parts: number): number => {
  const raw = span / parts;
  const power = 10 ** Math.floor(Math.log10(raw));
  return [1, 2, 5, 10].map((k) => k * power).find((k) => k >= raw)!;
};

export class PathChart {
  private readonly canvas: HTMLCanvasElement;
  private readonly dot: HTMLElement;
  private readonly sight: Sight;
  private from = 0;
  private to: number;
  private at = 0;
  private frame: Window = { low: [0, 0], scale: [1, 1] };
  private ground: Clearance | null = null;

  constructor(
    holder: HTMLElement,
    private view: PathView,
    private strips: Strips,
    private readonly palette: Palette,
  ) {
    this.canvas = holder.querySelector("canvas")!;
    this.dot = holder.querySelector(".dot")!;
    this.to = strips.time[strips.time.length - 1];
    this.sight = new Sight(holder, () => this.draw());
    new ResizeObserver(() => this.sight.ask()).observe(holder);
    this.sight.ask();
  }

  /** The same view with other points, such as more of them in the stretch that is seen. */
  replace(view: PathView, strips: Strips, at: number): void {
    [this.view, this.strips, this.at] = [view, strips, at];
    this.sight.ask();
  }

  /** Draw the ground as far below the path as it lies. */
  over(ground: Clearance | null): void {
    this.ground = ground;
    this.sight.ask();
  }

  /** The ground below a point of the path; NaN where it is not known. */
  private below(k: number): number {
    if (!this.ground) return NaN;
    return this.view.y[k] - valueAt(this.ground.time, this.ground.above, this.strips.time[k]);
  }

  zoomed(from: number, to: number): void {
    [this.from, this.to] = [from, to];
    this.sight.ask();
  }

  moved(at: number): void {
    this.at = at;
    const [x, y] = this.place(this.view.x[at], this.view.y[at]);
    const inside = x >= MARGIN.left - 1 && x <= this.canvas.clientWidth - MARGIN.right + 1;
    this.dot.style.visibility = inside ? "visible" : "hidden";
    this.dot.style.transform = `translate(${x - 6}px, ${y - 6}px)`;
  }

  private visible(): [number, number] {
    const { time } = this.strips;
    const first = Math.min(indexAt(time, this.from), time.length - 2);
    const after = indexAt(time, this.to);
    return [first, Math.max(first + 1, Math.min(time[after] < this.to ? after + 1 : after, time.length - 1))];
  }

  private measure(width: number, height: number): void {
    const [first, last] = this.visible();
    const box = [this.view.x, this.view.y].map((values) => {
      let low = Infinity;
      let high = -Infinity;
      for (let k = first; k <= last; k++) {
        low = Math.min(low, values[k]);
        high = Math.max(high, values[k]);
      }
      if (values === this.view.y) low = this.lowest(first, last, low, high);
      const margin = 0.07 * (high - low) || 0.05;
      return [low - margin, high + margin];
    });
    const room = [width - MARGIN.left - MARGIN.right, height - MARGIN.top - MARGIN.bottom];
    const scale = box.map(([low, high], k) => room[k] / (high - low)) as [number, number];
    if (this.view.equal) scale[0] = scale[1] = Math.min(...scale);
    const low = box.map(([a, b], k) => (a + b) / 2 - room[k] / scale[k] / 2) as [number, number];
    this.frame = { low, scale };
  }

  /** The lowest height to show: that of the ground where it is near. */
  private lowest(first: number, last: number, low: number, high: number): number {
    let ground = low;
    for (let k = first; k <= last; k++) {
      const below = this.below(k);
      if (below < ground) ground = below;
    }
    return low - ground < REACH * (high - low) ? ground : low;
  }

  private place(x: number, y: number): [number, number] {
    const { low, scale } = this.frame;
    return [
      MARGIN.left + (x - low[0]) * scale[0],
      this.canvas.clientHeight - MARGIN.bottom - (y - low[1]) * scale[1],
    ];
  }

  private draw(): void {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    const pen = this.canvas.getContext("2d");
    if (!pen || width === 0) return;
    this.canvas.width = width * devicePixelRatio;
    this.canvas.height = height * devicePixelRatio;
    pen.scale(devicePixelRatio, devicePixelRatio);
    this.measure(width, height);
    this.grid(pen, width, height);
    pen.save();
    pen.beginPath();
    pen.rect(MARGIN.left, MARGIN.top, width - MARGIN.left - MARGIN.right, height - MARGIN.top - MARGIN.bottom);
    pen.clip();
    this.floor(pen);
    this.paths(pen);
    this.fixes(pen);
    this.ticks(pen);
    this.marks(pen, this.strips.marks);
    pen.restore();
    if (this.view.equal) this.north(pen, width);
    this.moved(this.at);
  }

  private grid(pen: CanvasRenderingContext2D, width: number, height: number): void {
    const { low, scale } = this.frame;
    const right = width - MARGIN.right;
    const bottom = height - MARGIN.bottom;
    const spans = [(right - MARGIN.left) / scale[0], (bottom - MARGIN.top) / scale[1]];
    const step = spans.map((span) => round(span, 6));
    if (this.view.equal) step[0] = step[1] = Math.max(...step);
    pen.font = "11px system-ui, sans-serif";
    pen.strokeStyle = this.palette.grid;
    pen.fillStyle = this.palette.ink;
    pen.lineWidth = 1;
    const decimals = step.map((s) => Math.max(0, -Math.floor(Math.log10(s) + 1e-9)));
    pen.textAlign = "center";
    for (let k = Math.ceil(low[0] / step[0]); k * step[0] <= low[0] + spans[0]; k++) {
      const [x] = this.place(k * step[0], low[1]);
      pen.strokeRect(x, MARGIN.top, 0, bottom - MARGIN.top);
      pen.fillText(printed(k * step[0], decimals[0]), x, bottom + 14);
    }
    pen.textAlign = "right";
    for (let k = Math.ceil(low[1] / step[1]); k * step[1] <= low[1] + spans[1]; k++) {
      const [, y] = this.place(low[0], k * step[1]);
      pen.strokeRect(MARGIN.left, y, right - MARGIN.left, 0);
      pen.fillText(printed(k * step[1], decimals[1]), MARGIN.left - 5, y + 4);
    }
    pen.strokeStyle = this.palette.quiet;
    pen.strokeRect(MARGIN.left, MARGIN.top, right - MARGIN.left, bottom - MARGIN.top);
    pen.textAlign = "right";
    pen.fillText(this.view.equal ? `${this.view.x_unit} east` : `${this.view.x_unit} flown`, right, height - 5);
    pen.textAlign = "left";
    pen.fillText(this.view.equal ? `${this.view.y_unit} north` : this.view.y_unit, 2, 11);
  }

  private line(pen: CanvasRenderingContext2D, xs: Float32Array, ys: Float32Array): void {
    const [first, last] = this.visible();
    pen.beginPath();
    for (let k = first; k <= last; k++) pen.lineTo(...this.place(xs[k], ys[k]));
    pen.stroke();
  }

  private floor(pen: CanvasRenderingContext2D): void {
    if (!this.ground) return;
    const [first, last] = this.visible();
    pen.strokeStyle = this.palette.quiet;
    pen.lineWidth = 1.4;
    pen.beginPath();
    let drawn: [number, number] | null = null;
    for (let k = first; k <= last; k++) {
      const y = this.below(k);
      const at = this.place(this.view.x[k], y);
      if (Number.isFinite(y)) pen[drawn ? "lineTo" : "moveTo"](...at);
      drawn = Number.isFinite(y) ? at : null;
    }
    pen.stroke();
    if (!drawn) return;
    pen.font = "11px system-ui, sans-serif";
    pen.fillStyle = this.palette.quiet;
    pen.textAlign = "right";
    pen.fillText("ground", drawn[0] - 4, drawn[1] - 8);
  }

  private paths(pen: CanvasRenderingContext2D): void {
    pen.lineWidth = 1;
    pen.strokeStyle = this.palette.band50;
    this.view.sample_x.forEach((xs, k) => this.line(pen, xs, this.view.sample_y[k]));
    pen.lineWidth = 1.8;
    pen.strokeStyle = this.palette.inks[0];
    this.line(pen, this.view.x, this.view.y);
  }

  private fixes(pen: CanvasRenderingContext2D): void {
    pen.strokeStyle = this.palette.ink;
    pen.lineWidth = 0.8;
    const { reading_time, reading_x, reading_y } = this.view;
    const seen = reading_time.filter((time) => time >= this.from && time <= this.to).length;
    const radius = ringRadius(this.canvas.clientWidth, seen);
    for (let k = 0; k < reading_time.length; k++) {
      if (reading_time[k] < this.from || reading_time[k] > this.to) continue;
      pen.beginPath();
      pen.arc(...this.place(reading_x[k], reading_y[k]), radius, 0, 2 * Math.PI);
      pen.stroke();
    }
  }

  private index(time: number): number {
    const { time: times } = this.strips;
    const at = indexAt(times, time);
    return times[at] < time ? Math.min(at + 1, times.length - 1) : at;
  }

  /** Whether a clock time stands to the left of its point: beside a path that rises to the right. */
  private leftwards(time: number, step: number, x: number): boolean {
    const [before, after] = [-step / 4, step / 4].map((shift) => {
      const at = this.index(time + shift);
      return this.place(this.view.x[at], this.view.y[at]);
    });
    const rises = (after[0] - before[0]) * (after[1] - before[1]) < -1;
    if (this.canvas.clientWidth - MARGIN.right - x < 64) return true;
    return rises && x - MARGIN.left > 64;
  }

  private ticks(pen: CanvasRenderingContext2D): void {
    const span = this.to - this.from;
    const step = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800, 3600].find((s) => span / s <= 9) ?? 7200;
    pen.fillStyle = this.palette.inks[0];
    pen.font = "11px system-ui, sans-serif";
    pen.textAlign = "left";
    const { start } = this.strips;
    let said = [-1e9, -1e9];
    for (let k = Math.ceil((this.from + start) / step); k * step - start <= this.to; k++) {
      const at = this.index(k * step - start);
      const [x, y] = this.place(this.view.x[at], this.view.y[at]);
      pen.beginPath();
      pen.arc(x, y, 3.2, 0, 2 * Math.PI);
      pen.fill();
      const left = this.leftwards(k * step - start, step, x);
      const from = x + (left ? -7 - WORD : 7);
      if (Math.abs(from - said[0]) < WORD + 4 && Math.abs(y - said[1]) < 14) continue;
      said = [from, y];
      pen.textAlign = left ? "right" : "left";
      pen.fillText(clock(k * step), x + (left ? -7 : 7), y - 6);
    }
  }

  private marks(pen: CanvasRenderingContext2D, marks: Mark[]): void {
    pen.font = "bold 10px sans-serif";
    pen.textAlign = "center";
    for (const mark of marks) {
      if (mark.time < this.from || mark.time > this.to) continue;
      const at = this.index(mark.time);
      const [x, y] = this.place(this.view.x[at], this.view.y[at]);
      pen.fillStyle = this.palette.event;
      pen.fillRect(x - 7, y + 5, 14, 14);
      pen.fillStyle = this.palette.paper;
      pen.fillText(String(mark.number), x, y + 16);
    }
  }

  private north(pen: CanvasRenderingContext2D, width: number): void {
    const x = width - MARGIN.right - 16;
    pen.fillStyle = this.palette.ink;
    pen.beginPath();
    pen.moveTo(x, MARGIN.top + 8);
    pen.lineTo(x - 5, MARGIN.top + 24);
    pen.lineTo(x + 5, MARGIN.top + 24);
    pen.fill();
    pen.font = "bold 12px system-ui, sans-serif";
    pen.textAlign = "center";
    pen.fillText("N", x, MARGIN.top + 38);
  }
}
