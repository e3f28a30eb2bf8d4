// Entry "Flight path": strip charts with detail on demand, rows, the path in three views.

import { Attitude } from "./attitude";
import { Side } from "./side";
import { themed } from "./theme";
import { Sight } from "../sight";
import { PathChart } from "../view";
import { Refused, get, getFigure } from "./api";
import { MapView } from "./map";
import type { Bench, Entry } from "./bench";
import { TimeCharts } from "./charts";
import type { Cursor } from "./cursor";
import { el, fill, part, table } from "./dom";
import type { Overlay } from "./overlay";
import { showRows } from "./rows";
import { sentences } from "./sections";
import { type AttitudeAt, FOOT, SpaceView } from "./space";
import { indexAt } from "../times";
import type { Findings, MotionFigure, Space, Surroundings } from "./types";
import { clock } from "../words";

export const WHOLE = 1600; // points of the whole record
const FINE = 1400; // points of a stretch

type Told = (figure: MotionFigure) => void;

/** Course over the ground, pitch and bank at a time; null where one of them is not observable. */
function attitudeAt(strips: MotionFigure["strips"], time: number): ReturnType<AttitudeAt> {
  const at = indexAt(strips.time, time);
  const [course, pitch, bank] = ["track_angle", "pitch_angle", "bank_angle"].map(
    (key) => strips.panels.find((panel) => panel.key === key)?.bands[0].quantiles[2][at] ?? NaN,
  );
  return Number.isFinite(course + pitch + bank) ? { course, pitch, bank } : null;
}

export class MotionEntry implements Entry {
  stages: Entry["stages"] = ["motion"];
  failed = false;
  readonly prints = true;
  figure: MotionFigure | null = null;
  private charts: TimeCharts | null = null;
  private side: Side | null = null;
  private views: PathChart[] = [];
  private space: SpaceView | null = null;
  private map: MapView | null = null;
  private whole: Space | null = null;
  private readonly watchers: Told[] = [];

  constructor(
    readonly bench: Bench,
    private readonly cursor: Cursor,
    private readonly overlay: Overlay,
  ) {}

  /** Entries that draw over the same motion are told of each new one. */
  onFigure(told: Told): void {
    this.watchers.push(told);
    if (this.figure) told(this.figure);
  }

  async refresh(): Promise<void> {
    this.failed = false;
    const missing = this.bench.state && this.bench.missing("motion");
    if (missing) return this.empty(missing);
    try {
      const figure = await getFigure<MotionFigure>("figure/motion", { points: WHOLE });
      this.figure = { ...figure, palette: themed(figure.palette) };
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      this.empty(problem.said);
      return;
    }
    fill(part("motion-none"));
    this.draw(this.figure);
    document.documentElement.dataset.drawn = "yes";
    this.watchers.forEach((told) => told(this.figure!));
    await Promise.all([this.drawSpace(), this.words()]);
  }

  private empty(said: string): void {
    fill(part("motion-none"), said);
    fill(part("motion-strips"));
    fill(part("flight-side"));
    fill(part("motion-words"));
    part("motion-views").hidden = true;
    document.documentElement.dataset.drawn = "none";
  }

  private draw(figure: MotionFigure): void {
    const { strips, palette } = figure;
    // Results made again come into the stretch that was in view.
    const before = this.charts?.strips.start === strips.start ? this.charts.charts.view : undefined;
    if (this.charts) this.overlay.release(this.charts);
    part("motion-views").hidden = !figure.views?.length;
    const attitude = new Attitude(palette);
    this.charts = new TimeCharts(part("motion-strips"), {
      name: "the flight path",
      key: "motion",
      strips,
      palette,
      cursor: this.cursor,
      view: before,
      detail: (from, to) => this.detail(from, to),
      moved: (at, drawn) => {
        attitude.moved(at, drawn);
        this.moved(drawn.time[at]);
      },
      dragged: (from, to) => this.side?.dragged(from, to) ?? false,
      zoomed: (from, to) => this.zoomed(from, to),
      rows: (time) => void showRows(time, strips.start),
    });
    this.side = new Side(this.bench, this.charts, attitude, (path) => this.bench.goTo(path));
    void this.side.refresh();
    this.overlay.attach(this.charts, palette);
    this.views = (figure.views ?? []).map((view) => {
      const holder = document.querySelector<HTMLElement>(`#motion-views [data-view="${view.key}"]`)!;
      return new PathChart(holder, view, strips, palette);
    });
  }

  private async detail(from: number, to: number): Promise<MotionFigure["strips"]> {
    const ticket = ++this.asked;
    const stretch = { from: from.toFixed(3), to: to.toFixed(3), points: FINE };
    const [fine, path] = await Promise.all([
      getFigure<MotionFigure>("figure/motion", stretch),
      this.space && getFigure<Space>("path3d", stretch).catch(() => null),
    ]);
    if (ticket !== this.asked) return fine.strips; // a later stretch is on its way
    if (fine.views?.length) {
      const at = indexAt(fine.strips.time, this.cursor.time - fine.strips.start);
      fine.views.forEach((view, k) => this.views[k]?.replace(view, fine.strips, at));
      this.drawn = fine;
    }
    if (path) {
      this.space?.refine(path);
      this.ground(path);
    }
    return fine.strips;
  }

  /** The ground in the view from the side: as far below the path as in space. */
  private ground({ time, z, ground }: Space): void {
    const above = ground instanceof Float32Array ? z.map((height, k) => (height - ground[k]) / FOOT) : null;
    const profile = this.figure?.views?.findIndex(({ key }) => key === "profile") ?? -1;
    this.views[profile]?.over(above && { time, above });
    part("profile-ground").hidden = above === null;
  }

  private asked = 0;
  /** First and last moment that the charts show, s after the first of the record. */
  get view(): [number, number] | null {
    return this.charts?.charts.view ?? null;
  }

  /** The figure that the path views draw: the whole record, or the last stretch. */
  private drawn: MotionFigure | null = null;

  private moved(time: number): void {
    this.now = time;
    this.sight.ask();
  }

  private now = 0;
  /** The views of the path follow the cursor where they are in sight. */
  private readonly sight = new Sight(part("motion-views"), () => this.follow(this.now));

  private follow(time: number): void {
    if (!this.figure) return;
    const { strips } = this.drawn ?? this.figure;
    const at = indexAt(strips.time, time);
    this.views.forEach((view) => view.moved(at));
    this.space?.moved(time);
    this.map?.moved(time);
  }

  private zoomed(from: number, to: number): void {
    const { strips, views } = this.figure!;
    const fine = this.drawn?.strips.time;
    if (fine && (from < fine[0] - 0.01 || to > fine[fine.length - 1] + 0.01)) {
      this.drawn = null;
      const at = indexAt(strips.time, this.cursor.time - strips.start);
      views?.forEach((view, k) => this.views[k].replace(view, strips, at));
      if (this.whole) this.ground(this.whole);
    }
    this.views.forEach((view) => view.zoomed(from, to));
    this.space?.zoomed(from, to);
    this.map?.zoomed(from, to);
  }

  private async drawSpace(): Promise<void> {
    const holder = part("space");
    const space = await getFigure<Space>("path3d").catch(() => null);
    holder.hidden = space === null;
    if (!space) return;
    const { strips } = this.figure!;
    this.ground(space);
    this.whole = space;
    if (this.space) this.space.renew(space, strips.start, this.figure!.palette);
    else {
      const attitude: AttitudeAt = (time) => attitudeAt((this.drawn ?? this.figure!).strips, time);
      this.space = new SpaceView(holder, part("space-said"), space, strips.start, this.figure!.palette, attitude);
    }
    await this.drawMap(space);
  }

  private async drawMap(path: Space): Promise<void> {
    if (this.map) this.map.renew(path, this.figure!.palette);
    else this.map = new MapView(part("map"), part("map-said"), path, this.figure!.palette);
    const around = await getFigure<Surroundings>("surroundings").catch(() => null);
    if (around) {
      this.map.surround(around);
      this.space?.surround(around);
    }
  }

  private async words(): Promise<void> {
    const findings = await get<Findings>("findings").catch(() => null);
    if (!findings) return fill(part("motion-words"));
    const events = findings.events.map((event, k) => [
      [k + 1],
      [clock(event.time)],
      [`${event.half_width.toFixed(1)} s`],
      [event.kind],
      [event.text],
      [event.source],
    ]);
    fill(
      part("motion-words"),
      el("h3", {}, "What these data show"),
      sentences(findings.statements),
      el("h3", {}, "What these data cannot show"),
      sentences(findings.undetermined),
      el("p", { class: "hint" }, "Absence from this list does not mean a quantity is known."),
      events.length > 0 && el("h3", {}, "Events"),
      events.length > 0 &&
        table(["No.", "UTC, corrected", "\u00b1 (95%)", "Kind", "Event", "Source"], events, { label: "Events" }),
    );
  }
}
