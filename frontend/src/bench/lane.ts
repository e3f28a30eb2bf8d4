// The words of events above the charts, each at its time, stacked where they would meet.

import type { Mark, Strips } from "../figure";
import { clock } from "../words";
import { el, fill, narrow } from "./dom";

const LEFT = 66; // as the strip charts have it
const RIGHT = 58;
const ROWS = 3;
const HIGH = narrow() ? 32 : 20; // px of a row; a finger needs more
const LETTER = 6.4; // px, of the lane's type
const LONGEST = 34; // letters

const short = (text: string): string => (text.length > LONGEST ? `${text.slice(0, LONGEST - 1)}\u2026` : text);

export class Lane {
  readonly root = el("div", { class: "lane", role: "list", "aria-label": "Events in view" });

  constructor(private readonly strips: Strips, private readonly go: (time: number) => void) {
    this.root.hidden = strips.marks.length === 0;
  }

  show(from: number, to: number): void {
    const width = this.root.clientWidth - LEFT - RIGHT;
    if (width <= 0) return;
    const ends = new Array<number>(ROWS).fill(-Infinity);
    const seen = this.strips.marks.filter(({ time }) => time >= from && time <= to).sort((a, b) => a.time - b.time);
    const placed = seen.map((mark) => this.flag(mark, LEFT + ((mark.time - from) / (to - from)) * width, width + LEFT, ends));
    const rows = ends.filter((end) => end > -Infinity).length;
    this.root.style.height = `${Math.max(rows, 1) * HIGH}px`;
    fill(this.root, ...placed);
  }

  private flag(mark: Mark, x: number, most: number, ends: number[]): HTMLElement {
    const said = short(mark.text);
    const wide = (said.length + 3) * LETTER + 22;
    const back = x + wide > most + RIGHT;
    const left = back ? Math.max(x - wide, 0) : x;
    const free = ends.findIndex((end) => end < left);
    const row = free >= 0 ? free : ends.indexOf(Math.min(...ends));
    ends[row] = left + wide;
    const act = el(
      "button",
      { type: "button", class: back ? "flag back" : "flag", title: `${clock(mark.time + this.strips.start, 1)} UTC \u00b1 ${mark.half_width.toFixed(1)} s: ${mark.text}` },
      el("b", {}, String(mark.number)),
      " ",
      said,
    );
    act.addEventListener("click", () => this.go(mark.time));
    const holder = el("span", { role: "listitem" }, act);
    if (back) holder.style.right = `${(this.root.clientWidth - x).toFixed(0)}px`;
    else holder.style.left = `${left.toFixed(0)}px`;
    holder.style.top = `${row * HIGH}px`;
    return holder;
  }
}
