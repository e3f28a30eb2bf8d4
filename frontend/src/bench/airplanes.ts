// The airplane: the catalogue as cards, and the load against the envelope, live.

import { printed } from "../words";
import { get, write } from "./api";
import type { Bench } from "./bench";
import { announce, button, el, fill, part, svg } from "./dom";
import { Numbers } from "./numbers";
import type { Form } from "./types";

interface Item {
  name: string;
  mass: number;
  station: number;
  most: number | null;
}

interface Card {
  name: string;
  title: string;
  own: boolean;
  chosen: boolean;
  fault?: string;
  description: string;
  class: string;
  engines: number;
  span: number;
  area: number;
  trim: string;
  mass: number;
  station: number;
  empty: { mass: number; station: number };
  items: Item[];
  envelopes: { name: string; corners: [number, number][] }[];
}

const POUND = 0.45359237; // kg, international definition
const INCH = 0.0254; // m, international definition
const FOOT = 0.3048; // m, international definition
const lb = (mass: number): string => `${printed(mass / POUND, 0)} lb`;
const SIZE = { width: 520, height: 300, left: 62, right: 16, top: 14, bottom: 44 };

/** Mass and center of gravity of an empty airplane with its load. Source: sum of moments. */
export function balance(card: Pick<Card, "empty">, items: Item[]): { mass: number; station: number } {
  const all = [card.empty, ...items];
  const mass = all.reduce((sum, one) => sum + one.mass, 0);
  return { mass, station: all.reduce((sum, one) => sum + one.mass * one.station, 0) / mass };
}

/** Round numbers from one end to the other, about five. */
function round(low: number, high: number): number[] {
  const power = 10 ** Math.floor(Math.log10((high - low) / 5));
  const step = [1, 2, 5, 10].map((k) => k * power).find((k) => k >= (high - low) / 5)!;
  const first = Math.ceil(low / step);
  return Array.from({ length: Math.floor(high / step) - first + 1 }, (_, k) => (first + k) * step);
}

/** Whether a point lies within a polygon; edges count. */
function inside(corners: [number, number][], x: number, y: number): boolean {
  let odd = false;
  corners.forEach(([x1, y1], k) => {
    const [x2, y2] = corners[(k + 1) % corners.length];
    if (y1 > y !== y2 > y && x < x1 + ((y - y1) / (y2 - y1)) * (x2 - x1)) odd = !odd;
  });
  return odd;
}

export class Airplanes {
  private readonly place = part("airplanes");

  constructor(private readonly bench: Bench) {}

  async open(): Promise<void> {
    await this.bench.attempt(async () => {
      const cards = await get<Card[]>("airplanes");
      const heading = el("h3", { tabindex: "-1" }, "Airplane");
      const chosen = cards.find((card) => card.chosen && !card.fault);
      fill(
        this.place,
        heading,
        el("p", { class: "hint" }, "The catalogue is invented and named for no real airplane: each stands for a way to be built. Describe your own in a file of the same form, or copy one and change it."),
        el("ul", { class: "airplane-cards" }, ...cards.map((card) => this.card(card))),
        chosen && new Load(this.bench, chosen).root,
        chosen && new Numbers(this.bench, chosen.name, chosen.title, chosen.own).root,
        el("p", { class: "acts" }, button("Close", () => (this.place.hidden = true))),
      );
      this.place.hidden = false;
      heading.focus();
      this.place.scrollIntoView({ block: "start" });
    });
  }

  private card(card: Card): HTMLElement {
    const numbers = card.fault
      ? card.fault
      : `${card.engines} ${card.engines === 1 ? "engine" : "engines"}, span ${printed(card.span / FOOT, 0)} ft, wing ${printed(card.area / FOOT ** 2, 0)} ft\u00b2, pitch trim by ${card.trim}, as loaded ${lb(card.mass)}`;
    return el(
      "li",
      { class: card.chosen ? "chosen" : undefined },
      el("p", {}, el("strong", {}, card.title), ` ${card.class ?? ""} `, card.chosen && el("span", { class: "standing derived" }, card.own ? "in the case" : "chosen")),
      el("p", { class: "hint" }, card.description ?? ""),
      el("p", { class: "hint" }, numbers),
      !card.own && el(
        "p",
        { class: "acts" },
        !card.chosen && button("Use it", () => this.choose(card), { "aria-label": `Use ${card.title}` }),
        button("Copy into the case", () => this.copy(card), { "aria-label": `Copy ${card.title} into the case` }),
      ),
    );
  }

  private async choose({ name, title }: Card): Promise<void> {
    const form = await get<Form>("form");
    const named = form.groups.flatMap((group) => group.fields).find((field) => field.path === "airplane.name")?.value;
    const values = { "airplane.file": name, ...(named ? {} : { "airplane.name": title }) };
    const done = await this.bench.attempt(async () => {
      this.bench.made(await write("PUT", "form", { body: { revision: form.revision, values } }));
    });
    if (done) announce(`The airplane of the case is ${name}; Undo takes it back.`);
    await this.bench.load();
    await this.open();
  }

  private async copy(card: Card): Promise<void> {
    const done = await this.bench.attempt(async () => this.bench.made(await write("POST", "airplanes", { body: { name: card.name } })));
    if (done) announce(`${card.name}.toml is in the case and used as its airplane.`);
    await this.bench.load();
    await this.open();
  }
}

/** The load as sliders, and where mass and center of gravity then stand in the envelope. */
class Load {
  readonly root = el("section", { class: "load", "aria-label": "Load and envelope" });
  private readonly items: Item[];
  private readonly drawing = el("div", { class: "envelope" });
  private readonly said = el("p", { role: "status" });
  private readonly sent = el("span", { role: "status" });

  constructor(private readonly bench: Bench, private readonly card: Card) {
    this.items = card.items.map((item) => ({ ...item }));
    const rows = this.items.map((item, k) => this.row(item, k));
    put(this.root, el("h3", {}, `Load of ${card.title}, against its limits`), el("div", { class: "pair" }, el("div", {}, ...rows, this.said, this.acts()), this.drawing));
    this.draw();
  }

  private row(item: Item, k: number): HTMLElement {
    const most = item.most ?? Math.max(2 * item.mass, 150);
    const range = el("input", { type: "range", id: `load-${k}`, min: 0, max: most, step: most / 100, value: item.mass });
    const told = el("span", { class: "n" });
    const show = (): void => {
      told.textContent = lb(item.mass);
      range.setAttribute("aria-valuetext", lb(item.mass));
    };
    range.addEventListener("input", () => {
      item.mass = Number(range.value);
      show();
      this.draw();
    });
    show();
    const at = `station ${printed(item.station / INCH, 0)} in`;
    return el("div", { class: "knob" }, el("label", { for: range.id }, item.name, el("span", { class: "unit" }, ` ${at}`)), range, told);
  }

  private acts(): HTMLElement {
    return el("p", { class: "acts" }, button("Use this mass and center of gravity in the case", () => this.save()), this.sent);
  }

  private async save(): Promise<void> {
    const { mass, station } = balance(this.card, this.items);
    const values = {
      "airplane.mass": `${(mass).toFixed(0)} kg +- ${Math.max(0.02 * mass, 1).toFixed(0)} kg`,
      "airplane.cg_station": `${station.toFixed(3)} m +- 0.03 m`,
    };
    const form = await get<Form>("form");
    const done = await this.bench.attempt(async () => {
      this.bench.made(await write("PUT", "form", { body: { revision: form.revision, values } }));
    });
    this.sent.textContent = done ? "Saved with \u00b1 2% of the mass and \u00b1 0.03 m (analyst\u2019s estimate); change them in the form." : "";
    await this.bench.load();
  }

  private draw(): void {
    const { mass, station } = balance(this.card, this.items);
    const points = [...this.card.envelopes.flatMap(({ corners }) => corners), [station, mass] as [number, number], [this.card.empty.station, this.card.empty.mass] as [number, number]];
    const [xs, ys] = [points.map((p) => p[0]), points.map((p) => p[1])];
    const pad = (low: number, high: number): [number, number] => [low - 0.08 * (high - low || 1), high + 0.08 * (high - low || 1)];
    const [x0, x1] = pad(Math.min(...xs), Math.max(...xs));
    const [y0, y1] = pad(Math.min(...ys), Math.max(...ys));
    const { width, height, left, right, top, bottom } = SIZE;
    const px = (x: number): number => left + ((x - x0) / (x1 - x0)) * (width - left - right);
    const py = (y: number): number => height - bottom - ((y - y0) / (y1 - y0)) * (height - top - bottom);
    const text = (x: number, y: number, said: string, anchor = "middle"): SVGElement => svg("text", { x, y, "text-anchor": anchor }, said);
    const ticks = [
      ...round(x0 / INCH, x1 / INCH).map((x) => text(px(x * INCH), height - bottom + 16, printed(x, 0))),
      ...round(y0 / POUND, y1 / POUND).flatMap((y) => [
        text(left - 6, py(y * POUND) + 4, printed(y, 0), "end"),
        svg("line", { class: "grid", x1: left, x2: width - right, y1: py(y * POUND), y2: py(y * POUND) }),
      ]),
    ];
    let path: [number, number] = [this.card.empty.station, this.card.empty.mass];
    const walked = this.items.map((item) => {
      const sum = path[1] + item.mass;
      const next: [number, number] = [(path[0] * path[1] + item.station * item.mass) / sum, sum];
      const line = svg("line", { class: "walk", x1: px(path[0]), y1: py(path[1]), x2: px(next[0]), y2: py(next[1]) });
      path = next;
      return line;
    });
    const within = this.card.envelopes.map(({ name, corners }) => ({ name, fits: inside(corners, station, mass) }));
    fill(
      this.drawing,
      svg(
        "svg",
        { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": "Envelope of mass and center of gravity; the dot is the load as set" },
        ...ticks,
        ...this.card.envelopes.map(({ corners }) => svg("polygon", { class: "limits", points: corners.map(([x, y]) => `${px(x)},${py(y)}`).join(" ") })),
        ...walked,
        svg("circle", { class: within.every((one) => one.fits) ? "load-at" : "load-at out", cx: px(station), cy: py(mass), r: 6 }),
        text((left + width) / 2, height - 6, "center of gravity, in aft of the datum"),
        svg("text", { x: 0, y: 0, "text-anchor": "middle", transform: `translate(12 ${(top + height - bottom) / 2}) rotate(-90)` }, "mass, lb"),
      ),
    );
    const limits = within.map((one) => `${one.fits ? "within" : "outside"} the limits for ${one.name}`).join("; ");
    this.said.textContent = `${lb(mass)}, center of gravity ${printed(station / INCH, 1)} in: ${limits || "the file states no limits"}.`;
    this.said.className = within.every((one) => one.fits) ? "" : "error";
  }
}

function put(parent: Element, ...children: Node[]): void {
  parent.append(...children);
}
