// Entry "Beside the track": the examinations that a case bears, each in the words of the report.

import { Refused, get, getFigure } from "./api";
import type { Bench, Entry } from "./bench";
import { TimeCharts } from "./charts";
import type { Cursor } from "./cursor";
import { coded, el, fill, narrow, part } from "./dom";
import { WHOLE } from "./motion";
import { sectionParts, sectionTables } from "./sections";
import { dark, themed } from "./theme";
import type { MotionFigure, Section, Stage } from "./types";

const STAGES: Stage[] = ["limits", "wreckage", "heard", "felt", "history"];

/** Stages whose picture is no strip chart: key and what it shows. */
const PICTURES: Partial<Record<Stage, [string, string]>> = {
  history: ["history", "Height and speed of this flight over those of earlier flights; the table below has what differs"],
};

function drawnOf(stage: Stage, section: Section): HTMLElement | null {
  const [key, said] = PICTURES[stage] ?? [];
  if (!key || section.tables.length === 0) return null;
  const [form, width, height] = narrow() ? ["tall", 1080, 1920] : ["wide", 1920, 1080];
  const address = `api/picture/${key}?${new URLSearchParams({ form: String(form), ground: dark() ? "dark" : "light" })}`;
  const shown = el("img", { src: address, alt: said, loading: "lazy", width, height });
  const place = el("figure", { class: "drawn" }, shown);
  shown.addEventListener("error", () => place.remove()); // such as too few flights for a cloud
  return place;
}

export class BesideEntry implements Entry {
  stages: Entry["stages"] = STAGES;
  failed = false;

  constructor(readonly bench: Bench, private readonly cursor: Cursor) {}

  async refresh(): Promise<void> {
    this.failed = false;
    const there = STAGES.filter((stage) => !this.bench.missing(stage));
    fill(part("beside-none"), there.length === 0 && this.bench.missing(STAGES[0]!));
    fill(part("beside-body"));
    for (const stage of there) {
      try {
        await this.show(stage);
      } catch (problem) {
        if (!(problem instanceof Refused)) throw problem;
        this.failed = true;
        fill(part("beside-none"), ...coded(problem.said));
      }
    }
  }

  private async show(stage: Stage): Promise<void> {
    const { sections } = await get<{ sections: Section[] }>(`table/${stage}`);
    for (const section of sections) {
      const strips = el("div", {});
      const body = el("section", { class: "examined" }, el("h3", {}, section.title), ...sectionParts(section), strips, drawnOf(stage, section), ...sectionTables(section));
      part("beside-body").append(body);
      if (section.panels.length) this.draw(strips, section, await getFigure<MotionFigure>(`figure/${stage}`, { points: WHOLE }));
    }
  }

  private draw(place: HTMLElement, section: Section, { strips, palette }: MotionFigure): void {
    new TimeCharts(place, { name: section.title, key: section.stage, strips, palette: themed(palette), cursor: this.cursor });
  }
}
