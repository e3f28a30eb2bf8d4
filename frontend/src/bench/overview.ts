// The whole record in one lane: the stretch in view is a window that is dragged, widened and walked.

import type { Palette, Strips } from "../figure";
import { sized } from "../sight";
import { clock } from "../words";
import { el } from "./dom";
import type { FoundStretch } from "./types";

const HEIGHT = 54;
const LANE = 13; // px of the lane of found stretches
const LEFT = 66; // as the strip charts have it
const RIGHT = 58;
const GRIP = 7; // px to each side of an edge in which it is taken hold of
const SHORTEST = 2; // s

export interface Shows {
  view(): [number, number];
  zoom(from: number, to: number): void;
}

type Hold = { what: "from" | "to" | "move" | "new"; at: number; view: [number, number] };

export class Overview {
  readonly root: HTMLElement;
  private readonly canvas: HTMLCanvasElement;
  private hold: Hold | null = null;
  private frame = 0;
  private cursor = NaN;
  /** The cursor is moved over the drawing, which stays as it is. */
  private readonly line = el("span", { class: "overview-cursor", hidden: true });
  private width = 0;
  private stretches: FoundStretch[] = [];
  private picture: HTMLCanvasElement | null = null;

  constructor(
    private readonly strips: Strips,
    private readonly palette: Palette,
    private readonly shows: Shows,
    name: string,
  ) {
    this.canvas = el("canvas", {
      tabindex: 0,
      role: "application",
      "aria-roledescription": "overview",
      "aria-label": `Whole record of ${name}, with the stretch in view as a window. Arrow keys move it, + and \u2212 narrow and widen it, 0 shows the whole record.`,
    });
    this.root = el("div", { class: "overview" }, this.canvas, this.line);
    this.wire();
    new ResizeObserver(() => this.renew()).observe(this.root);
  }

  /** Found stretches are drawn along the lower edge. */
  offer(stretches: FoundStretch[]): void {
    this.stretches = stretches;
    this.renew();
  }

  private get last(): number {
    return this.strips.time[this.strips.time.length - 1];
  }

  private x(time: number): number {
    return LEFT + (time / this.last) * (this.width - LEFT - RIGHT);
  }

  private time(x: number): number {
    const share = (x - LEFT) / (this.width - LEFT - RIGHT);
    return Math.min(Math.max(share, 0), 1) * this.last;
  }

  private wire(): void {
    const { canvas } = this;
    canvas.addEventListener("pointerdown", (event) => this.take(event));
    canvas.addEventListener("pointermove", (event) => this.drag(event));
    for (const over of ["pointerup", "pointercancel"]) canvas.addEventListener(over, () => (this.hold = null));
    canvas.addEventListener("dblclick", () => this.shows.zoom(0, this.last));
    canvas.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    canvas.addEventListener("keydown", (event) => this.key(event));
  }

  private take(event: PointerEvent): void {
    if (event.button !== 0) return;
    const [from, to] = this.shows.view();
    const x = event.offsetX;
    const whole = to - from > 0.995 * this.last;
    const near = (time: number): boolean => Math.abs(x - this.x(time)) <= GRIP;
    const inside = x > this.x(from) && x < this.x(to) && !whole;
    const what = near(from) && !whole ? "from" : near(to) && !whole ? "to" : inside ? "move" : "new";
    this.hold = { what, at: this.time(x), view: [from, to] };
    this.canvas.setPointerCapture(event.pointerId);
  }

  private drag(event: PointerEvent): void {
    const now = this.time(event.offsetX);
    this.canvas.style.cursor = this.cursorAt(event.offsetX);
    if (!this.hold) return;
    const { what, at, view } = this.hold;
    const [from, to] = view;
    const wanted: Record<Hold["what"], [number, number]> = {
      from: [Math.min(now, to - SHORTEST), to],
      to: [from, Math.max(now, from + SHORTEST)],
      move: [from + now - at, to + now - at],
      new: [Math.min(now, at), Math.max(now, at)],
    };
    const [a, b] = wanted[what];
    if (b - a < SHORTEST) return;
    cancelAnimationFrame(this.frame);
    this.frame = requestAnimationFrame(() => this.shows.zoom(a, b));
  }

  private cursorAt(x: number): string {
    const [from, to] = this.shows.view();
    if (to - from > 0.995 * this.last) return "crosshair";
    if (Math.abs(x - this.x(from)) <= GRIP || Math.abs(x - this.x(to)) <= GRIP) return "ew-resize";
    return x > this.x(from) && x < this.x(to) ? "grab" : "crosshair";
  }

  private wheel(event: WheelEvent): void {
    event.preventDefault();
    zoomAbout(this.shows, this.time(event.offsetX), event.deltaY);
  }

  private key(event: KeyboardEvent): void {
    const [from, to] = this.shows.view();
    const [span, middle] = [to - from, (from + to) / 2];
    const about = (half: number): void => this.shows.zoom(middle - half, middle + half);
    const acts: Record<string, () => void> = {
      ArrowLeft: () => this.shows.zoom(from - span / 4, to - span / 4),
      ArrowRight: () => this.shows.zoom(from + span / 4, to + span / 4),
      "+": () => about(span / 4),
      "=": () => about(span / 4),
      "-": () => about(span),
      "0": () => this.shows.zoom(0, this.last),
    };
    if (!acts[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    acts[event.key]();
  }

  moved(time: number): void {
    this.cursor = time;
    this.place();
  }

  private place(): void {
    const known = Number.isFinite(this.cursor) && this.width > 0;
    if (this.line.hidden === known) this.line.hidden = !known;
    if (known) this.line.style.transform = `translateX(${this.x(this.cursor) - 0.75}px)`;
  }

  zoomed(): void {
    this.soon();
  }

  private waiting = false;
  private soon(): void {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.draw();
    });
  }

  private renew(): void {
    this.picture = null;
    this.width = this.canvas.clientWidth;
    this.place();
    this.soon();
  }

  /** What does not change while the window moves is drawn once. */
  private still(width: number): HTMLCanvasElement {
    const sheet = document.createElement("canvas");
    [sheet.width, sheet.height] = [Math.round(width * devicePixelRatio), Math.round(HEIGHT * devicePixelRatio)];
    const pen = sheet.getContext("2d")!;
    pen.scale(devicePixelRatio, devicePixelRatio);
    this.curve(pen);
    this.lanes(pen);
    for (const mark of this.strips.marks) {
      pen.fillStyle = this.palette.event;
      pen.fillRect(this.x(mark.time) - 1, 0, 2, HEIGHT - LANE);
    }
    return sheet;
  }

  private curve(pen: CanvasRenderingContext2D): void {
    const panel = this.strips.panels.find(({ key }) => /altitude/.test(key)) ?? this.strips.panels[0];
    const curve = panel.bands[0].quantiles[2];
    const { low, high } = panel.axis;
    const bottom = HEIGHT - LANE - 2;
    const y = (value: number): number => bottom - ((value - low) / (high - low)) * (bottom - 4);
    pen.beginPath();
    let open = false;
    this.strips.time.forEach((time, k) => {
      if (!Number.isFinite(curve[k])) return;
      if (!open) pen.moveTo(this.x(time), bottom);
      open = true;
      pen.lineTo(this.x(time), y(curve[k]));
    });
    if (!open) return;
    pen.lineTo(this.x(this.last), bottom);
    pen.fillStyle = this.palette.band90;
    pen.fill();
    pen.font = "11px system-ui, sans-serif";
    pen.fillStyle = this.palette.quiet;
    pen.textAlign = "right";
    pen.fillText("whole", LEFT - 8, 18);
    pen.fillText("record", LEFT - 8, 31);
  }

  private lanes(pen: CanvasRenderingContext2D): void {
    pen.font = "10px system-ui, sans-serif";
    pen.textAlign = "left";
    let free = 0; // where no word stands yet
    for (const { name, start, end } of [...this.stretches].sort((one, two) => one.start - two.start)) {
      if (name.startsWith("Last")) continue;
      const [a, b] = [this.x(start), this.x(end)];
      pen.fillStyle = name === "Onset" ? this.palette.event : this.palette.edge;
      pen.fillRect(a, HEIGHT - LANE, Math.max(b - a - 1, 1), name === "Onset" ? 4 : 2);
      pen.fillStyle = this.palette.quiet;
      const wide = pen.measureText(name).width + 4;
      if (name === "Onset" || b - a <= wide || a < free) continue;
      pen.fillText(name, a + 2, HEIGHT - 1);
      free = a + wide;
    }
  }

  private draw(): void {
    const { width } = this;
    const pen = this.canvas.getContext("2d");
    if (!pen || width <= LEFT + RIGHT) return;
    this.picture ??= this.still(width);
    sized(this.canvas, width, HEIGHT);
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.clearRect(0, 0, this.canvas.width, this.canvas.height);
    pen.drawImage(this.picture, 0, 0);
    pen.scale(devicePixelRatio, devicePixelRatio);
    const [from, to] = this.shows.view();
    const [a, b] = [this.x(Math.max(from, 0)), this.x(Math.min(to, this.last))];
    pen.globalAlpha = 0.62;
    pen.fillStyle = this.palette.paper;
    pen.fillRect(LEFT, 0, a - LEFT, HEIGHT - LANE);
    pen.fillRect(b, 0, width - RIGHT - b, HEIGHT - LANE);
    pen.globalAlpha = 1;
    pen.strokeStyle = this.palette.inks[0];
    pen.lineWidth = 1.5;
    pen.strokeRect(a, 1, Math.max(b - a, 2), HEIGHT - LANE - 2);
    pen.fillStyle = this.palette.inks[0];
    for (const edge of [a, b]) pen.fillRect(edge - 2, (HEIGHT - LANE) / 2 - 8, 4, 16);
    const said = `${clock(from + this.strips.start)} to ${clock(to + this.strips.start)}`;
    this.canvas.setAttribute("aria-description", `In view: ${said}`);
  }
}

/** Narrow or widen about a time, as a wheel or a pinch asks. */
export function zoomAbout(shows: Shows, time: number, turned: number): void {
  const [from, to] = shows.view();
  const factor = Math.exp(Math.min(Math.max(turned, -120), 120) * 0.0035);
  const share = (time - from) / (to - from);
  const span = (to - from) * factor;
  shows.zoom(time - share * span, time + (1 - share) * span);
}

