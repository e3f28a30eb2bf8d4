// Sliders with a number beside them, in the unit that people read, within the range of the prior.

import { type Child, el } from "./dom";
import type { Parameter } from "./types";

const STEPS = 200;

const short = (value: number): string => String(Number(value.toPrecision(4)));

export interface Knob {
  root: HTMLElement;
  /** SI. */
  value(): number;
  /** Set it, SI; nothing is told. */
  set(value: number): void;
}

/** Places on a slider: even steps, or even ratios for what is believed by its logarithm. */
function scaleOf({ low, high, shape }: Parameter): { at(value: number): number; of(place: number): number } {
  const within = (share: number): number => Math.min(Math.max(share, 0), 1) * STEPS;
  if (shape === "lognormal" && low > 0) {
    const span = Math.log(high / low) || 1;
    return { at: (value) => within(Math.log(Math.max(value, 1e-12) / low) / span), of: (place) => low * Math.exp((place / STEPS) * span) };
  }
  const span = high - low || 1;
  return { at: (value) => within((value - low) / span), of: (place) => low + (place / STEPS) * span };
}

/** A parameter that is one thing or another: a list, not a slider. */
function choice(parameter: Parameter, id: string, changed: () => void): Knob {
  const select = el("select", { id }, ...parameter.choices!.map(({ value, label }) => el("option", { value }, label)));
  const set = (value: number): void => void (select.value = String(value));
  set(parameter.value ?? parameter.choices![0].value);
  select.addEventListener("input", changed);
  const root = el("div", { class: "knob" }, el("label", { for: id }, parameter.said || parameter.meaning), select);
  return { root, value: () => Number(select.value), set };
}

/** A parameter of a cause: the slider covers the range of its prior, and so does the number. */
export function knob(parameter: Parameter, id: string, changed: () => void): Knob {
  if (parameter.choices?.length) return choice(parameter, id, changed);
  const { low, high, median, unit } = parameter;
  const factor = parameter.shown?.factor ?? 1;
  const symbol = parameter.shown?.symbol ?? unit;
  const [least, most] = [parameter.least ?? low, parameter.most ?? high];
  const said = parameter.meaning || parameter.name;
  const scale = scaleOf(parameter);
  const inUnit = (value: number): string => short(value / factor);
  const range = el("input", { type: "range", id, min: 0, max: STEPS, step: 1, "aria-describedby": `${id}-prior` });
  const number = el("input", {
    type: "number", step: "any", min: inUnit(least), max: inUnit(most), "aria-label": `${said}, ${symbol || "no unit"}, as a number`,
    "aria-describedby": `${id}-prior`,
  });
  let value = parameter.value ?? median;
  const show = (from: HTMLInputElement | null): void => {
    if (from !== number) number.value = inUnit(value);
    if (from !== range) range.value = String(scale.at(value));
    range.setAttribute("aria-valuetext", `${inUnit(value)} ${symbol}`);
  };
  const take = (next: number, from: HTMLInputElement): void => {
    const sense = Number.isFinite(next) && next >= least - 1e-9 && next <= most + 1e-9;
    number.toggleAttribute("aria-invalid", false);
    if (!sense) return number.setAttribute("aria-invalid", "true");
    value = next;
    show(from);
    changed();
  };
  range.addEventListener("input", () => take(scale.of(Number(range.value)), range));
  number.addEventListener("input", () => take(number.valueAsNumber * factor, number));
  number.addEventListener("change", () => (number.removeAttribute("aria-invalid"), show(null)));
  show(null);
  const allowed = parameter.most === undefined ? "" : ` A number may be ${inUnit(least)} to ${inUnit(most)}.`;
  const prior: Child = `Prior: ${inUnit(low)} to ${inUnit(high)} ${symbol} (90%), median ${inUnit(median)}.${allowed} ${parameter.source}`;
  const root = el(
    "div",
    { class: "knob" },
    el("label", { for: id }, said, symbol && el("span", { class: "unit" }, ` ${symbol}`)),
    range,
    number,
    el("small", { id: `${id}-prior` }, prior),
  );
  return { root, value: () => value, set: (next) => ((value = next), show(null)) };
}
