// Long work: a line for each job with its progress, its log and a way to stop it.

import { write } from "./api";
import { type Bench, workName } from "./bench";
import { button, el, part, put, renew } from "./dom";
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
  private readonly left = el("span", { class: "job-left" });
  private readonly log = el("pre", { tabindex: "0", "aria-label": "Log" });
  private job: Job;
  private heard = performance.now();
  private fraction: number | null = null;

  constructor(bench: Bench, job: Job, private readonly earlier: (job: Job) => number | null) {
    this.job = job;
    const name = workName(job.kind);
    const stop = button("Stop", () => bench.attempt(() => write("DELETE", `jobs/${job.id}`)), {
      class: "stop",
      "aria-label": `Stop: ${name}`,
    });
    this.progress.setAttribute("aria-label", `Progress: ${name}`);
    const log = el("details", {}, el("summary", {}, "Log"), this.log);
    const head = el("div", { class: "job-head" });
    put(head, this.state, el("strong", {}, name), begun(job), this.progress, this.seconds, this.left, stop, this.after);
    this.root = el("li", { class: "job", "data-job": job.id }, head, this.stage, log);
    this.show(job);
  }

  /** A job that its server knows no more of has ended with it. */
  lose(): void {
    if (!going(this.job)) return;
    const error = { message: "It ended with the server that ran it.", hint: "Stages that were finished stand; run it again for the rest." };
    this.show({ ...this.job, state: "failed", error });
  }

  show(job: Job): void {
    const again = job.fraction === this.fraction && job.stage === this.job.stage && job.state === this.job.state;
    if (!again) this.heard = performance.now();
    [this.job, this.fraction, this.since] = [job, job.fraction, performance.now()];
    this.root.dataset.state = job.state;
    renew(this.state, el("span", { "aria-hidden": "true" }, MARKS[job.state]), ` ${STATES[job.state]}`);
    this.stage.hidden = !job.error && !going(job); // the mark before it has said so
    this.stage.textContent = job.error ? `${job.error.message} ${job.error.hint ?? ""}` : job.stage;
    this.tick();
    this.log.textContent = job.log.join("\n");
    renew(this.after, job.state === "done" && job.result ? fileLink(job.result) : null);
  }

  private since = performance.now();

  /** The clock goes on between two tellings of the server; the bar creeps as an earlier run went. */
  tick(): void {
    const { job } = this;
    const running = job.state === "running";
    const seconds = (job.seconds ?? 0) + (running ? (performance.now() - this.since) / 1000 : 0);
    this.seconds.textContent = job.seconds === null ? "" : lasting(seconds);
    const before = running ? this.earlier(job) : null;
    const likely = before ? Math.min(seconds / before, MOST) : null;
    const shown = job.fraction === null && likely === null ? null : Math.max(job.fraction ?? 0, likely ?? 0);
    if (shown === null) this.progress.removeAttribute("value");
    else this.progress.value = shown;
    this.left.textContent = !running ? "" : this.leftWords(seconds, before);
  }

  private leftWords(seconds: number, before: number | null): string {
    const quiet = (performance.now() - this.heard) / 1000;
    const said = quiet > QUIET ? `; this step for ${lasting(quiet)}` : "";
    if (before === null) return `first run of its kind here${said}`;
    const left = before - seconds;
    return `${left > 1 ? `about ${lasting(left)} left` : "longer than the run before"} (run before: ${lasting(before)})${said}`;
  }
}

const MOST = 0.97; // of the bar, until the job says that it is done
const QUIET = 15; // s without news after which the line says how long a step lasts

/** A duration as people say it. */
export function lasting(seconds: number): string {
  const whole = Math.max(Math.round(seconds), 0);
  return whole < 60 ? `${whole} s` : `${Math.floor(whole / 60)} min ${String(whole % 60).padStart(2, "0")} s`;
}

/** When a job was begun, on the clock of the reader. */
function begun({ started }: Job): HTMLElement | null {
  const date = new Date(String(started));
  if (Number.isNaN(date.getTime())) return null;
  const said = date.toLocaleString("en-GB", { day: "numeric", month: "short", hour: "2-digit", minute: "2-digit" });
  return el("span", { class: "hint" }, `begun ${said}`);
}

export function fileLink(file: string): HTMLElement {
  const address = file === "report.html" ? "report" : `results/${encodeURIComponent(file)}`;
  return el("a", { href: address, target: "_blank" }, `Open ${file}`);
}

/** How long the last job of the same kind took that was done; null where none was. */
const earlierOf = (jobs: Job[]) => (job: Job): number | null => {
  const same = jobs.filter((one) => one.kind === job.kind && one.state === "done" && one.seconds !== null && one.id !== job.id);
  const started = (one: Job): string => String(one.started);
  return same.sort((a, b) => started(b).localeCompare(started(a)))[0]?.seconds ?? null;
};

/** Jobs that go on stand at the foot of the page; all of them stand in the entry on work done. */
export function workEntry(bench: Bench): void {
  const [now, all] = [part("work-now"), part("work-all")];
  const lines = new Map<string, { kind: string; now: Line; all: Line }>();
  let known: Job[] = [];
  const earlier = (job: Job): number | null => earlierOf(known)(job);
  bench.onJobs((jobs) => {
    known = jobs;
    for (const [id, line] of lines) {
      if (jobs.some((job) => job.id === id && job.kind === line.kind)) continue;
      line.all.lose();
      line.now.root.remove();
      lines.delete(id);
    }
    for (const job of [...jobs].sort((a, b) => String(a.started).localeCompare(String(b.started)))) {
      const held = lines.get(job.id);
      if (held) [held.now, held.all].forEach((line) => line.show(job));
      else lines.set(job.id, { kind: job.kind, now: new Line(bench, job, earlier), all: new Line(bench, job, earlier) });
      const line = lines.get(job.id)!;
      if (line.all.root.parentElement === null) all.prepend(line.all.root);
      if (going(job) && line.now.root.parentElement === null) now.append(line.now.root);
      if (!going(job)) line.now.root.remove();
    }
    part("work-bar").hidden = now.childElementCount === 0;
    part("work-none").hidden = all.childElementCount > 0;
  });
  setInterval(() => lines.forEach((line) => [line.now, line.all].forEach((one) => one.tick())), 1000);
}
