// Long work: a line for each job with its progress, its log and a way to stop it.

import { write } from "./api";
import { type Bench, workName } from "./bench";
import { button, el, fill, part, put } from "./dom";
import type { Job } from "./types";

const STATES: Record<Job["state"], string> = {
  waiting: "waits",
  running: "running",
  done: "done",
  failed: "failed",
  cancelled: "canceled",
};
const MARKS: Record<Job["state"], string> = {
  waiting: "\u25cb",
  running: "\u25b6",
  done: "\u2713",
  failed: "\u2715",
  cancelled: "\u25a0",
};

export const going = (job: Job): boolean => job.state === "running" || job.state === "waiting";

/** One job's line; it is kept and brought up to date, so that an open log stays open. */
class Line {
  readonly root: HTMLElement;
  private readonly state = el("span", { class: "job-state" });
  private readonly stage = el("span", { class: "job-stage" });
  private readonly progress = el("progress", { max: 1 });
  private readonly seconds = el("span", { class: "n" });
  private readonly after = el("span", { class: "job-after" });
  private readonly log = el("pre", { tabindex: "0", "aria-label": "Log" });

  constructor(bench: Bench, job: Job) {
    const name = workName(job.kind);
    const stop = button("Stop", () => bench.attempt(() => write("DELETE", `jobs/${job.id}`)), {
      class: "stop",
      "aria-label": `Stop: ${name}`,
    });
    this.progress.setAttribute("aria-label", `Progress: ${name}`);
    const log = el("details", {}, el("summary", {}, "Log"), this.log);
    const head = el("div", { class: "job-head" });
    put(head, this.state, el("strong", {}, name), this.progress, this.seconds, stop, this.after);
    this.root = el("li", { class: "job", "data-job": job.id }, head, this.stage, log);
    this.show(job);
  }

  show(job: Job): void {
    this.root.dataset.state = job.state;
    fill(this.state, el("span", { "aria-hidden": "true" }, MARKS[job.state]), ` ${STATES[job.state]}`);
    this.stage.hidden = !job.error && !going(job); // the mark before it has said so
    this.stage.textContent = job.error ? `${job.error.message} ${job.error.hint ?? ""}` : job.stage;
    if (job.fraction === null) this.progress.removeAttribute("value");
    else this.progress.value = job.fraction;
    this.seconds.textContent = job.seconds === null ? "" : `${job.seconds.toFixed(0)} s`;
    this.log.textContent = job.log.join("\n");
    fill(this.after, job.state === "done" && job.result ? fileLink(job.result) : null);
  }
}

export function fileLink(file: string): HTMLElement {
  const address = file === "report.html" ? "report" : `results/${encodeURIComponent(file)}`;
  return el("a", { href: address, target: "_blank" }, `Open ${file}`);
}

/** Jobs that go on stand at the foot of the page; all of them stand in the entry on work done. */
export function workEntry(bench: Bench): void {
  const [now, all] = [part("work-now"), part("work-all")];
  const lines = new Map<string, { now: Line; all: Line }>();
  bench.onJobs((jobs) => {
    for (const job of jobs) {
      const held = lines.get(job.id);
      if (held) [held.now, held.all].forEach((line) => line.show(job));
      else lines.set(job.id, { now: new Line(bench, job), all: new Line(bench, job) });
      const line = lines.get(job.id)!;
      if (line.all.root.parentElement === null) all.prepend(line.all.root);
      if (going(job) && line.now.root.parentElement === null) now.append(line.now.root);
      if (!going(job)) line.now.root.remove();
    }
    part("work-bar").hidden = now.childElementCount === 0;
    part("work-none").hidden = all.childElementCount > 0;
  });
}
