// What the plotting library does not draw: hatching, limits, events, readings.

import type uPlot from "uplot";
import type { Mark, Palette, Panel, Readings } from "./figure";

type Context = CanvasRenderingContext2D;

/** Diagonal hatching, readable without colour and in print. */
export function hatching(context: Context, colour: string): CanvasPattern | null {
  const tile = document.createElement("canvas");
  const size = Math.round(7 * devicePixelRatio);
  tile.width = tile.height = size;
  const pen = tile.getContext("2d");
  if (!pen) return null;
  pen.strokeStyle = colour;
  pen.lineWidth = devicePixelRatio;
  pen.beginPath();
  for (const shift of [-size, 0, size]) {
    pen.moveTo(shift, size);
    pen.lineTo(shift + size, 0);
  }
  pen.stroke();
  return context.createPattern(tile, "repeat");
}

export function paintShades(u: uPlot, panel: Panel, palette: Palette): void {
  const { ctx, bbox } = u;
  ctx.save();
  ctx.fillStyle = hatching(ctx, palette.hatch) ?? palette.grid;
  for (const shade of panel.shades) {
    const from = Math.max(u.valToPos(shade.start, "x", true), bbox.left);
    const to = Math.min(u.valToPos(shade.end, "x", true), bbox.left + bbox.width);
    if (to > from) ctx.fillRect(from, bbox.top, to - from, bbox.height);
  }
  ctx.restore();
}

export function paintLevels(u: uPlot, panel: Panel, palette: Palette): void {
  const { ctx, bbox } = u;
  const drawn = [...panel.levels]
    .sort((a, b) => b.value - a.value)
    .map(({ value, label }) => ({ y: u.valToPos(value, "y", true), label }))
    .filter(({ y }) => y >= bbox.top && y <= bbox.top + bbox.height);
  ctx.save();
  ctx.strokeStyle = palette.limit;
  ctx.lineWidth = 1.5 * devicePixelRatio;
  ctx.setLineDash([9, 3, 2, 3].map((d) => d * devicePixelRatio));
  for (const { y } of drawn) {
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(bbox.left + bbox.width, y);
    ctx.stroke();
  }
  ctx.setLineDash([]);
  labelLevels(u, drawn, palette);
  ctx.restore();
}

/** Labels stand at the left, where no event lies, each on a rim of paper. */
function labelLevels({ ctx, bbox }: uPlot, drawn: { y: number; label: string }[], palette: Palette): void {
  const px = devicePixelRatio;
  const left = bbox.left + 6 * px;
  ctx.font = `${11 * px}px sans-serif`;
  ctx.textAlign = "left";
  ctx.lineJoin = "round";
  ctx.strokeStyle = palette.paper;
  ctx.fillStyle = palette.limit;
  ctx.lineWidth = 3 * px;
  let above: { y: number; right: number } | null = null;
  for (const { y, label } of drawn) {
    // One that would lie on the label above it stands to the right of that, one without room above
    // its line below it.
    const crowded: boolean = above !== null && y - above.y < 13 * px && above.right - left < 0.6 * bbox.width;
    const from: number = crowded ? above!.right + 14 * px : left;
    const at = y - 15 * px < bbox.top ? y + 12 * px : y - 4 * px;
    ctx.strokeText(label, from, at);
    ctx.fillText(label, from, at);
    above = { y, right: from + ctx.measureText(label).width };
  }
}

export function paintMarks(u: uPlot, marks: Mark[], palette: Palette): void {
  const { ctx, bbox } = u;
  const size = 7 * devicePixelRatio;
  ctx.save();
  ctx.strokeStyle = palette.event;
  ctx.font = `bold ${10 * devicePixelRatio}px sans-serif`;
  ctx.textAlign = "center";
  ctx.textBaseline = "middle";
  for (const mark of marks) {
    const x = u.valToPos(mark.time, "x", true);
    if (x < bbox.left || x > bbox.left + bbox.width) continue;
    const reach = Math.abs(u.valToPos(mark.time + mark.half_width, "x", true) - x);
    ctx.globalAlpha = 0.12;
    ctx.fillStyle = palette.event;
    ctx.fillRect(x - reach, bbox.top, 2 * reach, bbox.height);
    ctx.globalAlpha = 1;
    ctx.lineWidth = devicePixelRatio;
    ctx.setLineDash([3 * devicePixelRatio, 3 * devicePixelRatio]);
    ctx.beginPath();
    ctx.moveTo(x, bbox.top);
    ctx.lineTo(x, bbox.top + bbox.height);
    ctx.stroke();
    ctx.fillRect(x - size, bbox.top, 2 * size, 2 * size);
    ctx.fillStyle = palette.paper;
    ctx.fillText(String(mark.number), x, bbox.top + size);
  }
  ctx.restore();
}

/** Radius of a reading's ring: small where readings crowd, so that the curve stays visible. */
export function ringRadius(width: number, count: number): number {
  return Math.min(2.2, Math.max(0.55, width / count / 3));
}

/** Readings as received: a ring each, a cross where marked; bars show the step when wide enough. */
export function paintReadings(u: uPlot, readings: Readings, palette: Palette): void {
  const { ctx, bbox } = u;
  const { min, max } = u.scales.x;
  const { time, suspect } = readings;
  const seen: number[] = [];
  for (let k = 0; k < time.length; k++) if (time[k] >= min! && time[k] <= max!) seen.push(k);
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  ctx.strokeStyle = palette.ink;
  ctx.lineWidth = 0.9 * devicePixelRatio;
  ctx.beginPath();
  const crowded = seen.length > 2 * u.width;
  if (crowded) traceColumns(u, readings, seen);
  else traceRings(u, readings, seen);
  traceCrosses(u, readings, seen.filter((k) => suspect[k]));
  ctx.stroke();
  ctx.restore();
}

/** More readings than pixels: each column of pixels has a bar from its lowest to its highest. */
function traceColumns(u: uPlot, readings: Readings, seen: number[]): void {
  let column = NaN;
  let low = Infinity;
  let high = -Infinity;
  const close = (): void => {
    if (low > high) return;
    u.ctx.moveTo(column, low - 0.5);
    u.ctx.lineTo(column, high + 0.5);
  };
  for (const k of seen) {
    if (readings.suspect[k]) continue;
    const x = Math.round(u.valToPos(readings.time[k], "x", true));
    const y = u.valToPos(readings.value[k], "y", true);
    if (x !== column) {
      close();
      [column, low, high] = [x, y, y];
    } else [low, high] = [Math.min(low, y), Math.max(high, y)];
  }
  close();
}

function traceRings(u: uPlot, readings: Readings, seen: number[]): void {
  const { ctx } = u;
  const radius = ringRadius(u.width, seen.length) * devicePixelRatio;
  for (const k of seen) {
    if (readings.suspect[k]) continue;
    const x = u.valToPos(readings.time[k], "x", true);
    const y = u.valToPos(readings.value[k], "y", true);
    ctx.moveTo(x + radius, y);
    ctx.arc(x, y, radius, 0, 2 * Math.PI);
    const reach = Math.abs(u.valToPos(readings.value[k] + readings.half_step, "y", true) - y);
    if (reach <= radius + 1) continue;
    ctx.moveTo(x, y - reach);
    ctx.lineTo(x, y - radius);
    ctx.moveTo(x, y + radius);
    ctx.lineTo(x, y + reach);
  }
}

function traceCrosses(u: uPlot, readings: Readings, doubted: number[]): void {
  const { ctx } = u;
  const cross = 3.5 * devicePixelRatio;
  for (const k of doubted) {
    const x = u.valToPos(readings.time[k], "x", true);
    const y = u.valToPos(readings.value[k], "y", true);
    ctx.moveTo(x - cross, y - cross);
    ctx.lineTo(x + cross, y + cross);
    ctx.moveTo(x - cross, y + cross);
    ctx.lineTo(x + cross, y - cross);
  }
}
