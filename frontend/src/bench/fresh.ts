// Entries read again when what they show was made anew: what is in sight first, one tab at a time.

import type { Bench, Entry } from "./bench";
import { announce, part } from "./dom";
import type { Stage, State } from "./types";
import { going } from "./work";

const LINE = "neutral-point-reading";
const AFTER = 1500; // ms that a tab leaves to the one that saved
const NEAR = "50%"; // of the height of the window, around it

/** One tab after another: none keeps a save in another one waiting. Without locks each goes by itself. */
const inLine = (act: () => Promise<void>): Promise<void> => (navigator.locks ? navigator.locks.request(LINE, act) : act());

/** A fault in one entry is said, and leaves the others alone. */
export async function read(entry: Entry): Promise<void> {
  await entry.refresh().catch((fault: unknown) => {
    entry.failed = true;
    announce(`An entry could not be shown: ${fault instanceof Error ? fault.message : String(fault)}`);
  });
}

/** Which entries are behind, and when they catch up. */
export class Fresh {
  private readonly near = new Set<Entry>();
  /** Behind what the server has; with `all`, those out of sight catch up as well. */
  private readonly due = new Map<Entry, { all: boolean }>();
  private readonly shown = new Map<string, string>();
  private words: string | undefined;
  private reading = false;

  constructor(
    private readonly bench: Bench,
    private readonly entries: Record<string, Entry>,
  ) {
    this.watchSight();
    document.addEventListener("visibilitychange", () => void this.catchUp());
    addEventListener("beforeprint", () => this.due.forEach((_, entry) => void read(entry)));
    bench.onState((state) => this.compare(state));
  }

  private watchSight(): void {
    const held = new Map(Object.entries(this.entries).map(([name, entry]) => [part(name), entry]));
    const watch = new IntersectionObserver(
      (seen) => {
        for (const { target, isIntersecting } of seen) {
          if (isIntersecting) this.near.add(held.get(target as HTMLElement)!);
          else this.near.delete(held.get(target as HTMLElement)!);
        }
        void this.catchUp();
      },
      { rootMargin: `${NEAR} 0px` },
    );
    held.forEach((_, place) => watch.observe(place));
  }

  private compare({ stages, jobs, words, revision }: State): void {
    const first = this.shown.size === 0;
    const busy = jobs.some(going);
    // Text of the case that is printed with results has changed: whatever shows it is read again.
    const retold = !first && words !== this.words && !busy;
    if (first || retold) this.words = words;
    const fresh = (Object.keys(stages) as Stage[]).filter((stage) => {
      const { ready, made, cannot } = stages[stage]!;
      const mark = `${made} ${cannot}`;
      // While work goes on, files of a stage may be half there.
      if (this.shown.get(stage) === mark || (busy && !ready && !first)) return false;
      this.shown.set(stage, mark);
      return !first;
    });
    for (const entry of Object.values(this.entries)) {
      if (entry.stages.some((stage) => fresh.includes(stage)) || (entry.failed && !busy)) this.due.set(entry, { all: true });
      else if (retold && entry.prints && !this.due.has(entry)) this.due.set(entry, { all: false });
    }
    const own = fresh.length > 0 || this.bench.isOwn(revision);
    setTimeout(() => void this.catchUp(), own ? 0 : AFTER);
  }

  private next(): Entry | undefined {
    if (document.hidden) return undefined;
    const behind = [...this.due];
    return (behind.find(([entry]) => this.near.has(entry)) ?? behind.find(([, { all }]) => all))?.[0];
  }

  private async catchUp(): Promise<void> {
    if (this.reading || !this.next()) return;
    this.reading = true;
    await inLine(async () => {
      for (let entry = this.next(); entry; entry = this.next()) {
        this.due.delete(entry);
        await read(entry);
      }
    }).finally(() => (this.reading = false));
  }
}
