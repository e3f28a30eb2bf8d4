// Elements made in script. Text goes in as text nodes alone: no markup of a case can act.

import { type Handler, act, focusOf, match } from "./renew";

export type Child = Node | string | number | null | undefined | false;
export type Given = Record<string, unknown>;

const SVG = "http://www.w3.org/2000/svg";
const MARKS: Record<string, string> = { fact: "\u25cb", derived: "\u2501", inferred: "\u254c" };

function dress(made: Element, given: Given): void {
  for (const [name, value] of Object.entries(given)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) act(made, name.slice(2), value as Handler);
    else if (name === "value") (made as HTMLInputElement).value = String(value);
    else made.setAttribute(name, value === true ? "" : String(value));
  }
}

/** An element with attributes, listeners (`onclick`) and children. */
export function el<K extends keyof HTMLElementTagNameMap>(
  tag: K,
  given: Given = {},
  ...children: Child[]
): HTMLElementTagNameMap[K] {
  const made = document.createElement(tag);
  put(made, ...children);
  dress(made, given);
  return made;
}

/** The same for a drawing. */
export function svg(tag: string, given: Given = {}, ...children: Child[]): SVGElement {
  const made = document.createElementNS(SVG, tag);
  dress(made, given);
  put(made, ...children);
  return made;
}

/** Append children; empty ones are left out. */
export function put(parent: Element, ...children: Child[]): void {
  for (const child of children) {
    if (child === null || child === undefined || child === false) continue;
    parent.append(typeof child === "number" ? String(child) : child);
  }
}

/** Replace what an element holds; what has the focus there gives it to its like. */
export function fill(parent: Element, ...children: Child[]): void {
  const back = focusOf(parent);
  parent.replaceChildren();
  put(parent, ...children);
  back();
}

/** Bring what an element holds up to date: elements that are still wanted stay, with focus and a press begun. */
export function renew(parent: Element, ...children: Child[]): void {
  const back = focusOf(parent);
  const fresh = el("div");
  put(fresh, ...children);
  match(parent, [...fresh.childNodes]);
  back();
}

/** Whether the page is as narrow as on a phone. */
export const narrow = (): boolean => matchMedia("(max-width: 640px)").matches;

/** An element of the page's skeleton. */
export function part<T extends HTMLElement = HTMLElement>(name: string): T {
  const found = document.getElementById(name);
  if (!found) throw new Error(`the page has no part "${name}"`);
  return found as T;
}

/** Fact, derived or inferred: a mark and the word. */
export function standing(kind: string): HTMLElement {
  const mark = el("span", { "aria-hidden": "true" }, MARKS[kind] ?? "?");
  return el("span", { class: `standing ${kind}` }, mark, " ", kind);
}

/** "+-" and minus signs as people write them. */
export const typeset = (text: string): string =>
  text.split("+-").join("\u00b1").replace(/(^|[\s(])-(?=\d)/g, "$1\u2212");

/** The head of a column or of a row begins with a capital, whatever the data call it. */
export const headed = (text: string): string => text.charAt(0).toUpperCase() + text.slice(1);

const NONE = "\u2013"; // what a cell says that has nothing
const MANY = 4; // columns that a phone has no room for

/** A table; the first cell of a row is its heading. */
export function table(
  heads: Child[],
  rows: Child[][][],
  { label = "", kind = "" }: { label?: string; kind?: string } = {},
): HTMLElement {
  const head = el("tr", {}, ...heads.map((said) => el("th", { scope: "col" }, said)));
  const name = (k: number): string | undefined => (typeof heads[k] === "string" && heads[k] ? heads[k] : undefined);
  const body = rows.map((row) =>
    el(
      "tr",
      {},
      ...row.map((cell, k) => (k ? el("td", { "data-name": name(k), class: cell.length === 1 && cell[0] === NONE ? "none-said" : undefined }, ...cell) : el("th", { scope: "row" }, ...cell))),
    ),
  );
  // On a phone a row of many cells becomes a block, each cell after the head of its column.
  const sort = [kind, heads.length >= MANY && "stacks"].filter(Boolean).join(" ");
  const made = el("table", { class: sort || undefined, "aria-label": label || undefined }, el("thead", {}, head));
  put(made, el("tbody", {}, ...body));
  return el("div", { class: "wide", tabindex: "0", role: "region", "aria-label": label }, made);
}

/** A bar from `low` to `high` with a mark at `middle`, on a rail from 0 to `span`. */
export function bar(low: number, middle: number, high: number, span = 1, long = 180): SVGElement {
  const x = (value: number): string => ((long * Math.min(value, span)) / span).toFixed(1);
  const width = Math.max((long * (Math.min(high, span) - low)) / span, 1.5).toFixed(1);
  return svg(
    "svg",
    { class: "bar", width: long, height: 16, viewBox: `0 0 ${long} 16`, "aria-hidden": "true" },
    svg("line", { class: "rail", x1: 0, y1: 13.5, x2: long, y2: 13.5 }),
    svg("rect", { class: "reach", x: x(low), y: 3, width, height: 8 }),
    svg("line", { class: "at", x1: x(middle), y1: 0.5, x2: x(middle), y2: 13.5 }),
  );
}

export function button(text: string, act: () => unknown, given: Given = {}): HTMLButtonElement {
  return el("button", { type: "button", onclick: () => void act(), ...given }, text);
}

let silence = 0;

/** Text in which what stands between backticks is code. */
export const coded = (text: string): (Node | string)[] =>
  text.split("`").map((part, k) => (k % 2 ? el("code", {}, part) : part));

/** Say something once, aloud and at the foot of the page; it goes away by itself. */
export function announce(text: string): void {
  const place = part("announcer");
  place.textContent = "";
  requestAnimationFrame(() => (place.textContent = text));
  clearTimeout(silence);
  silence = window.setTimeout(() => (place.textContent = ""), 6000 + 60 * text.length);
}
