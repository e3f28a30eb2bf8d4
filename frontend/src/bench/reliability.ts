// How often what was given a probability came true, on flights whose cause was known.

import { el, svg, table } from "./dom";
import type { Odds } from "./types";

const SIZE = 240;
const LEFT = 44;
const TOP = 8;

const x = (value: number): number => LEFT + value * SIZE;
const y = (value: number): number => TOP + (1 - value) * SIZE;

function frame(): SVGElement[] {
  const ticks = [0, 0.25, 0.5, 0.75, 1].flatMap((at) => [
    svg("line", { x1: x(at), y1: y(0), x2: x(at), y2: y(1), stroke: "var(--rule)" }),
    svg("line", { x1: x(0), y1: y(at), x2: x(1), y2: y(at), stroke: "var(--rule)" }),
    svg("text", { x: x(at), y: y(0) + 15, "text-anchor": "middle" }, String(at)),
    svg("text", { x: x(0) - 5, y: y(at) + 4, "text-anchor": "end" }, String(at)),
  ]);
  return [
    ...ticks,
    svg("line", { x1: x(0), y1: y(0), x2: x(1), y2: y(1), stroke: "var(--quiet)", "stroke-dasharray": "5 4" }),
    svg("text", { x: x(0.5), y: y(0) + 32, "text-anchor": "middle" }, "probability given"),
    svg("text", { x: 0, y: 0, "text-anchor": "middle", transform: `translate(11 ${y(0.5)}) rotate(-90)` }, "share that came true"),
  ];
}

/** Diagram with the same numbers as a table beside it; nothing where nothing was measured. */
export function reliabilityDiagram(given: Odds["reliability"]): HTMLElement | null {
  const bins = given.filter((bin) => bin.count > 0 && typeof bin.predicted === "number" && typeof bin.observed === "number");
  if (bins.length === 0) return null;
  const points = bins.map((bin) => {
    const error = 2 * Math.sqrt((bin.observed * (1 - bin.observed) + 0.25 / bin.count) / bin.count);
    const [low, high] = [Math.max(0, bin.observed - error), Math.min(1, bin.observed + error)];
    return svg(
      "g",
      {},
      svg("line", { x1: x(bin.predicted), x2: x(bin.predicted), y1: y(low), y2: y(high), stroke: "var(--edge)", "stroke-width": 2 }),
      svg("circle", { cx: x(bin.predicted), cy: y(bin.observed), r: 4.5, fill: "var(--derived)" }),
    );
  });
  const said = "Reliability diagram: probability given against share that came true; the table has the numbers";
  const drawing = svg(
    "svg",
    { width: SIZE + 60, height: SIZE + 46, viewBox: `0 0 ${SIZE + 60} ${SIZE + 46}`, role: "img", "aria-label": said },
    ...frame(),
    ...points,
  );
  const rows = bins.map((bin) => [[bin.predicted.toFixed(2)], [bin.observed.toFixed(2)], [bin.count]]);
  return el(
    "div",
    {},
    el("h3", {}, "Calibration: do the stated probabilities come true?"),
    el("p", { class: "hint" }, "Perfect calibration lies on the dashed line. Bars: two standard errors of the share."),
    el(
      "div",
      { class: "reliability" },
      drawing,
      table(["Probability given", "Share that came true", "Times given"], rows, { label: "Reliability" }),
    ),
  );
}
