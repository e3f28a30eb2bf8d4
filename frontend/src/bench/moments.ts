// Entry "Required moment": the required moment against time and the verdicts that follow.

import { Refused, get, getFigure } from "./api";
import type { Bench, Entry } from "./bench";
import { TimeCharts } from "./charts";
import { themed } from "./theme";
import type { Cursor } from "./cursor";
import { coded, fill, part } from "./dom";
import { WHOLE } from "./motion";
import { sectionParts, sectionTables } from "./sections";
import type { MotionFigure, Section } from "./types";

export class MomentsEntry implements Entry {
  stages: Entry["stages"] = ["moments"];
  failed = false;
  figure: MotionFigure | null = null;
  private readonly watchers: ((figure: MotionFigure) => void)[] = [];

  constructor(readonly bench: Bench, private readonly cursor: Cursor) {}

  onFigure(told: (figure: MotionFigure) => void): void {
    this.watchers.push(told);
    if (this.figure) told(this.figure);
  }

  async refresh(): Promise<void> {
    this.failed = false;
    const missing = this.bench.missing("moments");
    if (missing) {
      fill(part("moments-none"), missing);
      this.clear();
      return;
    }
    try {
      const asked = getFigure<MotionFigure>("figure/moments", { points: WHOLE });
      const [figure, { sections }] = await Promise.all([asked, get<{ sections: Section[] }>("table/moments")]);
      this.figure = { ...figure, palette: themed(figure.palette) };
      fill(part("moments-none"));
      fill(part("moments-words"), ...sections.flatMap(sectionParts));
      fill(part("moments-tables"), ...sections.flatMap(sectionTables));
      this.draw(this.figure);
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      fill(part("moments-none"), ...coded(problem.said));
      this.clear();
    }
  }

  private clear(): void {
    for (const name of ["moments-strips", "moments-words", "moments-tables"]) fill(part(name));
  }

  private draw({ strips, palette }: MotionFigure): void {
    new TimeCharts(part("moments-strips"), {
      name: "the required moment",
      key: "moments",
      strips,
      palette,
      cursor: this.cursor,
    });
    this.watchers.forEach((told) => told(this.figure!));
  }
}
