// The strip charts beside the causes: what was flown over what the airplane did, and the misfit.

import type { Panel, Strips } from "../figure";
import { printed } from "../words";
import { TimeCharts } from "./charts";
import type { Cursor } from "./cursor";
import { bar, button, el, fill, part, svg, table } from "./dom";
import { groundWords } from "./ground";
import { type Overlay, type Shown, curveFor, dashOf, inkOf } from "./overlay";
import { reach, residual, residualStrips } from "./residuals";
import { indexAt } from "../times";
import type { MotionFigure } from "./types";

const COMPARED = [
  "pressure_altitude", "true_airspeed", "vertical_speed", "pitch_angle", "bank_angle", "normal_load_factor",
];
const FORCE = "column_force";
const BEFORE = 10; // s shown before the flown stretch
const LARGE = 6; // standard deviations at the end of a misfit's bar

/** A panel for the force that the flown hands apply; the track says nothing of it. */
function forcePanel(count: number): Panel {
  const nothing = (): Float32Array => new Float32Array(count).fill(NaN);
  return {
    key: FORCE,
    title: "Column force of the flown causes, pull positive",
    axis: { unit: "lbf", low: -40, high: 120, decimals: 0, second_unit: "N", second_factor: 4.4482216, wrap: 0 },
    bands: [{ label: "", standing: "inferred", quantiles: [0, 1, 2, 3, 4].map(nothing), ink: 0 }],
    readings: null,
    levels: [],
    shades: [],
  };
}

export class Against {
  private charts: TimeCharts | null = null;
  private figure: MotionFigure | null = null;
  private started = false;
  private readonly residuals = el("input", { type: "checkbox", id: "residuals" });

  constructor(
    private readonly cursor: Cursor,
    private readonly overlay: Overlay,
    private readonly remove: (cause: string) => void,
  ) {
    overlay.onChange(() => this.changed());
    this.residuals.addEventListener("change", () => this.figure && this.build(this.figure, this.charts?.charts.view));
  }

  draw(figure: MotionFigure): void {
    this.figure = figure;
    this.started = false;
    this.build(figure);
  }

  private build(figure: MotionFigure, view?: [number, number]): void {
    if (this.charts) this.overlay.release(this.charts);
    const { strips, palette } = figure;
    const plain: Strips = {
      ...strips,
      panels: [
        ...COMPARED.flatMap((key) => strips.panels.filter((panel) => panel.key === key)),
        forcePanel(strips.time.length),
      ],
    };
    const left = this.residuals.checked;
    const compared = left ? residualStrips(plain) : plain;
    if (left) {
      const flights = [...this.overlay.shown.values()].map(({ flown }) => flown);
      compared.panels.forEach((panel) => panel.key !== FORCE && reach(panel.axis, panel, strips, flights));
    }
    this.charts = new TimeCharts(part("overlay-strips"), {
      name: left ? "residuals: flown causes less the motion" : "flown causes against the motion",
      view,
      key: "against",
      strips: compared,
      palette,
      cursor: this.cursor,
      brief: true,
      moved: (at, drawn) => this.read(drawn.time[at]),
    });
    this.charts.bar.root.append(el("label", {}, this.residuals, " Residuals: flights less the motion"));
    this.overlay.attach(this.charts, palette, left ? (key, time, curve) => residual(strips, key, time, curve) : undefined);
    this.changed();
  }

  private changed(): void {
    if (!this.charts || !this.figure) return;
    this.legend();
    const first = [...this.overlay.shown.values()][0];
    if (first && !this.started) this.begin(first);
    this.fitForce();
    this.read(this.cursor.time - this.figure.strips.start);
  }

  /** The first flight brings its stretch into view. */
  private begin({ flown: { time } }: Shown): void {
    this.started = true;
    this.charts!.charts.zoom(time[0] - BEFORE, time[time.length - 1] + BEFORE / 2);
  }

  private fitForce(): void {
    const panel = this.charts!.strips.panels.find(({ key }) => key === FORCE)!;
    let [low, high] = [-40, 120];
    for (const { flown } of this.overlay.shown.values()) {
      for (const value of curveFor(flown, FORCE) ?? []) {
        if (value < low) low = value * 1.1;
        if (value > high) high = value * 1.1;
      }
    }
    if (low === panel.axis.low && high === panel.axis.high) return;
    [panel.axis.low, panel.axis.high] = [low, high];
    this.charts!.charts.plot(FORCE)!.setScale("y", { min: low, max: high });
  }

  /** What each flight reads at the cursor, beside the motion's own value. */
  private read(time: number): void {
    for (const panel of this.charts?.strips.panels ?? []) {
      const figure = this.charts!.root.querySelector(`[data-panel="${panel.key}"] .read`)!;
      let place = figure.querySelector<HTMLElement>(".read-flown");
      if (!place) figure.append((place = el("span", { class: "read-flown read-span" })));
      const said = [...this.overlay.shown.values()].flatMap(({ number, flown }) => {
        const curve = curveFor(flown, panel.key);
        const inside = time >= flown.time[0] - 0.01 && time <= flown.time[flown.time.length - 1] + 0.01;
        const value = inside && curve ? curve[indexAt(flown.time, time)] : NaN;
        return Number.isFinite(value) ? [`${number}: ${printed(value, panel.axis.decimals)} ${panel.axis.unit}`] : [];
      });
      place.textContent = said.join("; ");
      if (panel.key === FORCE) figure.querySelector(".read-value")!.textContent = said.length ? "" : "\u2013";
    }
  }

  private legend(): void {
    const rows = [...this.overlay.shown.values()].map((held) => {
      const { palette } = this.figure!;
      const line = svg("line", {
        x1: 0, y1: 7, x2: 40, y2: 7, stroke: inkOf(held.number, palette), "stroke-width": 2.5,
        "stroke-dasharray": dashOf(held.number).join(" "),
      });
      const key = svg("svg", { class: "key", width: 42, height: 14, "aria-hidden": "true" }, line);
      return el(
        "li",
        { "data-flown": held.cause },
        el("strong", {}, `${held.number} `),
        key,
        el("span", { class: "grows" }, held.title),
        button("Remove", () => this.remove(held.cause), { "aria-label": `Remove: ${held.title}` }),
        this.misfit(held),
      );
    });
    const none = el("p", { class: "hint" }, "Tick a cause to fly it over the motion. Turn its settings, and it is flown anew at once.");
    fill(part("overlay-legend"), rows.length ? el("ul", { class: "legend-rows" }, ...rows) : none, this.sideBySide());
  }

  /** Two flights or more in one table: where each fails, and which is nearer there. */
  private sideBySide(): HTMLElement | null {
    const flights = [...this.overlay.shown.values()];
    if (flights.length < 2) return null;
    const channels = [...new Set(flights.flatMap(({ flown }) => Object.keys(flown.misfit.channels ?? {})))];
    const cell = (value: number | null | undefined, least: number): (Node | string)[] => {
      if (value === null || value === undefined) return ["\u2013"];
      const said = Math.abs(value).toFixed(1);
      return [value === least ? el("strong", { class: "n" }, said) : el("span", { class: "n" }, said)];
    };
    const line = (name: string, values: (number | null | undefined)[]): (Node | string)[][] => {
      const least = Math.min(...values.filter((value): value is number => typeof value === "number"));
      return [[name], ...values.map((value) => cell(value, least))];
    };
    const rows = [
      line("all channels", flights.map(({ flown }) => flown.misfit.overall)),
      ...channels.map((name) => line(name.replace(/_/g, " "), flights.map(({ flown }) => flown.misfit.channels?.[name]))),
    ];
    const heads = ["Misfit, standard deviations", ...flights.map(({ number, title }) => `${number} ${title.split(":")[0]}`)];
    return table(heads, rows, { label: "Flights side by side; the smaller misfit of a row is bold", kind: "side-by-side" });
  }

  private misfit({ flown }: Shown): HTMLElement {
    const ground = groundWords(flown, this.figure!.strips.start);
    const { overall, channels, seconds } = flown.misfit;
    const known = Object.entries(channels ?? {}).filter((pair): pair is [string, number] => pair[1] !== null);
    const parts = known.map(([name, z]) =>
      el("span", {}, `${name.replace(/_/g, " ")} `, bar(0, Math.abs(z), Math.abs(z), LARGE, 54), el("span", { class: "n" }, z.toFixed(1))),
    );
    const whole = overall === null ? "\u2013" : overall.toFixed(2);
    return el(
      "div",
      { class: "misfit" },
      el("span", {}, "misfit ", el("strong", { class: "n" }, whole), ` standard deviations (root mean square${seconds ? ` over ${seconds} s` : ""})`),
      ...parts,
      ground && el("span", { class: "ground" }, ground),
    );
  }
}
