// The rows behind a point, as they stand in the files.

import { clock } from "../words";
import { Refused, get } from "./api";
import { announce, button, el, fill, part, standing } from "./dom";
import type { SourceRow } from "./types";

const HALF = 2; // s to each side

/** Show the rows near a time, in seconds after the start of the record. */
export async function showRows(time: number, start: number): Promise<void> {
  const place = part("rows");
  const said = clock(time + start, 1);
  let rows: SourceRow[];
  try {
    rows = await get<SourceRow[]>("rows", { time: time.toFixed(3), half: HALF });
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    announce(problem.said);
    return;
  }
  const cells = rows.map((row) =>
    el(
      "tr",
      { class: row.suspect ? "doubted" : undefined },
      el("th", { scope: "row" }, el("span", { class: "n" }, clock(row.time + start, 2))),
      el("td", {}, `${row.source}, row ${row.row}`),
      el("td", {}, el("pre", {}, row.text)),
      el("td", {}, row.suspect ? `\u2715 suspect: ${row.reason}` : "\u25cb as received"),
    ),
  );
  const heads = ["UTC", "File, row", "As it stands in the file", "Mark"];
  fill(
    place,
    el("h3", {}, `Rows within ${HALF} s of ${said} UTC `, standing("fact")),
    rows.length === 0 && el("p", {}, "No file has a row there."),
    rows.length > 0 &&
      el(
        "table",
        {},
        el("thead", {}, el("tr", {}, ...heads.map((head) => el("th", { scope: "col" }, head)))),
        el("tbody", {}, ...cells),
      ),
    button("Close the rows", () => (place.hidden = true)),
  );
  place.hidden = false;
  announce(`${rows.length} rows within ${HALF} s of ${said} UTC.`);
}
