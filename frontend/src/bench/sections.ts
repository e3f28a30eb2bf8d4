// A section of the findings in the notebook, in the words and marks of the report.

import { type Child, bar, coded, el, headed, put, standing, table, typeset } from "./dom";
import { smallPercent } from "../words";
import type { Score, Section, Statement, Verdict } from "./types";

const WORDS: Record<Verdict["word"], string> = {
  cannot: "\u2715",
  "can if": "\u25d0",
  can: "\u25cf",
  "not judged": "?",
};

const basis = (names: string[] = []): HTMLElement | null =>
  names.length ? el("small", { class: "basis" }, ` [${names.join("; ")}]`) : null;

const said = (text: string): Child[] => coded(typeset(text));

/** Sentences with their marks; a caution that stands over all of them is not said again. */
export function sentences(told: Statement[], over: string[] = []): HTMLElement {
  const line = (one: Statement): HTMLElement =>
    el(
      "li",
      {},
      standing(one.kind),
      el(
        "span",
        {},
        ...said(one.text),
        one.caution && !over.includes(one.caution) && el("em", { class: "beside" }, ...said(one.caution)),
        basis(one.basis),
      ),
    );
  return el("ul", { class: "sentences" }, ...told.map(line));
}

export function scoreBox(scores: Score[], words = ""): HTMLElement {
  const box = el("div", { class: "calibration", role: "note" });
  const none =
    "No calibration for data like these is part of these findings. Take verdicts and odds as what the model says, not as how often it is right.";
  const head = typeset(words) || (scores.length ? "Measured on flights whose cause was known:" : none);
  put(box, el("p", {}, el("strong", {}, "How often this method is right. "), head));
  const item = (score: Score): HTMLElement => {
    const span =
      score.low90 !== null && score.high90 !== null
        ? ` (90%: ${score.low90.toPrecision(3)} to ${score.high90.toPrecision(3)})`
        : "";
    const name = el("strong", {}, `${score.name} ${score.value.toPrecision(3)}`);
    return el("li", {}, name, `${span}, ${score.cases} flights. ${score.sentence}`);
  };
  if (scores.length) put(box, el("ul", {}, ...scores.map(item)));
  return box;
}

function verdicts(rows: Verdict[]): HTMLElement {
  return table(
    ["Cause", "Verdict", "p-value", "In words"],
    rows.map((row) => [
      [row.title || row.cause],
      [
        el(
          "span",
          { class: "verdict" },
          el("span", { "aria-hidden": "true" }, WORDS[row.word]),
          " ",
          el("strong", {}, row.word),
        ),
        row.condition && ` ${row.condition}`,
      ],
      row.probability === null
        ? ["\u2013"]
        : [bar(0, row.probability, row.probability), ` ${smallPercent(row.probability)}`],
      [
        standing("inferred"),
        " ",
        ...said(row.sentence),
        row.closest_miss && ` Largest residual: ${row.closest_miss}`,
        basis(row.basis),
      ],
    ]),
    { label: "Verdicts", kind: "verdicts" },
  );
}

/** What a section says before its charts; its odds and its list of evidence have entries of their own. */
export function sectionParts(section: Section): HTMLElement[] {
  const parts: HTMLElement[] = section.cautions.map((one) =>
    el("p", { class: "beside" }, el("strong", {}, "Caution: "), ...said(one)),
  );
  if (section.statements.length) parts.push(sentences(section.statements, section.cautions));
  if (section.verdicts.length) parts.push(scoreBox(section.scores), verdicts(section.verdicts));
  return parts;
}

/** The tables of a section. */
export function sectionTables(section: Section): HTMLElement[] {
  return section.tables.flatMap((held) => [
    el("h3", {}, ...said(held.caption), " ", standing(held.kind)),
    table(held.columns.map(headed), held.rows.map((row) => row.map((cell, k) => (k ? said(cell) : said(headed(cell))))), { label: held.caption }),
  ]);
}
