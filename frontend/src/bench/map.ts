// The map of the path without a network: coast, borders, airfields, ground and wind, on one canvas.

import type { Palette } from "../figure";
import { Sight } from "../sight";
import { indexAt } from "../times";
import { printed } from "../words";
import { shaded } from "./shading";
import type { Space, Surroundings } from "./types";

const NAUTICAL_MILE = 1852; // m, international definition
const KNOT = NAUTICAL_MILE / 3600; // m/s
const LEAST = 200; // m, half of the shorter side when zoomed in most
const MOST = 1_500_000; // m, when zoomed out most
const NEAR = 60; // px between the codes of two airfields
const WATER = [4, 8]; // px off the coast, of the lines that show the sea
const ROUND = [1, 2, 5, 10];

type Spot = [number, number];

const rounded = (span: number): number => {
  const power = 10 ** Math.floor(Math.log10(span));
  return [...ROUND].reverse().map((k) => k * power).find((k) => k <= span) ?? power;
};

export class MapView {
  private readonly canvas: HTMLCanvasElement;
  private readonly dot: HTMLElement;
  private middle: Spot = [0, 0];
  /** Meters from the middle to the nearer edge. */
  private half = 10_000;
  private at = 0;
  /** The wind that the arrow shows. */
  private blown: Spot = [0, 0];
  private waiting = false;
  private relief: HTMLCanvasElement | null = null;
  private around: Surroundings | null = null;
  private readonly sight: Sight;

  constructor(
    holder: HTMLElement,
    private readonly told: HTMLElement,
    private path: Space,
    private palette: Palette,
  ) {
    this.canvas = holder.querySelector("canvas")!;
    this.dot = holder.querySelector(".dot")!;
    this.sight = new Sight(holder, () => this.draw());
    new ResizeObserver(() => this.soon()).observe(holder);
    this.wire(holder);
    this.fit(0, path.time.length - 1);
  }

  renew(path: Space, palette: Palette): void {
    [this.path, this.palette] = [path, palette];
    this.at = Math.min(this.at, path.time.length - 1);
    this.fit(0, path.time.length - 1);
  }

  surround(around: Surroundings): void {
    this.around = around;
    this.relief = around.ground && shaded(around.ground, this.palette);
    this.soon();
  }

  /** Show this stretch of the path. */
  zoomed(from: number, to: number): void {
    const { time } = this.path;
    this.fit(indexAt(time, from), indexAt(time, to));
  }

  moved(time: number): void {
    this.at = indexAt(this.path.time, time);
    const [x, y] = this.spot([this.path.x[this.at], this.path.y[this.at]]);
    this.dot.style.transform = `translate(${x - 6}px, ${y - 6}px)`;
    const inside = x > 0 && y > 0 && x < this.canvas.clientWidth && y < this.canvas.clientHeight;
    this.dot.style.visibility = inside ? "visible" : "hidden";
    this.say();
    const now = this.windNow();
    if (now && Math.hypot(now.east - this.blown[0], now.north - this.blown[1]) > KNOT) this.soon();
  }

  private fit(first: number, last: number): void {
    const reach = (curve: Float32Array): Spot => {
      const some = curve.subarray(first, Math.max(last, first + 1) + 1).filter(Number.isFinite);
      return [Math.min(...some), Math.max(...some)];
    };
    const [x, y] = [reach(this.path.x), reach(this.path.y)];
    this.middle = [(x[0] + x[1]) / 2, (y[0] + y[1]) / 2];
    const wide = Math.max(this.canvas.clientWidth / Math.max(this.canvas.clientHeight, 1), 0.5);
    this.zoom(Math.max(0.62 * (y[1] - y[0]), (0.62 * (x[1] - x[0])) / wide, 500) / this.half);
  }

  private zoom(factor: number, held: Spot = this.middle): void {
    const before = this.half;
    this.half = Math.min(Math.max(this.half * factor, LEAST), MOST);
    const kept = this.half / before;
    this.middle = [0, 1].map((k) => held[k] + (this.middle[k] - held[k]) * kept) as Spot;
    this.soon();
  }

  private pan(right: number, down: number): void {
    this.middle = [this.middle[0] + right / this.scale, this.middle[1] - down / this.scale];
    this.soon();
  }

  private wire(holder: HTMLElement): void {
    const { canvas } = this;
    canvas.addEventListener("pointerdown", (event) => canvas.setPointerCapture(event.pointerId));
    canvas.addEventListener("pointermove", (event) => {
      if (event.buttons & 1) this.pan(-event.movementX, -event.movementY);
    });
    canvas.addEventListener("wheel", (event) => {
      if (!event.ctrlKey && !event.shiftKey) return; // a plain wheel scrolls the page
      event.preventDefault();
      const { left, top } = canvas.getBoundingClientRect();
      this.zoom(Math.exp((event.deltaY || event.deltaX) * 0.002), this.place([event.clientX - left, event.clientY - top]));
    }, { passive: false });
    const acts: Record<string, () => void> = {
      ArrowLeft: () => this.pan(-60, 0), ArrowRight: () => this.pan(60, 0), ArrowUp: () => this.pan(0, -60), ArrowDown: () => this.pan(0, 60),
      "+": () => this.zoom(0.7), "=": () => this.zoom(0.7), "-": () => this.zoom(1 / 0.7), "0": () => this.fit(0, this.path.time.length - 1),
    };
    canvas.addEventListener("keydown", (event) => {
      if (event.ctrlKey || event.metaKey || !(event.key in acts)) return;
      event.preventDefault();
      acts[event.key]();
    });
    for (const one of holder.querySelectorAll<HTMLButtonElement>("[data-zoom]")) {
      one.addEventListener("click", () => acts[one.dataset.zoom!]());
    }
  }

  private get scale(): number {
    return Math.min(this.canvas.clientHeight, this.canvas.clientWidth * 2) / (2 * this.half);
  }

  private spot([x, y]: Spot): Spot {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    return [width / 2 + (x - this.middle[0]) * this.scale, height / 2 - (y - this.middle[1]) * this.scale];
  }

  private place([px, py]: Spot): Spot {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    return [this.middle[0] + (px - width / 2) / this.scale, this.middle[1] - (py - height / 2) / this.scale];
  }

  private soon(): void {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.sight.ask();
    });
  }

  private draw(): void {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    const pen = this.canvas.getContext("2d");
    if (!pen || width === 0) return;
    [this.canvas.width, this.canvas.height] = [width * devicePixelRatio, height * devicePixelRatio];
    pen.scale(devicePixelRatio, devicePixelRatio);
    pen.font = "11px system-ui, sans-serif";
    this.ground(pen);
    this.lines(pen);
    this.fields(pen);
    this.flown(pen);
    this.bar(pen, height);
    this.wind(pen, width);
    this.moved(this.path.time[this.at]);
  }

  private ground(pen: CanvasRenderingContext2D): void {
    const ground = this.around?.ground;
    if (!ground || !this.relief) return;
    const [left, top] = this.spot([ground.west, ground.north]);
    const [right, bottom] = this.spot([ground.east, ground.south]);
    pen.imageSmoothingEnabled = true;
    pen.drawImage(this.relief, left, top, right - left, bottom - top);
  }

  /** Borders dashed; the coast with lines off it to the sea, which lies to its left. */
  private lines(pen: CanvasRenderingContext2D): void {
    for (const { border, x, y } of this.around?.lines ?? []) {
      const spots = Array.from(x, (one, k) => this.spot([one, y[k]]));
      pen.setLineDash(border ? [6, 4] : []);
      pen.strokeStyle = border ? this.palette.quiet : this.palette.ink;
      pen.lineWidth = border ? 1 : 1.3;
      this.run(pen, spots);
      if (border) continue;
      pen.lineWidth = 0.7;
      pen.strokeStyle = this.palette.edge;
      for (const off of WATER) this.run(pen, beside(spots, off));
    }
    pen.setLineDash([]);
  }

  private run(pen: CanvasRenderingContext2D, spots: Spot[]): void {
    pen.beginPath();
    for (const spot of spots) pen.lineTo(...spot);
    pen.stroke();
  }

  private fields(pen: CanvasRenderingContext2D): void {
    const named: Spot[] = [];
    pen.textAlign = "left";
    for (const { code, x, y } of this.around?.fields ?? []) {
      const [px, py] = this.spot([x, y]);
      if (px < 0 || py < 0 || px > this.canvas.clientWidth || py > this.canvas.clientHeight) continue;
      pen.strokeStyle = pen.fillStyle = this.palette.quiet;
      pen.lineWidth = 1.2;
      pen.beginPath();
      pen.arc(px, py, 3.2, 0, 2 * Math.PI);
      pen.stroke();
      if (named.some(([nx, ny]) => Math.abs(nx - px) < NEAR && Math.abs(ny - py) < 14)) continue;
      named.push([px, py]);
      pen.fillText(code, px + 6, py + 4);
    }
  }

  private flown(pen: CanvasRenderingContext2D): void {
    const { x, y } = this.path;
    const spots = Array.from(x, (one, k) => this.spot([one, y[k]]));
    pen.lineJoin = "round";
    for (const [width, ink] of [[5, this.palette.paper], [2.2, this.palette.inks[0]]] as const) {
      [pen.lineWidth, pen.strokeStyle] = [width, ink];
      this.run(pen, spots);
    }
    pen.fillStyle = this.palette.inks[0];
    pen.fillRect(spots[0][0] - 3, spots[0][1] - 3, 6, 6);
  }

  private bar(pen: CanvasRenderingContext2D, height: number): void {
    const length = rounded(140 / this.scale / NAUTICAL_MILE);
    const long = length * NAUTICAL_MILE * this.scale;
    const decimals = Math.max(0, -Math.floor(Math.log10(length) + 1e-9));
    pen.lineWidth = 2;
    pen.strokeStyle = pen.fillStyle = this.palette.ink;
    this.run(pen, [[14, height - 22], [14, height - 16], [14 + long, height - 16], [14 + long, height - 22]]);
    pen.textAlign = "left";
    pen.fillText(`${printed(length, decimals)} NM`, 18 + long, height - 14);
    pen.textAlign = "center";
    pen.fillText("N", 24, 18);
    this.run(pen, [[24, 44], [24, 22], [19, 30], [24, 22], [29, 30]]);
  }

  private windNow(): { east: number; north: number; error: number } | null {
    const wind = this.around?.wind;
    if (!wind) return null;
    const k = indexAt(wind.time, this.path.time[this.at]);
    return { east: wind.east[k], north: wind.north[k], error: wind.error[k] };
  }

  /** The arrow flies with the wind. */
  private wind(pen: CanvasRenderingContext2D, width: number): void {
    const now = this.windNow();
    if (!now) return;
    this.blown = [now.east, now.north];
    const speed = Math.hypot(now.east, now.north);
    const [x, y] = [width - 46, 46];
    const [ux, uy] = speed > 0 ? [now.east / speed, -now.north / speed] : [0, 0];
    pen.strokeStyle = pen.fillStyle = this.palette.event;
    pen.lineWidth = 2.2;
    const tip: Spot = [x + 20 * ux, y + 20 * uy];
    this.run(pen, [[x - 20 * ux, y - 20 * uy], tip]);
    this.run(pen, [[tip[0] - 9 * ux - 5 * uy, tip[1] - 9 * uy + 5 * ux], tip, [tip[0] - 9 * ux + 5 * uy, tip[1] - 9 * uy - 5 * ux]]);
    pen.textAlign = "center";
    pen.fillText("wind", x, y + 36);
  }

  private say(): void {
    const now = this.windNow();
    const from = now && (((Math.atan2(-now.east, -now.north) * 180) / Math.PI + 360) % 360);
    const wind = now && `Wind at the cursor from ${printed(from!, 0)}\u00b0 at ${printed(Math.hypot(now.east, now.north) / KNOT, 0)} kt, \u00b1 ${printed(now.error / KNOT, 0)} kt (90%). `;
    const ground = this.around?.ground ? "Hills are lit from the northwest. " : "";
    const said = `${wind || ""}${ground}Coast and borders are right to about 2 km; no chart for navigation.`;
    if (this.told.textContent !== said) this.told.textContent = said;
  }
}

/** A line so many pixels to the left of another, as it is run. */
function beside(spots: Spot[], off: number): Spot[] {
  return spots.map(([x, y], k) => {
    const [a, b] = [spots[Math.max(k - 1, 0)], spots[Math.min(k + 1, spots.length - 1)]];
    const long = Math.hypot(b[0] - a[0], b[1] - a[1]) || 1;
    return [x + (off * (b[1] - a[1])) / long, y - (off * (b[0] - a[0])) / long];
  });
}
