// The report page: reads the figure that stands in the page, draws it, links the cursor.

import { type Figure, type Palette, type Strips, floatsOf, resolve } from "./figure";
import { StripCharts } from "./strips";
import { PathChart } from "./view";
import { clock, reading } from "./words";

interface Page {
  figure: Figure;
  stages: { name: string; strips: Strips }[];
  palette: Palette;
}

const text = (id: string): string => document.getElementById(id)!.textContent!;

function read(): Page {
  const floats = floatsOf(text("figure-floats").trim());
  return resolve(JSON.parse(text("figure-json")), floats) as Page;
}

/** The cursor as a slider: reachable by keyboard, spoken as a time. */
class TimeControl {
  private readonly slider: HTMLInputElement;
  private readonly clocks: HTMLElement;

  constructor(
    private readonly bar: HTMLElement,
    private readonly charts: () => StripCharts,
    private readonly strips: Strips,
  ) {
    this.slider = bar.querySelector("input")!;
    this.clocks = bar.querySelector(".clock")!;
    this.slider.max = String(strips.time.length - 1);
    this.slider.addEventListener("input", () => charts().moveTo(Number(this.slider.value)));
    this.slider.addEventListener("keydown", (event) => this.key(event));
    for (const button of bar.querySelectorAll<HTMLButtonElement>("button")) {
      button.addEventListener("click", () => this.act(button.dataset.act!));
    }
  }

  show(at: number): void {
    const said = clock(this.strips.time[at] + this.strips.start, 1);
    this.slider.value = String(at);
    this.slider.setAttribute("aria-valuetext", `${said} UTC`);
    this.clocks.textContent = said;
  }

  private key(event: KeyboardEvent): void {
    const act = { "+": "in", "=": "in", "-": "out", "0": "all", Enter: "say" }[event.key];
    if (!act) return;
    event.preventDefault();
    this.act(act);
  }

  private act(act: string): void {
    if (act === "in") this.charts().scale(0.5);
    else if (act === "out") this.charts().scale(2);
    else if (act === "all") this.charts().all();
    else if (act === "last") this.charts().last(90);
    else this.say();
  }

  private say(): void {
    const at = Number(this.slider.value);
    const said = this.strips.panels.map((panel) => {
      const { value, span } = reading(panel.bands[0], panel.axis, at);
      return `${panel.title} ${value}${span ? `, ${span}` : ""}`;
    });
    const spoken = clock(this.strips.time[at] + this.strips.start, 1);
    this.bar.querySelector(".spoken")!.textContent = `At ${spoken} UTC: ${said.join("; ")}.`;
  }
}

function draw(root: HTMLElement, strips: Strips, palette: Palette, views: PathChart[]): void {
  let charts: StripCharts;
  const control = new TimeControl(root.querySelector<HTMLElement>(".time-bar")!, () => charts, strips);
  charts = new StripCharts(root, strips, palette, {
    moved: (at) => {
      control.show(at);
      views.forEach((view) => view.moved(at));
    },
    zoomed: (from, to) => views.forEach((view) => view.zoomed(from, to)),
  });
  charts.moveTo(0);
}

function start(): void {
  const { figure, stages, palette } = read();
  const views = figure.views.map((view) => {
    const holder = document.querySelector<HTMLElement>(`[data-view="${view.key}"]`)!;
    return new PathChart(holder, view, figure.strips, palette);
  });
  draw(document.querySelector<HTMLElement>('[data-strips="motion"]')!, figure.strips, palette, views);
  for (const stage of stages) {
    draw(document.querySelector<HTMLElement>(`[data-strips="${stage.name}"]`)!, stage.strips, palette, []);
  }
  document.documentElement.dataset.drawn = "yes";
}

start();
