// What the case still needs, at the head of its form, each with a way to where it is given.

import { button, el, renew } from "./dom";
import type { Gap } from "./types";

/** Items with the same hint stand in one line, which says it once. */
function lines(gaps: Gap[], go: (gap: Gap) => void): HTMLElement {
  const byHint = new Map<string, Gap[]>();
  for (const gap of gaps) byHint.set(gap.hint, [...(byHint.get(gap.hint) ?? []), gap]);
  const line = ([hint, held]: [string, Gap[]]): HTMLElement =>
    el(
      "li",
      {},
      ...held.flatMap((gap) => [button(gap.words, () => go(gap), { class: "to" }), " "]),
      el("span", { class: "hint" }, hint),
    );
  return el("ul", {}, ...[...byHint].map(line));
}

export class Missing {
  readonly root = el("div", { class: "missing", role: "group", "aria-label": "Still missing" });

  constructor(private readonly go: (gap: Gap) => void) {}

  show(gaps: Gap[]): void {
    const first = gaps.filter(({ stage }) => stage === "motion");
    const later = gaps.filter(({ stage }) => stage !== "motion");
    const said = first.length
      ? "Still missing before any stage can run. Save what you have; the rest may come later."
      : "Ready for Flight path.";
    renew(
      this.root,
      el("p", {}, el("strong", {}, said)),
      first.length > 0 && lines(first, this.go),
      later.length > 0 && el("p", {}, el("strong", {}, "For Required moment, Candidate causes, Odds, Time to act:")),
      later.length > 0 && lines(later, this.go),
    );
    this.root.hidden = gaps.length === 0;
  }
}
