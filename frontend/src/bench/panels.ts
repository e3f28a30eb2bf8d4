// The skeleton of a set of strip charts: the bar of the time cursor and a figure for each panel.

import type { Panel, Strips } from "../figure";
import { blank } from "../strip";
import { button, el, standing } from "./dom";
import { SPEEDS } from "./cursor";

function panelFigure(panel: Panel): HTMLElement {
  const { axis } = panel;
  const units = axis.unit && ` ${axis.unit}${axis.second_unit ? ` \u00b7 right: ${axis.second_unit}` : ""}`;
  const caption = el(
    "figcaption",
    {},
    panel.title,
    units && el("span", { class: "unit" }, units),
    " ",
    standing(panel.bands[0].standing),
    panel.readings && " ",
    panel.readings && standing("fact"),
    panel.shades.length > 0 && el("span", { class: "partly" }, blank(panel) ? "\u25a8 nowhere observable" : "\u25a8 partly not observable"),
  );
  const said = `Strip chart of ${panel.title.toLowerCase()} against time with 50% and 90% bands; `;
  return el(
    "figure",
    { class: "panel", "data-panel": panel.key },
    caption,
    el("div", { class: "plot", role: "img", "aria-label": `${said}the values are read with the time cursor` }),
    el("p", { class: "read" }, el("span", { class: "read-value" }), el("span", { class: "read-span" })),
  );
}

const BRIEF = ["in", "out", "all", "say"];

export interface Bar {
  root: HTMLElement;
  slider: HTMLInputElement;
  clock: HTMLElement;
  play: HTMLButtonElement;
  speed: HTMLSelectElement;
  from: HTMLInputElement;
  to: HTMLInputElement;
  fit: HTMLInputElement;
  spoken: HTMLElement;
}

/** The bar of the time cursor; buttons carry what they do in `data-act`. */
export function timeBar(name: string, brief = false): Bar {
  const slider = el("input", { type: "range", min: 0, max: 1, step: 1, value: 0 });
  const clock = el("span", { class: "clock" }, "\u2013");
  const play = button("Play", () => undefined, { "data-act": "play" });
  const speeds = SPEEDS.map((speed) => el("option", { value: speed }, `\u00d7 ${speed}`));
  const speed = el("select", {}, ...speeds);
  const from = el("input", { type: "text", size: 8, autocomplete: "off", "data-end": "from" });
  const to = el("input", { type: "text", size: 8, autocomplete: "off", "data-end": "to" });
  const fit = el("input", { type: "checkbox" });
  const spoken = el("p", { class: "spoken", role: "status" });
  // Short steps stand together; each has its name for those who hear the page, and for a pointer at rest.
  const steps: [string, string, string][] = [
    ["earlier", "\u2190", "Earlier"],
    ["out", "\u2212", "Zoom out"],
    ["in", "+", "Zoom in"],
    ["later", "\u2192", "Later"],
  ];
  const step = ([act, mark, said]: [string, string, string]): HTMLElement =>
    button(mark, () => undefined, { "data-act": act, "aria-label": said, title: said });
  const every: [string, string][] = [
    ["all", "Whole record"],
    ["last", "Last 90 s"],
    ["rows", "Rows here"],
    ["say", "Values in words"],
  ];
  const acts = brief ? every.filter(([act]) => BRIEF.includes(act)) : every;
  const stretch = [
    el("label", {}, "From ", from),
    el("label", {}, "to ", to),
    el("label", {}, fit, " Scales follow"),
  ];
  const root = el(
    "div",
    { class: "time-bar", role: "group", "aria-label": `Time cursor: ${name}` },
    el("label", { class: "long" }, "Time cursor ", slider),
    el("output", {}, clock, " UTC"),
    play,
    !brief && el("label", {}, "Speed ", speed),
    el("span", { class: "steps", role: "group", "aria-label": "Stretch in view" }, ...steps.filter(([act]) => !brief || BRIEF.includes(act)).map(step)),
    ...acts.map(([act, text]) => button(text, () => undefined, { "data-act": act })),
    ...(brief ? [] : stretch),
    spoken,
  );
  return { root, slider, clock, play, speed, from, to, fit, spoken };
}

/** Bar and panels of one set of strip charts. */
export function stripSkeleton(
  name: string,
  key: string,
  strips: Strips,
  brief = false,
): { root: HTMLElement; bar: Bar } {
  const bar = timeBar(name, brief);
  const root = el("div", { class: "strips", "data-strips": key }, bar.root, ...strips.panels.map(panelFigure));
  return { root, bar };
}
