// A flight over ground that lies so far below its start. The height of the ground changes no flight,
// so one flight serves for every height; it ends where it meets the ground.

import { clock } from "../words";
import type { Flown, Ground } from "./types";

const HEIGHT = "pressure_altitude";
const SINKS = -1; // of the unit of heights a second, over the last second: still going down

/** The flight up to the ground; as it is where its height is not known. */
export function overGround(flown: Flown, below: number): Flown {
  const height = flown.curves[HEIGHT];
  if (!height?.length) return flown;
  const level = height[0] - below;
  const at = height.findIndex((value) => value <= level);
  const end = at < 0 ? height.length : at + 1;
  const { time } = flown;
  const last = end - 1;
  const before = Math.max(0, time.findIndex((one) => one >= time[last] - 1));
  const ground: Ground = {
    below,
    level,
    met: at < 0 ? null : time[at],
    least: Math.min(...height.subarray(0, end)) - level,
    sinking: height[last] - height[before] < SINKS,
  };
  const curves = Object.fromEntries(Object.entries(flown.curves).map(([name, curve]) => [name, curve.subarray(0, end)]));
  return { ...flown, time: time.subarray(0, end), curves, ground };
}

/** What became of it, in words. */
export function groundWords({ time, ground }: Flown, start: number): string {
  if (!ground) return "";
  const said = `Ground ${Math.round(ground.below)} ft below the start`;
  if (ground.met !== null) return `${said}: met at ${clock(ground.met + start, 1)} UTC.`;
  const least = `lowest point ${Math.round(ground.least)} ft above it in ${Math.round(time[time.length - 1] - time[0])} s`;
  return `${said}: ${least}${ground.sinking ? ", still sinking then" : ""}.`;
}
