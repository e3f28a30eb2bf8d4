// Five steps to a first run, each with what it has, what it would assume, and one thing to do.

import { write } from "./api";
import type { Bench } from "./bench";
import { announce, button, el, part, renew } from "./dom";
import type { State } from "./types";
import { going } from "./work";

interface Step {
  title: string;
  done: boolean;
  said: string;
  act?: { text: string; does: () => unknown };
}

const DEFAULTS = "No wind \u00b1 40 kt and standard air \u00b1 15 K, stated as a default.";

export class Steps {
  private readonly place = part("steps");

  constructor(private readonly bench: Bench, private readonly airplanes: () => void) {
    bench.onState((state) => this.show(state));
    bench.onJobs(() => bench.state && this.show(bench.state));
  }

  private show(state: State): void {
    const lacks = (path: string): boolean => state.missing.some((gap) => gap.path === path || gap.path.startsWith(`${path}[`) || gap.path.startsWith(`${path}.`));
    const used = (kind: string): string[] => state.files.filter((file) => file.used === kind).map((file) => file.name);
    const tracks = used("track");
    const words = ["title", "question", "cut_off"].filter(lacks);
    const air = !lacks("weather");
    const steps: Step[] = [
      {
        title: "Track",
        done: tracks.length > 0 && !lacks("tracks"),
        said: tracks.length ? tracks.join(", ") : "Drop the file of a track anywhere on the page.",
        act: tracks.length ? undefined : { text: "Choose a file", does: () => part("pick").click() },
      },
      {
        title: "Air",
        done: air,
        said: air ? used("weather").join(", ") || "stated in the case" : DEFAULTS,
        act: air ? undefined : { text: "Give the wind", does: () => this.bench.goTo("weather") },
      },
      {
        title: "Airplane",
        done: !lacks("airplane"),
        said: lacks("airplane") ? "Choose one of the catalogue, or drop a file of your own." : "named in the case",
        act: { text: lacks("airplane") ? "Choose an airplane" : "Airplane and load", does: this.airplanes },
      },
      {
        title: "Words",
        done: words.length === 0,
        said: words.length ? "Title from the file, a plain question, cut-off today." : state.title,
        act: words.length ? { text: "Write them", does: () => this.bench.goTo(words[0]) } : undefined,
      },
      this.run(state, words.length > 0 || !air, tracks.length > 0 && !lacks("airplane")),
    ];
    renew(this.place, ...steps.map((step, k) => this.card(step, k + 1)));
    this.place.hidden = false;
  }

  private run(state: State, assumed: boolean, able: boolean): Step {
    const made = Boolean(state.stages.motion?.made);
    const text = assumed ? "State the defaults and run" : "Run all";
    if (state.jobs.some((job) => going(job) && job.kind === "study")) {
      const progress = (): void => part("work-now").querySelector("summary")?.focus();
      return { title: "Run", done: false, said: "Running; how far it is stands at the foot of the page.", act: { text: "To its progress", does: progress } };
    }
    return {
      title: "Run",
      done: made && !state.stages.motion?.stale,
      said: made ? "The answer stands at the top." : !able ? "Needs a track and an airplane." : assumed ? "What is missing is stated as a default first; you see and change it below." : "Everything is there.",
      act: able ? { text, does: () => this.start(assumed) } : undefined,
    };
  }

  private async start(assumed: boolean): Promise<void> {
    if (assumed) {
      const stated = await this.bench.attempt(async () => this.bench.made(await write("POST", "defaults", { body: {} })));
      if (!stated) return;
      announce("Defaults are stated in the case; Undo takes them back.");
      const state = await this.bench.load();
      if (state.stages.motion?.cannot) return announce(state.stages.motion.cannot);
    }
    await this.bench.start("study");
  }

  private card({ title, done, said, act }: Step, number: number): HTMLElement {
    return el(
      "li",
      { class: done ? "done" : undefined },
      el("p", { class: "step-head" }, el("span", { class: "number", "aria-hidden": "true" }, done ? "\u2713" : String(number)), " ", el("strong", {}, title), el("span", { class: "unseen" }, done ? ", done" : "")),
      el("p", { class: "hint" }, said),
      act && button(act.text, act.does, { class: title === "Run" && !done ? "first" : undefined, "data-key": title }),
    );
  }
}
