// Sliders with a number beside them, the unit, and the range of the prior.

import { el } from "./dom";
import type { Parameter } from "./types";

const STEPS = 200;

const short = (value: number): string => String(Number(value.toPrecision(4)));

export interface Knob {
  root: HTMLElement;
  value(): number;
}

/** A parameter of a cause: the slider covers its prior's range, a typed number may leave it. */
export function knob(parameter: Parameter, id: string, changed: () => void): Knob {
  const { low, high, median, unit } = parameter;
  const first = parameter.value ?? median;
  const span = high - low || 1;
  const said = parameter.meaning || parameter.name;
  const range = el("input", {
    type: "range", id, min: low - 0.25 * span, max: high + 0.25 * span, step: span / STEPS, value: first,
    "aria-describedby": `${id}-prior`,
  });
  const number = el("input", {
    type: "number", step: "any", value: short(first), "aria-label": `${said}, ${unit || "no unit"}, as a number`,
  });
  let value = first;
  const set = (next: number, from: HTMLInputElement): void => {
    if (!Number.isFinite(next)) return;
    value = next;
    if (from !== number) number.value = short(next);
    if (from !== range) range.value = String(next);
    range.setAttribute("aria-valuetext", `${short(next)} ${unit}`);
    changed();
  };
  range.addEventListener("input", () => set(Number(range.value), range));
  number.addEventListener("input", () => set(number.valueAsNumber, number));
  const prior = `Prior: ${short(low)} to ${short(high)} ${unit} (90%), middle ${short(median)}. ${parameter.source}`;
  const root = el(
    "div",
    { class: "knob" },
    el("label", { for: id }, said, unit && el("span", { class: "unit" }, ` ${unit}`)),
    range,
    number,
    el("small", { id: `${id}-prior` }, prior),
  );
  return { root, value: () => value };
}
