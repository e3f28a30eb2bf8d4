// Entry "Answer": the answer sheet of the report, the first thing that the page shows.

import { Refused, get } from "./api";
import type { Bench, Entry } from "./bench";
import { announce, coded, el, fill, part } from "./dom";
import { dark } from "./theme";

const WAITS = "No study yet. Give the evidence below and run all; the answer then stands here.";

/** The sheet of a page that the server made; its headings stand below that of this entry, and its parts
 * are no landmarks beside the entries of the same name. */
function sheetOf(html: string): Element | null {
  const sheet = new DOMParser().parseFromString(html, "text/html").querySelector(".sheet-page");
  for (const head of sheet?.querySelectorAll("h1, h2") ?? []) {
    const low = el("h3", { class: head.className, id: head.id });
    low.append(...head.childNodes);
    head.replaceWith(low);
  }
  sheet?.querySelectorAll("section").forEach((part) => part.removeAttribute("aria-labelledby"));
  return sheet && document.importNode(sheet, true);
}

export class AnswerEntry implements Entry {
  stages: Entry["stages"] = ["motion", "moments", "weighing", "response"];
  failed = false;
  readonly prints = true;
  private waited = false;

  constructor(readonly bench: Bench) {
    bench.onState(({ stages }) => {
      part("answer-stale").hidden = !Object.values(stages).some((held) => held?.stale);
    });
  }

  async refresh(): Promise<void> {
    this.failed = false;
    if (this.bench.missing("motion")) {
      this.waited = true;
      this.show(null, WAITS);
      return;
    }
    try {
      const { html } = await get<{ html: string }>("answer", { ground: dark() ? "dark" : undefined });
      this.show(sheetOf(html), "");
      if (this.waited) this.open();
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      this.show(null, problem.said);
    }
  }

  private show(sheet: Element | null, said: string): void {
    fill(part("answer-none"), ...coded(said));
    fill(part("answer-body"), sheet);
  }

  /** After the first study the page turns to the answer. */
  private open(): void {
    this.waited = false;
    part("answer").scrollIntoView({ block: "start" });
    announce("The answer stands at the top of the page.");
  }
}
