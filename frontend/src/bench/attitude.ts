// The attitude at the cursor as a picture: the horizon with its 90% bands of pitch and bank.

import type { Palette, Strips } from "../figure";
import { hatching } from "../paint";
import { printed } from "../words";
import { sized } from "../sight";
import { el } from "./dom";
import { dark } from "./theme";

const HEIGHT = 190;
const DEGREE = Math.PI / 180;
const SPAN = 60; // degrees of pitch from edge to edge

interface Banded {
  low: number;
  median: number;
  high: number;
}

function bandAt(strips: Strips, key: string, at: number): Banded | null {
  const band = strips.panels.find((panel) => panel.key === key)?.bands[0];
  if (!band) return null;
  const [low, , median, , high] = band.quantiles.map((curve) => curve[at]);
  return Number.isFinite(median) ? { low, median, high } : null;
}

const worded = (name: string, band: Banded | null): string =>
  band
    ? `${name} ${printed(band.median, 0)}\u00b0 (90%: ${printed(band.low, 0)} to ${printed(band.high, 0)}\u00b0)`
    : `${name} not observable here`;

export class Attitude {
  readonly root: HTMLElement;
  private readonly canvas = el("canvas", { role: "img", "aria-label": "Attitude at the time cursor" });
  private readonly said = el("p", { class: "attitude-said" });
  private last: [Strips, number] | null = null;
  private waiting = false;
  private width = 0;

  constructor(private readonly palette: Palette) {
    this.root = el("figure", { class: "attitude" }, el("figcaption", {}, "Attitude at the cursor"), this.canvas, this.said);
    new ResizeObserver(() => {
      this.width = this.canvas.clientWidth;
      this.soon();
    }).observe(this.root);
  }

  moved(at: number, strips: Strips): void {
    if (this.last?.[0] === strips && this.last[1] === at) return;
    this.last = [strips, at];
    this.soon();
  }

  private soon(): void {
    if (this.waiting) return;
    this.waiting = true;
    requestAnimationFrame(() => {
      this.waiting = false;
      this.draw();
    });
  }

  private draw(): void {
    const { width } = this;
    const pen = this.canvas.getContext("2d");
    if (!pen || !this.last || width === 0) return;
    const [strips, at] = this.last;
    const [pitch, bank] = ["pitch_angle", "bank_angle"].map((key) => bandAt(strips, key, at));
    const words = `${worded("Pitch", pitch)}; ${worded("bank", bank)}.`;
    if (this.said.textContent !== words) this.said.textContent = words;
    sized(this.canvas, width, HEIGHT);
    pen.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
    pen.clearRect(0, 0, width, HEIGHT);
    if (!pitch) this.unknown(pen, width);
    else this.horizon(pen, width, pitch, bank);
    this.airplane(pen, width);
  }

  private unknown(pen: CanvasRenderingContext2D, width: number): void {
    pen.fillStyle = hatching(pen, this.palette.hatch) ?? this.palette.grid;
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.fillRect(0, 0, width * devicePixelRatio, HEIGHT * devicePixelRatio);
    pen.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
  }

  private horizon(pen: CanvasRenderingContext2D, width: number, pitch: Banded, bank: Banded | null): void {
    const scale = HEIGHT / SPAN;
    const far = width + HEIGHT;
    const [sky, ground] = dark() ? ["#1d3a52", "#4a3a24"] : ["#dbe9f4", "#e9dfcb"];
    pen.save();
    pen.translate(width / 2, HEIGHT / 2);
    const turned = (angle: number, act: () => void): void => {
      pen.save();
      pen.rotate(-angle * DEGREE);
      act();
      pen.restore();
    };
    turned(bank?.median ?? 0, () => {
      const y = pitch.median * scale;
      pen.fillStyle = sky;
      pen.fillRect(-far, y - 2 * far, 2 * far, 2 * far);
      pen.fillStyle = ground;
      pen.fillRect(-far, y, 2 * far, 2 * far);
      pen.globalAlpha = 0.55;
      pen.fillStyle = this.palette.band50;
      pen.fillRect(-far, pitch.low * scale, 2 * far, Math.max((pitch.high - pitch.low) * scale, 1));
      pen.globalAlpha = 1;
      this.ladder(pen, pitch.median, scale);
      pen.strokeStyle = this.palette.inks[0];
      pen.lineWidth = 2;
      pen.strokeRect(-far, y, 2 * far, 0);
    });
    pen.setLineDash([5, 4]);
    pen.lineWidth = 1;
    pen.strokeStyle = this.palette.inks[0];
    for (const edge of bank ? [bank.low, bank.high] : []) {
      turned(edge, () => pen.strokeRect(-far, pitch.median * scale, 2 * far, 0));
    }
    pen.restore();
  }

  private ladder(pen: CanvasRenderingContext2D, pitch: number, scale: number): void {
    pen.font = "10px system-ui, sans-serif";
    pen.fillStyle = pen.strokeStyle = this.palette.ink;
    pen.lineWidth = 1;
    for (let mark = -90; mark <= 90; mark += 10) {
      const y = (pitch - mark) * scale;
      if (mark === 0 || Math.abs(y) > HEIGHT) continue;
      pen.strokeRect(-22, y, 44, 0);
      pen.textAlign = "left";
      pen.fillText(printed(mark, 0), 26, y + 3);
    }
  }

  /** The wings, which stand still. */
  private airplane(pen: CanvasRenderingContext2D, width: number): void {
    pen.strokeStyle = this.palette.limit;
    pen.lineWidth = 3;
    pen.beginPath();
    const [x, y] = [width / 2, HEIGHT / 2];
    pen.moveTo(x - 62, y);
    pen.lineTo(x - 22, y);
    pen.lineTo(x - 22, y + 7);
    pen.moveTo(x + 62, y);
    pen.lineTo(x + 22, y);
    pen.lineTo(x + 22, y + 7);
    pen.moveTo(x - 3, y);
    pen.lineTo(x + 3, y);
    pen.stroke();
  }
}
