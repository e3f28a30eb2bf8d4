// A map of shares on a canvas: shade and number in each cell, walked with the arrow keys.

import { printed } from "../words";
import { el, fill, table } from "./dom";
import type { ShareMap, Side } from "./types";

const MARGIN = { left: 62, right: 12, top: 10, bottom: 44 };
const TONES: [number, [number, number, number]][] = [
  [0, [252, 251, 247]], [0.35, [207, 224, 238]], [0.65, [134, 176, 214]], [1, [10, 74, 130]],
];

function tone(share: number): string {
  const upper = Math.max(1, TONES.findIndex(([at]) => at >= share));
  const [[from, a], [to, b]] = [TONES[upper - 1], TONES[upper]];
  const part = (share - from) / (to - from);
  return `rgb(${a.map((value, k) => Math.round(value + part * (b[k] - value))).join(",")})`;
}

/** Enough decimals that neighbouring values read apart. */
function decimals({ values }: Side): number {
  const steps = values.slice(1).map((value, k) => Math.abs(value - values[k]));
  const step = Math.min(...steps.filter((one) => one > 0), Math.abs(values[0]) || 1);
  return Math.min(4, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9)));
}

const named = (side: Side): string => (side.unit ? `${side.label}, ${side.unit}` : side.label);

export interface Chosen {
  x: number;
  y: number;
  share: number | null;
}

export class HeatMap {
  readonly root: HTMLElement;
  private readonly canvas: HTMLCanvasElement;
  private readonly said = el("p", { class: "cell-said", role: "status" });
  private cell: [number, number] = [0, 0];

  constructor(readonly map: ShareMap, title: string, private readonly chosen: (cell: Chosen) => void) {
    this.canvas = el("canvas", {
      tabindex: 0,
      role: "application",
      "aria-roledescription": "map of shares",
      "aria-label": `${title}. Share of flights that are still recovered, over ${map.x.label} and ${map.y.label}. Arrow keys walk the cells, Enter flies one.`,
    });
    const scale = "Light: few of the simulated flights recover; dark: nearly all. Number: share in percent; cells at 50% or more are ringed.";
    this.root = el(
      "figure",
      { class: "map" },
      el("figcaption", {}, title),
      el("div", { class: "field-of" }, this.canvas),
      this.said,
      el("p", { class: "scale-words" }, scale),
      this.table(title),
    );
    this.wire();
    new ResizeObserver(() => this.draw()).observe(this.canvas);
    this.say();
  }

  private wire(): void {
    const { canvas } = this;
    canvas.addEventListener("keydown", (event) => {
      const moves: Record<string, [number, number]> = {
        ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1],
      };
      if (event.key in moves) this.walk(...moves[event.key]);
      else if (event.key === "Enter" || event.key === " ") this.choose();
      else return;
      event.preventDefault();
    });
    canvas.addEventListener("click", (event) => {
      if (this.under(event)) this.choose();
    });
    canvas.addEventListener("pointermove", (event) => this.under(event));
    for (const told of ["focus", "blur"]) canvas.addEventListener(told, () => this.draw());
  }

  private walk(right: number, up: number): void {
    const { x, y } = this.map;
    const within = (value: number, count: number): number => Math.min(Math.max(value, 0), count - 1);
    this.cell = [within(this.cell[0] + right, x.values.length), within(this.cell[1] + up, y.values.length)];
    this.draw();
    this.say();
  }

  private under(event: MouseEvent): boolean {
    const [width, height] = this.room();
    const box = this.canvas.getBoundingClientRect();
    const { x, y } = this.map;
    const column = Math.floor(((event.clientX - box.left - MARGIN.left) / width) * x.values.length);
    const row = Math.floor((1 - (event.clientY - box.top - MARGIN.top) / height) * y.values.length);
    if (column < 0 || row < 0 || column >= x.values.length || row >= y.values.length) return false;
    if (column !== this.cell[0] || row !== this.cell[1]) {
      this.cell = [column, row];
      this.draw();
      this.say();
    }
    return true;
  }

  private share([column, row]: [number, number]): number | null {
    return this.map.share[row]?.[column] ?? null;
  }

  private choose(): void {
    const { x, y } = this.map;
    this.chosen({ x: x.values[this.cell[0]], y: y.values[this.cell[1]], share: this.share(this.cell) });
  }

  private say(): void {
    const { x, y } = this.map;
    const share = this.share(this.cell);
    const value = (side: Side, at: number): string =>
      `${side.label} ${printed(side.values[at], decimals(side))}${side.unit && ` ${side.unit}`}`;
    const [low, high] = [this.map.low, this.map.high].map((side) => side?.[this.cell[1]]?.[this.cell[0]] ?? null);
    const band = low === null || high === null ? "" : ` (95%: ${printed(100 * low, 0)} to ${printed(100 * high, 0)})`;
    const held = share === null ? "not computed" : `still recovered in ${printed(100 * share, 0)}% of the simulated flights${band}`;
    this.said.textContent = `${value(x, this.cell[0])}, ${value(y, this.cell[1])}: ${held}. Enter or a click flies it.`;
  }

  private room(): [number, number] {
    const { clientWidth, clientHeight } = this.canvas;
    return [clientWidth - MARGIN.left - MARGIN.right, clientHeight - MARGIN.top - MARGIN.bottom];
  }

  private draw(): void {
    const { clientWidth: width, clientHeight: height } = this.canvas;
    const pen = this.canvas.getContext("2d");
    if (!pen || width === 0) return;
    this.canvas.width = width * devicePixelRatio;
    this.canvas.height = height * devicePixelRatio;
    pen.scale(devicePixelRatio, devicePixelRatio);
    const [across, up] = this.room();
    const [columns, rows] = [this.map.x.values.length, this.map.y.values.length];
    const size: [number, number] = [across / columns, up / rows];
    for (let row = 0; row < rows; row++) {
      for (let column = 0; column < columns; column++) this.paint(pen, column, row, size);
    }
    this.axes(pen, size);
    this.outline(pen, size);
  }

  /** The cell that is read: a dark frame in a light one, seen on every shade. */
  private outline(pen: CanvasRenderingContext2D, size: [number, number]): void {
    const [left, top] = this.corner(this.cell[0], this.cell[1], size);
    const wide = document.activeElement === this.canvas ? 3 : 2;
    pen.lineWidth = wide;
    pen.strokeStyle = "#1b2530";
    pen.strokeRect(left, top, size[0], size[1]);
    pen.strokeStyle = "#ffffff";
    pen.lineWidth = 1.5;
    pen.strokeRect(left + wide, top + wide, size[0] - 2 * wide, size[1] - 2 * wide);
  }

  private corner(column: number, row: number, [w, h]: [number, number]): [number, number] {
    const rows = this.map.y.values.length;
    return [MARGIN.left + column * w, MARGIN.top + (rows - 1 - row) * h];
  }

  private paint(pen: CanvasRenderingContext2D, column: number, row: number, size: [number, number]): void {
    const share = this.share([column, row]);
    const [left, top] = this.corner(column, row, size);
    pen.fillStyle = share === null ? "#dfe3dc" : tone(share);
    pen.fillRect(left, top, size[0] + 0.5, size[1] + 0.5);
    if (size[0] < 24 || size[1] < 13) return;
    pen.fillStyle = share !== null && share > 0.75 ? "#ffffff" : "#1b2530";
    pen.font = "11px system-ui, sans-serif";
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.fillText(share === null ? "\u2013" : printed(100 * share, 0), left + size[0] / 2, top + size[1] / 2);
    if (share === null || share < 0.5) return;
    pen.strokeStyle = pen.fillStyle;
    pen.lineWidth = 1;
    pen.beginPath();
    pen.ellipse(left + size[0] / 2, top + size[1] / 2, Math.min(13, size[0] / 2 - 2), Math.min(9, size[1] / 2 - 1), 0, 0, 2 * Math.PI);
    pen.stroke();
  }

  private axes(pen: CanvasRenderingContext2D, [w, h]: [number, number]): void {
    const { x, y } = this.map;
    const bottom = this.canvas.clientHeight - MARGIN.bottom;
    pen.fillStyle = getComputedStyle(this.canvas).color; // the ink of the page, light or dark
    pen.font = "11px system-ui, sans-serif";
    pen.textBaseline = "middle";
    pen.textAlign = "center";
    const every = Math.max(1, Math.ceil(34 / w));
    x.values.forEach((value, k) => {
      if (k % every === 0) pen.fillText(printed(value, decimals(x)), MARGIN.left + (k + 0.5) * w, bottom + 11);
    });
    pen.fillText(named(x), MARGIN.left + this.room()[0] / 2, bottom + 31);
    pen.textAlign = "right";
    const step = Math.max(1, Math.ceil(16 / h));
    y.values.forEach((value, k) => {
      if (k % step === 0) pen.fillText(printed(value, decimals(y)), MARGIN.left - 5, bottom - (k + 0.5) * h);
    });
    pen.save();
    pen.translate(11, MARGIN.top + this.room()[1] / 2);
    pen.rotate(-Math.PI / 2);
    pen.textAlign = "center";
    pen.fillText(named(y), 0, 0);
    pen.restore();
  }

  /** The same numbers as a table, made when it is opened. */
  private table(title: string): HTMLElement {
    const place = el("div");
    const { x, y, share } = this.map;
    const details = el("details", { class: "map-table" }, el("summary", {}, "As a table"), place);
    details.addEventListener("toggle", () => {
      if (!details.open || place.childElementCount) return;
      const rows = y.values.map((value, row) => [
        [printed(value, decimals(y))],
        ...x.values.map((_, column) => [
          share[row]?.[column] == null ? "\u2013" : `${printed(100 * share[row][column]!, 0)}%`,
        ]),
      ]);
      const heads = [`${named(y)} \\ ${named(x)}`, ...x.values.map((v) => printed(v, decimals(x)))];
      fill(place, table(heads, rows, { label: title }));
    });
    return details;
  }
}
