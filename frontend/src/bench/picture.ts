// A track as it was received, drawn before any form is filled in.

import type { Palette } from "../figure";
import { clock, printed } from "../words";
import { Refused, getFigure } from "./api";
import { button, el, fill, part, standing } from "./dom";
import { themed } from "./theme";

interface Curve {
  key: string;
  title: string;
  unit: string;
  decimals: number;
  time: Float32Array;
  value: Float32Array;
  suspect: Float32Array;
}

interface Raw {
  start: number;
  day: string;
  readings: number;
  /** 1, or n where one row in n was read. */
  of: number;
  curves: Curve[];
}

const HEIGHT = 116;
const [LEFT, RIGHT, TOP, BOTTOM] = [66, 12, 6, 20];
const LIGHT: Palette = {
  paper: "#fcfbf7", ink: "#1b2530", quiet: "#56616d", grid: "#dfe3dc", hatch: "#80878f", band90: "#cfe0ee", band50: "#86b0d6",
  edge: "#5486b5", limit: "#b3202f", event: "#5a2a82", inks: ["#0a4a82"], dashes: [[]],
};

const nice = (span: number, parts: number): number => {
  const power = 10 ** Math.floor(Math.log10(span / parts));
  return [1, 2, 5, 10].map((k) => k * power).find((k) => k >= span / parts) ?? power;
};
const STEPS = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 14400];

class Sheet {
  readonly root: HTMLElement;
  private readonly canvas: HTMLCanvasElement;

  constructor(private readonly raw: Raw, private readonly curve: Curve, private readonly last: number) {
    const about = `${curve.title} against time, ${curve.time.length} readings as received`;
    this.canvas = el("canvas", { role: "img", "aria-label": about });
    this.root = el("figure", { class: "raw" }, el("figcaption", {}, curve.title, el("span", { class: "unit" }, ` ${curve.unit}`)), this.canvas);
    new ResizeObserver(() => this.draw()).observe(this.root);
  }

  private draw(): void {
    const width = this.canvas.clientWidth;
    const pen = this.canvas.getContext("2d");
    if (!pen || width === 0) return;
    const palette = themed(LIGHT);
    [this.canvas.width, this.canvas.height] = [width * devicePixelRatio, HEIGHT * devicePixelRatio];
    pen.scale(devicePixelRatio, devicePixelRatio);
    const { time, value, suspect, decimals } = this.curve;
    let [low, high] = [Infinity, -Infinity];
    value.forEach((one, k) => {
      if (suspect[k] || !Number.isFinite(one)) return;
      [low, high] = [Math.min(low, one), Math.max(high, one)];
    });
    const margin = 0.08 * (high - low) || 1;
    [low, high] = [low - margin, high + margin];
    const x = (at: number): number => LEFT + (at / this.last) * (width - LEFT - RIGHT);
    const y = (at: number): number => HEIGHT - BOTTOM - ((at - low) / (high - low)) * (HEIGHT - TOP - BOTTOM);
    pen.font = "11px system-ui, sans-serif";
    pen.strokeStyle = palette.grid;
    pen.fillStyle = palette.ink;
    pen.textAlign = "right";
    const step = nice(high - low, 4);
    for (let k = Math.ceil(low / step); k * step <= high; k++) {
      pen.strokeRect(LEFT, y(k * step), width - LEFT - RIGHT, 0);
      pen.fillText(printed(k * step, step < 1 ? Math.max(decimals, 1) : 0), LEFT - 6, y(k * step) + 4);
    }
    pen.textAlign = "center";
    const apart = STEPS.find((one) => (this.last / one) * 84 < width - LEFT) ?? 14400;
    for (let k = Math.ceil(this.raw.start / apart); k * apart - this.raw.start <= this.last; k++) {
      const at = x(k * apart - this.raw.start);
      pen.strokeRect(at, TOP, 0, HEIGHT - TOP - BOTTOM);
      pen.fillText(clock(k * apart), at, HEIGHT - 6);
    }
    pen.save();
    pen.beginPath();
    pen.rect(LEFT, TOP, width - LEFT - RIGHT, HEIGHT - TOP - BOTTOM);
    pen.clip();
    pen.fillStyle = palette.inks[0];
    const size = time.length > width ? 1.4 : 2.4;
    for (let k = 0; k < time.length; k++) {
      if (!suspect[k]) pen.fillRect(x(time[k]) - size / 2, y(value[k]) - size / 2, size, size);
    }
    pen.restore();
  }
}

const ENOUGH = 2500; // rows of a first picture; all of them follow
let asked = 0;

/** Draw a file: at first one row in so many of a long one, then all that it holds. */
export async function showPicture(name: string): Promise<boolean> {
  const ticket = ++asked;
  const first = await held(name, ENOUGH);
  if (!first) return false;
  draw(name, first);
  if (first.of > 1) void held(name).then((whole) => whole && ticket === asked && !part("raw-picture").hidden && draw(name, whole));
  return true;
}

async function held(name: string, rows?: number): Promise<Raw | null> {
  try {
    const raw = await getFigure<Raw>("raw", { name, rows });
    return raw.curves.length ? raw : null;
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    part("raw-picture").hidden = true;
    return null;
  }
}

function readingsOf(raw: Raw): string {
  const suspect = raw.curves.reduce((sum, curve) => sum + curve.suspect.filter(Boolean).length, 0);
  if (raw.of > 1) return `one row in ${raw.of} so far`;
  return `${raw.readings.toLocaleString("en-US")} readings${suspect ? `, ${suspect} marked as suspect and not drawn` : ""}`;
}

function draw(name: string, raw: Raw): void {
  const place = part("raw-picture");
  const last = Math.max(...raw.curves.map(({ time }) => time[time.length - 1]), 1);
  const shown = raw.curves.slice(0, 4).map((curve) => new Sheet(raw, curve, last));
  const span = `${raw.day}, ${clock(raw.start)} to ${clock(raw.start + last)} on the clock of the file`;
  fill(
    place,
    el("h3", {}, el("code", {}, name), " as received ", standing("fact")),
    el("p", { class: "hint" }, `${span}; ${readingsOf(raw)}. Nothing is smoothed or corrected.`),
    ...shown.map((sheet) => sheet.root),
    el("p", { class: "acts" }, button("Close the picture", () => (place.hidden = true))),
  );
  place.hidden = false;
  Object.assign(document.documentElement.dataset, { picture: name, readings: raw.of > 1 ? "some" : "all" });
  performance.mark("np-picture");
}
