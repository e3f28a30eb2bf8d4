// What all entries of the notebook share: the server's state, its news, and how work is started.

import { Refused, get, write } from "./api";
import { announce } from "./dom";
import { listen } from "./news";
import type { Job, Stage, State } from "./types";

export interface Entry {
  /** Results of this stage stand in the entry; it is asked to read again when they change. */
  stages: Stage[];
  /** Its last reading was refused; it is tried again when work ends. */
  failed?: boolean;
  /** It shows text of the case, such as events: it is read again where that has changed. */
  prints?: boolean;
  refresh(): Promise<void>;
}

type Watcher = (state: State) => void;

export class Bench {
  state: State | null = null;
  /** How many changes of the form are not saved. */
  unsaved: () => number = () => 0;
  /** Leads to where something of the case is given. */
  goTo: (path: string) => void = () => undefined;
  /** Revisions of the case file that this page itself has made. */
  private readonly own = new Set<string>();
  private readonly watchers: Watcher[] = [];
  private readonly jobWatchers: ((jobs: Job[]) => void)[] = [];

  async load(): Promise<State> {
    return this.take(await get<State>("state"));
  }

  /** A state that was asked for, or that the server has sent with its news. */
  private take(state: State): State {
    this.state = state;
    this.watchers.forEach((watch) => watch(state));
    this.jobWatchers.forEach((watch) => watch(state.jobs));
    return state;
  }

  /** Note what a write of this page has made of the case file. */
  made({ revision }: { revision?: string }): void {
    if (revision) this.own.add(revision);
  }

  isOwn(revision: string): boolean {
    return this.own.has(revision);
  }

  onState(watch: Watcher): void {
    this.watchers.push(watch);
    if (this.state) watch(this.state);
  }

  onJobs(watch: (jobs: Job[]) => void): void {
    this.jobWatchers.push(watch);
    if (this.state) watch(this.state.jobs);
  }

  /** Why there is no result of a stage to read; null where there is one. */
  missing(stage: Stage): string | null {
    const held = this.state?.stages[stage];
    if (held?.made) return null;
    return held?.cannot || "Not run yet. Run it with the button above, or everything with Run all in the index.";
  }

  /** Listen to the server; after a break everything is read again. */
  listen(): void {
    listen((news) => {
      if (news.kind === "lost") document.documentElement.dataset.server = "lost";
      else if (news.kind === "open") {
        delete document.documentElement.dataset.server;
        if (news.again) void this.load().catch(() => undefined);
      } else if (news.case !== this.state?.name) return;
      else if (news.kind === "job") this.job(news.value as Job);
      else if ((news.value as State | undefined)?.name) this.take(news.value as State);
      else void this.load().catch(() => undefined);
    });
  }

  private job(job: Job): void {
    if (!this.state) return;
    const jobs = this.state.jobs.filter((held) => held.id !== job.id);
    const before = this.state.jobs.find((held) => held.id === job.id);
    this.state.jobs = [...jobs, job];
    const over = ["done", "failed", "cancelled"].includes(job.state);
    if (over && before?.state !== job.state) {
      announce(`${workName(job.kind)}: ${job.state}. ${job.error?.message ?? ""}`);
      void this.load().catch(() => undefined);
    }
    this.jobWatchers.forEach((watch) => watch(this.state!.jobs));
  }

  /** Start work; it goes on when the page is closed. */
  async start(kind: string, options: Record<string, unknown> = {}): Promise<void> {
    await this.attempt(async () => {
      this.job(await write<Job>("POST", "jobs", { body: { kind, options } }));
      const left = this.unsaved();
      const from = left ? `, from the case as it was saved last; ${left} in the form not saved yet` : "";
      announce(`${workName(kind)}: begun${from}.`);
    });
  }

  /** Do something; a refusal is said, never swallowed. */
  async attempt(act: () => Promise<unknown>): Promise<boolean> {
    try {
      await act();
      return true;
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      announce(problem.said);
      return false;
    }
  }
}

const NAMES: Record<string, string> = {
  study: "Whole study",
  motion: "Motion",
  moments: "Required moment",
  limits: "Limits passed",
  weigh: "Weighing",
  response: "Time to act",
  "export-report": "Report",
  report: "Report",
  pdf: "Report as PDF",
  zip: "Results as one archive",
  film: "Film",
  "film-tall": "Film for a phone",
  clip: "Clip of the onset",
};

export const workName = (kind: string): string => NAMES[kind] ?? kind;
