// The same charts with the motion taken off: what is left of a flight, against the band of the data.

import type { Axis, Panel, Strips } from "../figure";
import { valueAt } from "../times";
import type { Flown } from "./types";
import { curveFor } from "./overlay";

const half = (value: number, turn: number): number => (turn ? value - turn * Math.round(value / turn) : value);

const less = (curve: Float32Array, middle: Float32Array, turn: number): Float32Array =>
  curve.map((value, k) => half(value - middle[k], turn));

/** A panel about its own median. */
function centred(panel: Panel, time: Float32Array): Panel {
  const turn = panel.axis.wrap;
  const middle = panel.bands[0].quantiles[2];
  const { readings } = panel;
  const left = readings && {
    ...readings,
    value: readings.value.map((value, k) => half(value - valueAt(time, middle, readings.time[k]), turn)),
  };
  return {
    ...panel,
    axis: { ...panel.axis, wrap: 0, second_unit: "" },
    bands: panel.bands.map((band) => ({ ...band, quantiles: band.quantiles.map((curve) => less(curve, middle, turn)) })),
    readings: left,
    levels: [],
  };
}

export const residualStrips = (strips: Strips): Strips => ({ ...strips, panels: strips.panels.map((panel) => centred(panel, strips.time)) });

/** A flight's curve less the median of the motion. */
export function residual(strips: Strips, key: string, time: Float32Array, curve: Float32Array): Float32Array {
  const panel = strips.panels.find((held) => held.key === key);
  if (!panel || !Number.isFinite(panel.bands[0].quantiles[2][0] + panel.bands[0].quantiles[2][1])) return curve;
  const middle = panel.bands[0].quantiles[2];
  return curve.map((value, k) => half(value - valueAt(strips.time, middle, time[k]), panel.axis.wrap));
}

/** Set an axis to hold what flights leave over, and the band, symmetric about zero. */
export function reach(axis: Axis, panel: Panel, strips: Strips, flights: Flown[]): void {
  let most = 1e-6;
  const [low, , , , high] = panel.bands[0].quantiles;
  for (const edge of [low, high]) for (const value of edge) if (Math.abs(value) > most) most = Math.abs(value);
  for (const flown of flights) {
    const curve = curveFor(flown, panel.key);
    if (!curve) continue;
    for (const value of residual(strips, panel.key, flown.time, curve)) if (Math.abs(value) > most) most = Math.abs(value);
  }
  [axis.low, axis.high] = [-1.15 * most, 1.15 * most];
}
