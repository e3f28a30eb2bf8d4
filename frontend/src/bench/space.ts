// The path in space on a canvas of our own: parallel projection, turned by drag or keys.

import type { Palette } from "../figure";
import { Sight } from "../sight";
import { clock, printed } from "../words";
import { indexAt } from "../times";
import type { Space, Surroundings } from "./types";

const NAUTICAL_MILE = 1852; // m, international definition
export const FOOT = 0.3048; // m, international definition
const KNOT = NAUTICAL_MILE / 3600; // m/s
const NET = 4; // posts of the ground from line to line
const TURN = 0.08; // rad, one press of an arrow key
const DEGREE = Math.PI / 180;

type Point = [number, number, number];

/** Angles of the airplane at a time, degrees; null where one is not observable. */
export type AttitudeAt = (time: number) => { course: number; pitch: number; bank: number } | null;

// The airplane as three strokes, in its own axes: forward, right, down; of half its length.
const STROKES: [Point, Point][] = [
  [[-1, 0, 0], [1, 0, 0]],
  [[0.15, -1, 0], [0.15, 1, 0]],
  [[-0.9, 0, 0], [-0.9, 0, -0.45]],
];
const GLYPH = 26; // px, half its length

const rounded = (span: number, parts: number): number => {
  const power = 10 ** Math.floor(Math.log10(span / parts));
  return [1, 2, 5, 10].map((k) => k * power).find((k) => k >= span / parts)!;
};

function extent(curves: Float32Array[], first: number, last: number): [number, number] {
  let low = Infinity;
  let high = -Infinity;
  for (const curve of curves) {
    for (let k = first; k <= last; k++) {
      if (!Number.isFinite(curve[k])) continue;
      low = Math.min(low, curve[k]);
      high = Math.max(high, curve[k]);
    }
  }
  return [low, high];
}

/** A point in the airplane's axes as east, north and up. Source: rotations about z, y, x, in this order. */
function turned([forward, right, down]: Point, angles: { course: number; pitch: number; bank: number }): Point {
  const [course, pitch, bank] = [angles.course, angles.pitch, angles.bank].map((angle) => angle * DEGREE);
  const [y, z] = [right * Math.cos(bank) - down * Math.sin(bank), right * Math.sin(bank) + down * Math.cos(bank)];
  const [x, below] = [forward * Math.cos(pitch) + z * Math.sin(pitch), -forward * Math.sin(pitch) + z * Math.cos(pitch)];
  const [north, east] = [x * Math.cos(course) - y * Math.sin(course), x * Math.sin(course) + y * Math.cos(course)];
  return [east, north, -below];
}

export class SpaceView {
  private readonly canvas: HTMLCanvasElement;
  private readonly dot: HTMLElement;
  private turn = -0.6;
  private tilt = 0.42;
  private lift = 1;
  private first = 0;
  private last: number;
  private at = 0;
  private box: [Point, Point] = [[0, 0, 0], [1, 1, 1]];
  private scale = 1;
  private centre: [number, number] = [0, 0];
  private waiting = false;
  private readonly sight: Sight;
  private space: Space;
  private view: [number, number] = [0, 0];
  private around: Surroundings | null = null;
  /** How much nearer than the whole box. */
  private nearer = 1;
  private followed = 0;
  private readonly glyph = document.createElement("canvas");

  constructor(
    holder: HTMLElement,
    private readonly told: HTMLElement,
    private whole: Space,
    private start: number,
    private palette: Palette,
    private readonly attitude: AttitudeAt = () => null,
  ) {
    this.canvas = holder.querySelector("canvas")!;
    this.dot = holder.querySelector(".dot")!;
    this.glyph.className = "glyph";
    this.glyph.setAttribute("aria-hidden", "true");
    this.dot.before(this.glyph);
    this.space = whole;
    this.last = whole.time.length - 1;
    this.wire();
    this.sight = new Sight(holder, () => this.draw());
    new ResizeObserver(() => this.soon()).observe(holder);
    this.zoomed(whole.time[0], whole.time[this.last]);
  }

  /** Other results, in the stretch that was in view where they reach it. */
  renew(whole: Space, start: number, palette: Palette): void {
    this.palette = palette;
    const { time } = whole;
    const shift = this.start - start;
    const [from, to] = this.view.map((end) => end + shift);
    const inside = from < time[time.length - 1] && to > time[0];
    [this.whole, this.space, this.start, this.at] = [whole, whole, start, 0];
    this.zoomed(inside ? from : time[0], inside ? to : time[time.length - 1]);
  }

  /** More points of the stretch in view, and some of it to each side. */
  refine(fine: Space): void {
    const { time } = this.space;
    const [from, to, at] = [...this.view, time[this.at]];
    this.space = fine;
    this.at = indexAt(fine.time, at);
    this.zoomed(from, to);
  }

  private wire(): void {
    const { canvas } = this;
    canvas.addEventListener("pointerdown", (event) => canvas.setPointerCapture(event.pointerId));
    canvas.addEventListener("pointermove", (event) => {
      if (event.buttons & 1) this.rotate(event.movementX * 0.008, event.movementY * 0.006);
    });
    canvas.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !event.shiftKey) return; // a plain wheel scrolls the page
      event.preventDefault();
      this.approach(Math.exp(-(event.deltaY || event.deltaX) * 0.002));
    }, { passive: false });
    canvas.addEventListener("keydown", (event) => {
      const turns: Record<string, [number, number]> = {
        ArrowLeft: [-TURN, 0], ArrowRight: [TURN, 0], ArrowUp: [0, TURN], ArrowDown: [0, -TURN],
      };
      const lifts: Record<string, number> = { "+": 1.25, "=": 1.25, "-": 0.8 };
      if (event.key in turns) this.rotate(...turns[event.key]);
      else if (event.key in lifts) this.stretchUp(lifts[event.key]);
      else if (event.key === "PageUp" || event.key === "PageDown") this.approach(event.key === "PageUp" ? 1.25 : 0.8);
      else return;
      event.preventDefault();
    });
  }

  /** The ground around the path, and the wind along it. */
  surround(around: Surroundings): void {
    this.around = around;
    this.soon();
  }

  private approach(factor: number): void {
    this.nearer = Math.min(Math.max(this.nearer * factor, 0.5), 20);
    this.soon();
  }

  private rotate(turn: number, tilt: number): void {
    this.turn += turn;
    this.tilt = Math.min(Math.max(this.tilt + tilt, 0), Math.PI / 2);
    this.soon();
  }

  private stretchUp(factor: number): void {
    this.lift = Math.min(Math.max(this.lift * factor, 0.1), 50);
    this.soon();
  }

  /** Show this stretch, seconds after the start; heights are stretched so that they can be read. */
  zoomed(from: number, to: number): void {
    this.view = [from, to];
    this.cover(from, to);
    const { time, x, y, z, low, high } = this.space;
    this.first = indexAt(time, from);
    this.last = Math.max(indexAt(time, to), Math.min(this.first + 1, time.length - 1));
    const [first, last] = [this.first, this.last];
    const [east, north] = [extent([x], first, last), extent([y], first, last)];
    const height = extent([z, low, high], first, last);
    const span = Math.max(east[1] - east[0], north[1] - north[0], 100);
    const ground = this.ground();
    const base = height[0] - ground < 2 * (height[1] - height[0]) ? ground : height[0];
    const pad = 0.06 * span;
    this.box = [
      [east[0] - pad, north[0] - pad, base],
      [east[1] + pad, north[1] + pad, Math.max(height[1], base + 1)],
    ];
    const natural = (0.4 * span) / (this.box[1][2] - base);
    this.lift = natural <= 1.2 ? 1 : Math.round(natural * 2) / 2;
    this.soon();
  }

  /** Points of a stretch that does not hold what is in view give way to those of the whole. */
  private cover(from: number, to: number): void {
    const { time } = this.space;
    if (this.space === this.whole || (from >= time[0] - 0.01 && to <= time[time.length - 1] + 0.01)) return;
    this.at = indexAt(this.whole.time, time[this.at]);
    this.space = this.whole;
  }

  private groundWords(): string {
    if (this.space.ground === null) return "a plane below the path, ground not known";
    return this.ground() < this.box[0][2] - 1 ? "a plane below the path, the ground lies deeper than is drawn" : "the ground";
  }

  private ground(): number {
    const { ground } = this.space;
    if (ground === null || typeof ground === "number") return ground ?? -Infinity;
    const known = ground.subarray(this.first, this.last + 1).filter(Number.isFinite);
    return known.length ? Math.min(...known) : -Infinity;
  }

  /** Height of the ground below a point of the path; the ground plane where it is not known. */
  private below(k: number): number {
    const { ground } = this.space;
    const known = ground instanceof Float32Array ? ground[k] : NaN;
    return Number.isFinite(known) ? Math.max(known, this.box[0][2]) : this.box[0][2];
  }

  moved(time: number): void {
    this.at = indexAt(this.space.time, time);
    const { x, y, z } = this.space;
    const seen = this.at >= this.first && this.at <= this.last;
    const [px, py] = this.place([x[this.at], y[this.at], z[this.at]]);
    this.dot.style.visibility = seen ? "visible" : "hidden";
    this.dot.style.transform = `translate(${px - 6}px, ${py - 6}px)`;
    this.glyph.style.visibility = seen ? "visible" : "hidden";
    if (seen) this.airplane(time, px, py);
    if (this.nearer > 1 && this.at !== this.followed) this.soon();
  }

  /** The airplane at the cursor, in its attitude: much larger than it is, its angles true. */
  private airplane(time: number, px: number, py: number): void {
    const size = 2 * GLYPH + 8;
    this.glyph.style.transform = `translate(${px - size / 2}px, ${py - size / 2}px)`;
    [this.glyph.width, this.glyph.height] = [size * devicePixelRatio, size * devicePixelRatio];
    const pen = this.glyph.getContext("2d");
    const seen = this.attitude(time);
    if (!pen || !seen) return;
    pen.scale(devicePixelRatio, devicePixelRatio);
    const flat = (point: Point): [number, number] => {
      const [east, north, up] = turned(point, seen);
      const depth = east * Math.sin(this.turn) + north * Math.cos(this.turn);
      const across = east * Math.cos(this.turn) - north * Math.sin(this.turn);
      return [size / 2 + GLYPH * across, size / 2 - GLYPH * (depth * Math.sin(this.tilt) + up * Math.cos(this.tilt))];
    };
    for (const [width, ink] of [[6, this.palette.paper], [2.6, this.palette.limit]] as const) {
      pen.lineWidth = width;
      pen.strokeStyle = ink;
      pen.lineCap = "round";
      for (const [from, to] of STROKES) {
        pen.beginPath();
        pen.moveTo(...flat(from));
        pen.lineTo(...flat(to));
        pen.stroke();
      }
    }
  }

  /** Draw once before the next frame, however many asked. */
  private soon(): void {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.sight.ask();
    });
  }

  private flat([x, y, z]: Point): [number, number] {
    const [low, high] = this.box;
    const [dx, dy] = [x - (low[0] + high[0]) / 2, y - (low[1] + high[1]) / 2];
    const depth = dx * Math.sin(this.turn) + dy * Math.cos(this.turn);
    const across = dx * Math.cos(this.turn) - dy * Math.sin(this.turn);
    const up = (z - low[2]) * this.lift;
    return [across, depth * Math.sin(this.tilt) + up * Math.cos(this.tilt)];
  }

  private place(point: Point): [number, number] {
    const [across, up] = this.flat(point);
    return [
      this.canvas.clientWidth / 2 + (across - this.centre[0]) * this.scale,
      this.canvas.clientHeight / 2 - (up - this.centre[1]) * this.scale,
    ];
  }

  private corners(): Point[] {
    const [low, high] = this.box;
    return [0, 1, 2, 3, 4, 5, 6, 7].map((k) => [
      k & 1 ? high[0] : low[0],
      k & 2 ? high[1] : low[1],
      k & 4 ? high[2] : low[2],
    ]);
  }

  private measure(width: number, height: number): void {
    const flat = this.corners().map((corner) => this.flat(corner));
    const [xs, ys] = [flat.map((p) => p[0]), flat.map((p) => p[1])];
    const [left, right] = [Math.min(...xs), Math.max(...xs)];
    const [bottom, top] = [Math.min(...ys), Math.max(...ys)];
    this.centre = [(left + right) / 2, (bottom + top) / 2];
    this.scale = this.nearer * Math.min((width - 150) / (right - left), (height - 70) / Math.max(top - bottom, 1));
    // Nearer than the whole, the view stays with the airplane.
    const { x, y, z } = this.space;
    if (this.nearer > 1) this.centre = this.flat([x[this.at], y[this.at], z[this.at]]);
  }

  private draw(): void {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    const pen = this.canvas.getContext("2d");
    if (!pen || width === 0) return;
    this.canvas.width = width * devicePixelRatio;
    this.canvas.height = height * devicePixelRatio;
    pen.scale(devicePixelRatio, devicePixelRatio);
    this.followed = this.at;
    this.measure(width, height);
    pen.font = "11px system-ui, sans-serif";
    this.floor(pen);
    this.hills(pen);
    this.post(pen);
    this.wind(pen, width);
    this.ribbon(pen);
    this.lines(pen);
    this.times(pen);
    this.moved(this.space.time[this.at]);
    const course = (((this.turn / DEGREE) % 360) + 360) % 360;
    this.told.textContent =
      `Looking toward ${printed(course, 0)}\u00b0 true, ${printed(this.tilt / DEGREE, 0)}\u00b0 from above; ` +
      `heights drawn ${printed(this.lift, 1)} times as large as distances. ` +
      `The band is the 90% band of height; the gray line lies on ${this.groundWords()}.`;
  }

  private stroke(pen: CanvasRenderingContext2D, points: Point[]): void {
    pen.beginPath();
    for (const point of points) pen.lineTo(...this.place(point));
    pen.stroke();
  }

  /** The ground plane with its scale in nautical miles. */
  private floor(pen: CanvasRenderingContext2D): void {
    const [low, high] = this.box;
    const span = Math.max(high[0] - low[0], high[1] - low[1]) / NAUTICAL_MILE;
    const step = rounded(span, 6) * NAUTICAL_MILE;
    const decimals = Math.max(0, -Math.floor(Math.log10(step / NAUTICAL_MILE) + 1e-9));
    pen.lineWidth = 1;
    pen.strokeStyle = this.palette.grid;
    pen.fillStyle = this.palette.quiet;
    pen.textAlign = "center";
    const near = Math.cos(this.turn) > 0 ? low[1] : high[1];
    const side = Math.sin(this.turn) > 0 ? low[0] : high[0];
    for (let x = Math.ceil(low[0] / step) * step; x <= high[0]; x += step) {
      this.stroke(pen, [[x, low[1], low[2]], [x, high[1], low[2]]]);
      this.outside(pen, [x, near, low[2]], 14, printed(x / NAUTICAL_MILE, decimals));
    }
    for (let y = Math.ceil(low[1] / step) * step; y <= high[1]; y += step) {
      this.stroke(pen, [[low[0], y, low[2]], [high[0], y, low[2]]]);
      this.outside(pen, [side, y, low[2]], 14, printed(y / NAUTICAL_MILE, decimals));
    }
    pen.font = "bold 11px system-ui, sans-serif";
    pen.fillStyle = this.palette.ink;
    this.outside(pen, [(low[0] + high[0]) / 2, near, low[2]], 58, "east, NM");
    this.outside(pen, [side, (low[1] + high[1]) / 2, low[2]], 58, "north, NM");
    pen.font = "11px system-ui, sans-serif";
    pen.strokeStyle = this.palette.quiet;
    this.stroke(pen, [0, 1, 3, 2, 0].map((k) => this.corners()[k]));
  }

  /** The ground as a net, where the case holds its heights: every few posts, inside the box. */
  private hills(pen: CanvasRenderingContext2D): void {
    const grid = this.around?.ground;
    if (!grid) return;
    const { count, west, east, south, north, height } = grid;
    const [low, high] = this.box;
    const post = (row: number, column: number): Point => [
      west + ((east - west) * column) / (count - 1), south + ((north - south) * row) / (count - 1), height[row * count + column],
    ];
    const inside = ([x, y, z]: Point): boolean => x >= low[0] && x <= high[0] && y >= low[1] && y <= high[1] && Number.isFinite(z);
    pen.lineWidth = 0.8;
    pen.strokeStyle = this.palette.hatch;
    for (let k = 0; k < count; k += NET) {
      for (const along of [(j: number) => post(k, j), (j: number) => post(j, k)]) {
        const points = Array.from({ length: count }, (_, j) => along(j)).filter(inside);
        this.stroke(pen, points.map(([x, y, z]) => [x, y, Math.max(z, low[2])]));
      }
    }
  }

  /** The wind at the cursor, as it blows over the ground plane. */
  private wind(pen: CanvasRenderingContext2D, width: number): void {
    const wind = this.around?.wind;
    if (!wind) return;
    const k = indexAt(wind.time, this.space.time[this.at]);
    const speed = Math.hypot(wind.east[k], wind.north[k]);
    if (!(speed > 0)) return;
    const [east, north] = [wind.east[k] / speed, wind.north[k] / speed];
    const across = east * Math.cos(this.turn) - north * Math.sin(this.turn);
    const deep = (east * Math.sin(this.turn) + north * Math.cos(this.turn)) * Math.max(Math.sin(this.tilt), 0.15);
    const [x, y, long] = [width - 60, 44, 26];
    const tip: [number, number] = [x + long * across, y - long * deep];
    pen.strokeStyle = pen.fillStyle = this.palette.event;
    pen.lineWidth = 2.2;
    const arrow = (points: [number, number][]): void => {
      pen.beginPath();
      for (const point of points) pen.lineTo(...point);
      pen.stroke();
    };
    const far = Math.hypot(across, deep) || 1;
    const [ux, uy] = [across / far, -deep / far];
    arrow([[x - long * across, y + long * deep], tip]);
    arrow([[tip[0] - 8 * ux - 5 * uy, tip[1] - 8 * uy + 5 * ux], tip, [tip[0] - 8 * ux + 5 * uy, tip[1] - 8 * uy - 5 * ux]]);
    pen.textAlign = "center";
    pen.fillText(`wind ${printed(speed / KNOT, 0)} kt`, x, y + 42);
  }

  /** A word beside an edge of the ground plane, away from its middle. */
  private outside(pen: CanvasRenderingContext2D, point: Point, away: number, said: string): void {
    const [low, high] = this.box;
    const [px, py] = this.place(point);
    const [mx, my] = this.place([(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, low[2]]);
    const far = Math.hypot(px - mx, py - my) || 1;
    pen.fillText(said, px + (away * (px - mx)) / far, py + (away * Math.max(py - my, 0.35 * far)) / far + 4);
  }

  /** The height scale at the corner that stands farthest left. */
  private post(pen: CanvasRenderingContext2D): void {
    const [low, high] = this.box;
    const [x, y] = this.corners().slice(0, 4).sort((a, b) => this.flat(a)[0] - this.flat(b)[0])[0];
    const step = rounded((high[2] - low[2]) / FOOT, 5) * FOOT;
    pen.strokeStyle = this.palette.quiet;
    this.stroke(pen, [[x, y, low[2]], [x, y, high[2]]]);
    pen.textAlign = "right";
    pen.fillStyle = this.palette.ink;
    for (let z = Math.ceil(low[2] / step) * step; z <= high[2]; z += step) {
      const [px, py] = this.place([x, y, z]);
      pen.strokeRect(px - 4, py, 4, 0);
      pen.fillText(printed(z / FOOT, 0), px - 7, py + 4);
    }
    const [px, py] = this.place([x, y, high[2]]);
    pen.fillText("height, ft", px + 10, py - 9);
  }

  private ribbon(pen: CanvasRenderingContext2D): void {
    const { x, y, low, high } = this.space;
    pen.fillStyle = this.palette.band90;
    pen.beginPath();
    for (let k = this.first; k <= this.last; k++) pen.lineTo(...this.place([x[k], y[k], high[k]]));
    for (let k = this.last; k >= this.first; k--) pen.lineTo(...this.place([x[k], y[k], low[k]]));
    pen.fill();
  }

  private lines(pen: CanvasRenderingContext2D): void {
    const { x, y, z } = this.space;
    const path: Point[] = [];
    for (let k = this.first; k <= this.last; k++) path.push([x[k], y[k], z[k]]);
    pen.strokeStyle = this.palette.hatch;
    pen.lineWidth = 1;
    this.stroke(pen, path.map(([px, py], k) => [px, py, this.below(this.first + k)]));
    pen.strokeStyle = this.palette.inks[0];
    pen.lineWidth = 1.9;
    this.stroke(pen, path);
  }

  /** Clock times along the path, each with a post down to the ground plane. */
  private times(pen: CanvasRenderingContext2D): void {
    const { time, x, y, z } = this.space;
    const [from, to] = [time[this.first], time[this.last]];
    const step = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800, 3600].find((s) => (to - from) / s <= 9) ?? 7200;
    pen.textAlign = "left";
    let said: [number, number] = [-1e9, -1e9];
    for (let k = Math.ceil((from + this.start) / step); k * step - this.start <= to; k++) {
      const at = indexAt(time, k * step - this.start);
      const top = this.place([x[at], y[at], z[at]]);
      pen.strokeStyle = this.palette.hatch;
      pen.lineWidth = 0.8;
      this.stroke(pen, [[x[at], y[at], this.below(at)], [x[at], y[at], z[at]]]);
      pen.fillStyle = this.palette.inks[0];
      pen.beginPath();
      pen.arc(top[0], top[1], 3, 0, 2 * Math.PI);
      pen.fill();
      if (Math.abs(top[0] - said[0]) < 56 && Math.abs(top[1] - said[1]) < 14) continue;
      said = top;
      pen.fillText(clock(k * step), top[0] + 6, top[1] - 6);
    }
  }
}
