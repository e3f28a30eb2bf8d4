// Small line charts as drawings: curves against time with their bands.

import { printed } from "../words";
import { svg } from "./dom";

const SIZE = { width: 430, height: 210, left: 46, right: 12, top: 10, bottom: 36 };

export interface Line {
  label: string;
  y: (number | null)[];
  low?: (number | null)[];
  high?: (number | null)[];
  ink: string;
  dash?: string;
}

type Point = [number, number];

function points(x: number[], y: (number | null)[]): Point[] {
  return x.flatMap((at, k): Point[] => (typeof y[k] === "number" ? [[at, y[k] as number]] : []));
}

const steps = (low: number, high: number): number[] => {
  const raw = (high - low) / 5 || 1;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = [1, 2, 5, 10].map((k) => k * power).find((k) => k >= raw)!;
  const first = Math.ceil(low / step - 1e-9);
  return Array.from({ length: Math.floor(high / step + 1e-9) - first + 1 }, (_, k) => (first + k) * step);
};

const decimalsOf = (values: number[]): number =>
  values.length > 1 ? Math.max(0, -Math.floor(Math.log10(values[1] - values[0]) + 1e-9)) : 0;

/** Curves over one x; each carries its label, so that colour is not needed to tell them apart. */
export function lineChart(x: number[], lines: Line[], xLabel: string, yLabel: string, said: string): SVGElement {
  const all = lines.flatMap((line) => [line.y, line.low ?? [], line.high ?? []].flat()).filter((v) => v !== null);
  const [low, high] = [Math.min(0, ...(all as number[])), Math.max(1e-9, ...(all as number[]))];
  const { width, height, left, right, top, bottom } = SIZE;
  const [first, last] = [x[0], x[x.length - 1]];
  const px = (value: number): number => left + ((value - first) / (last - first || 1)) * (width - left - right);
  const py = (value: number): number => height - bottom - ((value - low) / (high - low)) * (height - top - bottom);
  const [xs, ys] = [steps(first, last), steps(low, high)];
  const path = (found: Point[]): string => found.map(([a, b], k) => `${k ? "L" : "M"}${px(a).toFixed(1)} ${py(b).toFixed(1)}`).join("");
  const grid = [
    ...xs.map((at) => svg("text", { x: px(at), y: height - bottom + 14, "text-anchor": "middle" }, printed(at, decimalsOf(xs)))),
    ...ys.flatMap((at) => [
      svg("line", { x1: left, x2: width - right, y1: py(at), y2: py(at), stroke: "var(--rule)" }),
      svg("text", { x: left - 5, y: py(at) + 4, "text-anchor": "end" }, printed(at, decimalsOf(ys))),
    ]),
    svg("text", { x: (left + width) / 2, y: height - 5, "text-anchor": "middle" }, xLabel),
    svg("text", { x: 0, y: 0, "text-anchor": "middle", transform: `translate(11 ${(top + height - bottom) / 2}) rotate(-90)` }, yLabel),
  ];
  const halfway = (low + high) / 2;
  const drawn = lines.flatMap((line, k) => {
    const middle = points(x, line.y);
    const edge = line.low && line.high ? [...points(x, line.high), ...points(x, line.low).reverse()] : [];
    const end = [...middle].sort((a, b) => Math.abs(a[1] - halfway) - Math.abs(b[1] - halfway))[0];
    const before = k > 0;
    return [
      edge.length > 0 && svg("path", { d: `${path(edge)}Z`, fill: "var(--band-90)" }),
      svg("path", { d: path(middle), fill: "none", stroke: line.ink, "stroke-width": 2, "stroke-dasharray": line.dash }),
      end && svg("text", { x: px(end[0]), y: py(end[1]), dx: before ? -8 : 8, "text-anchor": before ? "end" : "start", fill: line.ink }, line.label),
    ];
  });
  return svg("svg", { class: "lines", viewBox: `0 0 ${width} ${height}`, width, height, role: "img", "aria-label": said }, ...grid, ...drawn);
}
