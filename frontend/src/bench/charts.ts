// A set of strip charts of the notebook: its bar, its detail on demand, and the page's time cursor.

import type { Palette, Strips } from "../figure";
import { StripCharts } from "../strips";
import { clock, reading } from "../words";
import type { Cursor } from "./cursor";
import { announce, el, fill } from "./dom";
import { gestures } from "./gestures";
import { Lane } from "./lane";
import { Overview } from "./overview";
import { type Bar, stripSkeleton } from "./panels";
import { indexAt } from "../times";
import { secondsOf, splice } from "./stretch";

export interface Wanted {
  name: string;
  key: string;
  strips: Strips;
  palette: Palette;
  cursor: Cursor;
  /** More detail of a stretch, in seconds after the start of the record. */
  detail?: (from: number, to: number) => Promise<Strips>;
  moved?: (at: number, strips: Strips) => void;
  zoomed?: (from: number, to: number) => void;
  rows?: (time: number) => void;
  /** The stretch to begin with, where it is not the whole record. */
  view?: [number, number];
  /** Only the acts that are wanted beside other things. */
  brief?: boolean;
  /** What a drag across a chart does besides showing the stretch; true where it was dealt with. */
  dragged?: (from: number, to: number) => boolean;
}

const DETAIL_AFTER = 140; // ms of rest before more detail is asked for

export class TimeCharts {
  readonly root: HTMLElement;
  readonly bar: Bar;
  readonly charts: StripCharts;
  /** The whole record in one lane, and the words of events; not where little room is. */
  readonly overview: Overview | null = null;
  private readonly lane: Lane | null = null;
  private readonly whole: Strips;
  private asked = 0;
  private timer = 0;
  private seen = true;
  private readonly scaled: ((key: string) => void)[] = [];

  constructor(place: HTMLElement, private readonly wanted: Wanted) {
    const { strips, palette, cursor } = wanted;
    this.whole = strips;
    ({ root: this.root, bar: this.bar } = stripSkeleton(wanted.name, wanted.key, strips, wanted.brief));
    fill(place, this.root);
    this.bar.fit.checked = !wanted.brief;
    const told = {
      moved: (at: number): void => this.moved(at),
      zoomed: (from: number, to: number): void => this.zoomed(from, to),
      renewed: (key: string): void => this.scaled.forEach((hear) => hear(key)),
      picked: (time: number): void => wanted.rows?.(time),
      dragged: (from: number, to: number): boolean => wanted.dragged?.(from, to) ?? false,
    };
    this.charts = new StripCharts(this.root, strips, palette, told, !wanted.brief);
    const shows = { view: () => this.charts.view, zoom: (from: number, to: number) => this.charts.zoom(from, to) };
    if (!wanted.brief) {
      this.overview = new Overview(strips, palette, shows, wanted.name);
      this.lane = new Lane(strips, (time) => this.charts.moveTo(indexAt(this.strips.time, time)));
      this.bar.root.after(el("div", { class: "axis" }, this.overview.root, this.lane.root));
      new ResizeObserver(() => this.lane?.show(...this.charts.view)).observe(this.root);
    }
    this.charts.every.forEach((plot) => gestures(plot, shows));
    this.wire();
    cursor.follow((time, from) => from !== this && this.take(time));
    new IntersectionObserver((entries) => this.scrolled(entries)).observe(this.root);
    // The library sets its scales after this turn; only then do places on the screen exist.
    requestAnimationFrame(() => this.begin());
  }

  private begin(): void {
    const { time } = this.wanted.cursor;
    if (Number.isFinite(time)) this.take(time);
    else this.charts.moveTo(0);
    if (this.wanted.view) this.charts.zoom(...this.wanted.view);
    this.say();
  }

  get strips(): Strips {
    return this.charts.strips;
  }

  private wire(): void {
    const { slider, from, to, fit, speed } = this.bar;
    slider.max = String(this.strips.time.length - 1);
    slider.addEventListener("input", () => this.charts.moveTo(Number(slider.value)));
    slider.addEventListener("keydown", (event) => this.key(event));
    for (const act of this.bar.root.querySelectorAll<HTMLButtonElement>("button[data-act]")) {
      act.addEventListener("click", () => this.act(act.dataset.act!));
    }
    for (const end of [from, to]) {
      end.addEventListener("change", () => this.typed());
    }
    fit.addEventListener("change", () => this.charts.fitScales(fit.checked));
    speed.addEventListener("change", () => (this.wanted.cursor.speed = Number(speed.value)));
    this.wanted.cursor.onPlay((playing) => (this.bar.play.textContent = playing ? "Pause" : "Play"));
    if (!this.wanted.rows) this.bar.root.querySelector('[data-act="rows"]')?.remove();
  }

  private key(event: KeyboardEvent): void {
    const shifted: Record<string, string> = { ArrowLeft: "earlier", ArrowRight: "later" };
    const plain: Record<string, string> = {
      "+": "in", "=": "in", "-": "out", "0": "all", p: "play", w: "say",
      Enter: this.wanted.rows ? "rows" : "say",
    };
    const act = (event.shiftKey ? shifted[event.key] : undefined) ?? plain[event.key];
    if (!act || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    this.act(act);
  }

  private act(act: string): void {
    const { charts } = this;
    const [from, to] = charts.view;
    const shift = (to - from) * 0.25;
    const does: Record<string, () => void> = {
      in: () => charts.scale(0.5),
      out: () => charts.scale(2),
      all: () => charts.all(),
      last: () => charts.last(90),
      earlier: () => charts.zoom(from - shift, to - shift),
      later: () => charts.zoom(from + shift, to + shift),
      play: () => this.wanted.cursor.play(from + this.strips.start, to + this.strips.start),
      rows: () => this.wanted.rows?.(this.strips.time[Number(this.bar.slider.value)]),
      say: () => this.speak(),
    };
    does[act]();
  }

  private moved(at: number): void {
    const time = this.strips.time[at] + this.strips.start;
    this.label(at, time);
    this.wanted.moved?.(at, this.strips);
    this.wanted.cursor.set(time, this);
  }

  private label(at: number, time: number): void {
    this.overview?.moved(time - this.strips.start);
    const said = clock(time, 1);
    if (this.bar.slider.value !== String(at)) this.bar.slider.value = String(at);
    if (this.bar.clock.textContent === said) return;
    this.bar.slider.setAttribute("aria-valuetext", `${said} UTC`);
    this.bar.clock.textContent = said;
  }

  /** Follow the page's cursor; charts out of sight wait until they are seen. */
  private take(time: number): void {
    if (!this.seen) return;
    const within = time - this.strips.start;
    const { time: times } = this.strips;
    if (within < times[0] - 1 || within > times[times.length - 1] + 1) return;
    const at = indexAt(times, within);
    this.label(at, time);
    this.charts.lineAt(within, at);
    this.wanted.moved?.(at, this.strips);
  }

  private scrolled(entries: IntersectionObserverEntry[]): void {
    this.seen = entries[entries.length - 1].isIntersecting;
    if (this.seen && Number.isFinite(this.wanted.cursor.time)) this.take(this.wanted.cursor.time);
  }

  private zoomed(from: number, to: number): void {
    this.overview?.zoomed();
    this.lane?.show(from, to);
    this.say();
    this.wanted.zoomed?.(from, to);
    if (!this.wanted.detail) return;
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => void this.refine(from, to), DETAIL_AFTER);
  }

  /** What is drawn over the charts follows their scales. */
  onScale(told: (key: string) => void): void {
    this.scaled.push(told);
  }

  /** Ask for the stretch in view and a half of it to each side; the last stretch asked for wins. */
  private async refine(from: number, to: number): Promise<void> {
    const ticket = ++this.asked;
    const half = (to - from) / 2;
    const last = this.whole.time[this.whole.time.length - 1];
    const ends: [number, number] = [Math.max(0, from - half), Math.min(last, to + half)];
    if (ends[0] <= 0 && ends[1] >= last) return this.redraw(this.whole);
    const fine = await this.wanted.detail!(...ends).catch(() => null);
    if (fine && ticket === this.asked) this.redraw(splice(this.whole, fine));
  }

  private redraw(strips: Strips): void {
    if (strips === this.strips) return;
    this.charts.replace(strips);
    this.bar.slider.max = String(strips.time.length - 1);
    const time = this.wanted.cursor.time - strips.start;
    if (Number.isFinite(time)) this.bar.slider.value = String(indexAt(strips.time, time));
  }

  private say(): void {
    const [from, to] = this.charts.view;
    this.bar.from.value = clock(from + this.strips.start);
    this.bar.to.value = clock(to + this.strips.start);
  }

  private typed(): void {
    const [from, to] = [this.bar.from, this.bar.to].map(
      (input) => secondsOf(input.value, this.strips.start) - this.strips.start,
    );
    if (Number.isFinite(from) && Number.isFinite(to) && to > from) return this.charts.zoom(from, to);
    this.say();
    announce("A stretch runs from one time to a later one, each written like 18:54:30.");
  }

  private speak(): void {
    const at = Number(this.bar.slider.value);
    const said = this.strips.panels.map((panel) => {
      const { value, span } = reading(panel.bands[0], panel.axis, at);
      return `${panel.title} ${value}${span ? `, ${span}` : ""}`;
    });
    const spoken = clock(this.strips.time[at] + this.strips.start, 1);
    this.bar.spoken.textContent = `At ${spoken} UTC: ${said.join("; ")}.`;
  }
}
