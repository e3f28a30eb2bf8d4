// The index at the side, the heads of the entries, undo and redo.

import { write } from "./api";
import type { Bench } from "./bench";
import { announce, button, coded, el, narrow, part, renew } from "./dom";
import type { Stage, State } from "./types";
import { going } from "./work";

const WORK: Record<string, string> = { motion: "motion", moments: "moments", limits: "limits", weighing: "weigh", response: "response" };

const MARGIN = 90; // px of the rail of a phone to the left of the entry that is read

const clockOf = (made: string | number): string => {
  const date = new Date(typeof made === "number" ? made * 1000 : made);
  return Number.isNaN(date.getTime()) ? String(made) : date.toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });
};

function stateWords(state: State, stage: Stage): { text: string; stale: boolean } {
  const busy = state.jobs.some((job) => going(job) && (job.kind === WORK[stage] || job.kind === "study"));
  if (busy) return { text: "\u25b6 running", stale: false };
  const held = state.stages[stage];
  if (!held?.made) {
    const lacking = state.missing.length ? "\u2013 needs more of the case" : "\u2013 cannot run";
    return { text: held?.cannot ? lacking : "\u25cb not run yet", stale: false };
  }
  return held.stale ? { text: "\u25d0 out of date", stale: true } : { text: "\u25cf up to date", stale: false };
}

export class Index {
  constructor(private readonly bench: Bench) {
    bench.onState((state) => this.show(state));
    bench.onJobs(() => bench.state && this.show(bench.state));
    part("study").addEventListener("click", () => void bench.start("study"));
    part("undo").addEventListener("click", () => void this.step("undo"));
    part("redo").addEventListener("click", () => void this.step("redo"));
    addEventListener("keydown", (event) => this.key(event));
    this.mark();
  }

  /** Ctrl+Z outside fields undoes in the case; inside a field it is the field's own. */
  private key(event: KeyboardEvent): void {
    if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
    const inside = (event.target as HTMLElement).closest?.("input[type=text], input[type=number], textarea, select");
    const act = { z: event.shiftKey ? "redo" : "undo", y: "redo" }[event.key.toLowerCase()];
    if (!act || inside) return;
    event.preventDefault();
    void this.step(act);
  }

  private async step(act: string): Promise<void> {
    const done = await this.bench.attempt(async () => this.bench.made(await write("POST", act)));
    if (done) announce(act === "undo" ? "Undone." : "Redone.");
    await this.bench.load();
  }

  private show(state: State): void {
    // Of a file that cannot be read, the page keeps what it knew.
    if (state.title || !state.problem) part("case-title").textContent = state.title || state.name;
    if (state.question || !state.problem) part("case-question").textContent = state.question || "Not stated yet.";
    this.problem(state);
    part<HTMLButtonElement>("undo").disabled = !state.can_undo;
    part<HTMLButtonElement>("redo").disabled = !state.can_redo;
    part("open-report").hidden = !state.report;
    part<HTMLButtonElement>("study").disabled = Boolean(state.stages.motion?.cannot);
    for (const place of document.querySelectorAll<HTMLElement>("[data-index]")) {
      const { text, stale } = stateWords(state, place.dataset.index as Stage);
      place.textContent = text;
      place.classList.toggle("stale", stale);
    }
    for (const place of document.querySelectorAll<HTMLElement>("[data-made]")) {
      if (place.dataset.made) this.made(place, state, place.dataset.made as Stage);
    }
  }

  private problem({ problem }: State): void {
    const place = part("case-problem");
    place.hidden = !problem;
    if (!problem) return;
    const said = [problem.message, problem.where && `(${problem.where})`, problem.hint].filter(Boolean).join(" ");
    renew(place, el("strong", {}, "The case cannot run as it stands: "), ...coded(said));
  }

  private made(place: HTMLElement, state: State, stage: Stage): void {
    const held = state.stages[stage];
    const { text, stale } = stateWords(state, stage);
    const when = held?.made ? `, ${clockOf(held.made)}` : "";
    const why = stale ? "; its inputs have changed" : "";
    const act = button(held?.made ? "Re-run" : "Run", () => this.bench.start(WORK[stage]), { "data-key": stage });
    act.disabled = text.includes("running") || Boolean(held?.cannot);
    renew(place, el("span", { class: stale ? "stale" : undefined }, `${text}${when}${why}`), act);
  }

  /** Mark in the index the entry that is being read. */
  private mark(): void {
    const links = new Map(
      [...document.querySelectorAll<HTMLAnchorElement>("#index a")].map((link) => [link.hash.slice(1), link]),
    );
    const seen = new Set<string>();
    const watch = new IntersectionObserver(
      (entries) => {
        for (const { target, isIntersecting } of entries) {
          if (isIntersecting) seen.add(target.id);
          else seen.delete(target.id);
        }
        const first = [...links.keys()].find((id) => seen.has(id));
        links.forEach((link, id) => (id === first ? link.setAttribute("aria-current", "true") : link.removeAttribute("aria-current")));
        const [link, rail] = [links.get(first ?? ""), document.querySelector<HTMLElement>("nav.index")!];
        if (link && narrow()) rail.scrollLeft = link.getBoundingClientRect().left - rail.getBoundingClientRect().left + rail.scrollLeft - MARGIN;
      },
      { rootMargin: "-15% 0px -70% 0px" },
    );
    links.forEach((_, id) => watch.observe(part(id)));
  }
}
