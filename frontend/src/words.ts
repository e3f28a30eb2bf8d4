// Numbers and times as people read them.

import type { Axis, Band } from "./figure";

const two = (value: number): string => String(value).padStart(2, "0");

/** UTC clock of a time in seconds after midnight, to `decimals` of a second. */
export function clock(seconds: number, decimals = 0): string {
  const grain = 10 ** decimals;
  const ticks = Math.round(seconds * grain);
  const whole = Math.floor(ticks / grain) % 86400;
  const part = decimals ? "." + String(ticks % grain).padStart(decimals, "0") : "";
  return `${two(Math.floor(whole / 3600))}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}${part}`;
}

/** A number with a true minus sign and commas between thousands. */
export function printed(value: number, decimals: number): string {
  const [whole, part] = Math.abs(value).toFixed(decimals).split(".");
  const grouped = whole.replace(/\B(?=(\d{3})+$)/g, ",");
  const zero = Number(value.toFixed(decimals)) === 0;
  return (value < 0 && !zero ? "\u2212" : "") + grouped + (part ? "." + part : "");
}

const turned = (value: number, axis: Axis): number =>
  axis.wrap ? ((value % axis.wrap) + axis.wrap) % axis.wrap : value;

/** What a panel reads at one time: the median, its unit and the 90% band. */
export function reading(band: Band, axis: Axis, at: number): { value: string; span: string } {
  const [low, , median, , high] = band.quantiles.map((curve) => curve[at]);
  if (!Number.isFinite(median)) return { value: "not observable", span: "" };
  const unit = axis.unit && axis.unit !== "\u00b0" ? ` ${axis.unit}` : axis.unit;
  const show = (value: number): string => printed(turned(value, axis), axis.decimals);
  return { value: show(median) + unit, span: `90%: ${show(low)} to ${show(high)}` };
}

/** A probability in percent to two figures, small and large ones as a bound; as report/words has it. */
export function smallPercent(value: number): string {
  if (value < 1e-3) return "under 0.1%";
  if (value > 0.99) return "over 99%";
  return `${(100 * value).toFixed(value >= 0.1 ? 0 : 1)}%`;
}
