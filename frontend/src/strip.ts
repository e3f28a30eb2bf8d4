// How one strip chart is drawn: its scales, bands and what lies over them.

import type uPlot from "uplot";
import type { Axis, Palette, Panel, Strips } from "./figure";
import { paintLevels, paintMarks, paintReadings, paintShades } from "./paint";
import { clock, printed } from "./words";

const HEIGHT = 138;
const LOW = 58; // px of a chart that has nothing to show but that
const LEFT = 66;
const RIGHT = 58;
const FONT = "11px system-ui, sans-serif";

function steps(low: number, high: number, count: number): number[] {
  const raw = (high - low) / count;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 2.5, 5, 10].map((k) => k * power).find((k) => k >= raw) ?? raw;
  const first = Math.ceil(low / step);
  return Array.from({ length: Math.floor(high / step) - first + 1 }, (_, k) => (first + k) * step);
}

function tickDecimals(values: number[]): number {
  const step = values.length > 1 ? values[1] - values[0] : 1;
  return Math.min(4, Math.max(0, -Math.floor(Math.log10(step) + 1e-9)) + (step % 1 && step > 1 ? 1 : 0));
}

function scaleAxis(axis: Axis, palette: Palette, second: boolean): uPlot.Axis {
  const factor = second ? axis.second_factor : 1;
  return {
    scale: "y",
    side: second ? 1 : 3,
    size: second ? RIGHT : LEFT,
    font: FONT,
    stroke: second ? palette.quiet : palette.ink,
    grid: { show: !second, stroke: palette.grid, width: 1 },
    ticks: { stroke: palette.quiet, width: 1, size: 4 },
    gap: 3,
    splits: (_u, _i, low, high) =>
      steps(low * factor, high * factor, 4).map((value) => value / factor),
    values: (_u, splits) => {
      const scaled = splits.map((value) => value * factor);
      const decimals = tickDecimals(scaled);
      return scaled.map((v) => printed(axis.wrap ? ((v % axis.wrap) + axis.wrap) % axis.wrap : v, decimals));
    },
  };
}

/** Whether nothing of a quantity is observable in the whole record. */
export const blank = (panel: Panel): boolean => panel.bands.every((band) => !band.quantiles[2].some(Number.isFinite));

/** The figure as it stands now, and whether the scales follow the stretch in view. */
export interface Shown {
  readonly strips: Strips;
  readonly fitted: boolean;
  /** Whether a chart without anything observable is low and has no scale. */
  readonly folded: boolean;
}

const range = (shown: Shown, axis: Axis, low: number | null, high: number | null): [number, number] => {
  if (!shown.fitted || low === null || high === null) return [axis.low, axis.high];
  const margin = 0.08 * (high - low) || 1;
  return [low - margin, high + margin];
};

/** Options of the chart number `at`. What is painted is looked up anew: the figure may be replaced. */
export function options(
  shown: Shown,
  at: number,
  palette: Palette,
  width: number,
  link: string,
): uPlot.Options {
  const { strips } = shown;
  const panel = strips.panels[at];
  const current = (): Panel => shown.strips.panels[at];
  const { axis } = panel;
  const low = shown.folded && blank(panel);
  const scaled = (second: boolean): uPlot.Axis => ({ ...scaleAxis(axis, palette, second), ...(low && { splits: () => [] }) });
  const series: uPlot.Series[] = [{}];
  const bands: uPlot.Band[] = [];
  for (const band of panel.bands) {
    const first = series.length;
    const ink = palette.inks[band.ink];
    const dash = band.standing === "inferred" ? [6, 4] : palette.dashes[band.ink];
    const main = panel.bands.length === 1;
    // Top before bottom, wide before narrow: a band is filled when its first series is drawn.
    const edge = (width: number): uPlot.Series => ({
      stroke: main ? palette.edge : ink,
      width,
      points: { show: false },
    });
    const median = { ...edge(1.7), stroke: ink, dash };
    series.push(edge(0.7), edge(0.7), edge(0), edge(0), median);
    bands.push(
      { series: [first, first + 1], fill: main ? palette.band90 : ink + "22" },
      { series: [first + 2, first + 3], fill: main ? palette.band50 : ink + "44" },
    );
  }
  return {
    width,
    height: low ? LOW : HEIGHT,
    padding: [6, axis.second_unit ? 0 : RIGHT, 0, 0],
    legend: { show: false },
    cursor: {
      sync: { key: link, scales: ["x", null] },
      y: false,
      points: { show: false },
      drag: { x: true, y: false, setScale: false },
    },
    scales: { x: { time: false }, y: { range: (_u, low, high) => range(shown, axis, low, high) } },
    series,
    bands,
    axes: [
      {
        font: FONT,
        size: 26,
        gap: 2,
        stroke: palette.ink,
        grid: { stroke: palette.grid, width: 1 },
        ticks: { stroke: palette.quiet, width: 1, size: 4 },
        space: 74,
        incrs: [0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 1800, 3600],
        splits: (_u, _i, low, high, step) => {
          const first = Math.ceil((low + strips.start) / step);
          const last = Math.floor((high + strips.start) / step);
          return Array.from({ length: last - first + 1 }, (_, k) => (first + k) * step - strips.start);
        },
        values: (_u, splits, _i, _space, step) =>
          splits.map((value) => clock(value + strips.start, step < 1 ? 1 : 0)),
      },
      scaled(false),
      ...(axis.second_unit ? [scaled(true)] : []),
    ],
    hooks: {
      drawClear: [(u) => paintShades(u, current(), palette)],
      draw: [
        (u) => {
          const { readings } = current();
          if (readings) paintReadings(u, readings, palette);
          paintLevels(u, current(), palette);
          paintMarks(u, strips.marks, palette);
        },
      ],
    },
  };
}

