// The notebook of one case: entries over one server, one time cursor and one set of flown causes.

import { Against } from "./bench/against";
import { Airplanes } from "./bench/airplanes";
import { AnswerEntry } from "./bench/answer";
import { Bench, type Entry } from "./bench/bench";
import { BesideEntry } from "./bench/beside";
import { CausesEntry } from "./bench/causes";
import { ClaimsEntry } from "./bench/claims";
import { CompareEntry } from "./bench/compare";
import { Cursor } from "./bench/cursor";
import { announce } from "./bench/dom";
import { Evidence } from "./bench/evidence";
import { Flyer } from "./bench/flyer";
import { CaseForm } from "./bench/form";
import { Index } from "./bench/index";
import { MomentsEntry } from "./bench/moments";
import { MotionEntry } from "./bench/motion";
import { OddsEntry } from "./bench/odds";
import { Overlay } from "./bench/overlay";
import { printable } from "./bench/print";
import { RawCase } from "./bench/raw";
import { SettleEntry } from "./bench/settle";
import { Steps } from "./bench/steps";
import { themeButton } from "./bench/theme";
import { TimeEntry } from "./bench/time";
import type { Stage } from "./bench/types";
import { going, workEntry } from "./bench/work";

/** Ask entries to read again when a stage of theirs was made anew. */
function keepFresh(bench: Bench, entries: Entry[]): void {
  const shown = new Map<string, string>();
  let words: string | undefined;
  let owed = false;
  const late = (): void => {
    words = undefined;
    owed = true;
  };
  document.addEventListener("visibilitychange", () => {
    if (owed && !document.hidden) void bench.load().catch(() => undefined);
    owed &&= document.hidden;
  });
  bench.onState(({ stages, jobs, words: now }) => {
    const first = shown.size === 0;
    // Text of the case that is printed with results has changed: whatever shows it is read again.
    const retold = !first && words !== now && !jobs.some(going);
    if (first || retold) words = now;
    const busy = jobs.some(going);
    const fresh = (Object.keys(stages) as Stage[]).filter((stage) => {
      const { ready, made, cannot } = stages[stage]!;
      const mark = `${made} ${cannot}`;
      // While work goes on, files of a stage may be half there.
      if (shown.get(stage) === mark || (busy && !ready && !first)) return false;
      shown.set(stage, mark);
      return !first;
    });
    // A tab that nobody sees reads again when it is seen: it must not keep a save in another one waiting.
    const tell = retold && !document.hidden;
    if (retold && !tell) late();
    for (const entry of entries) {
      const again = (entry.failed && !busy) || (tell && entry.prints);
      if (again || entry.stages.some((stage) => fresh.includes(stage))) void read(entry);
    }
  });
}

/** A fault in one entry is said, and leaves the others alone. */
async function read(entry: Entry): Promise<void> {
  await entry.refresh().catch((fault: unknown) => {
    entry.failed = true;
    announce(`An entry could not be shown: ${fault instanceof Error ? fault.message : String(fault)}`);
  });
}

async function start(): Promise<void> {
  const bench = new Bench();
  const [cursor, overlay] = [new Cursor(), new Overlay()];
  const flyer = new Flyer();
  const motion = new MotionEntry(bench, cursor, overlay);
  const moments = new MomentsEntry(bench, cursor);
  const causes = new CausesEntry(bench, flyer, overlay);
  const against = new Against(cursor, overlay, (cause) => causes.takeAway(cause));
  motion.onFigure((figure) => against.draw(figure));
  const answer = new AnswerEntry(bench);
  const time = new TimeEntry(bench, causes);
  const entries: Entry[] = [
    answer, motion, moments, new BesideEntry(bench, cursor), causes, new OddsEntry(bench), time, new SettleEntry(bench), new CompareEntry(bench), new ClaimsEntry(bench),
  ];
  new Index(bench);
  new Evidence(bench);
  new CaseForm(bench);
  new RawCase(bench);
  const airplanes = new Airplanes(bench);
  new Steps(bench, () => void airplanes.open());
  workEntry(bench);
  printable();
  // Canvases are drawn in colors of their own, so they are drawn again.
  const drawn: Entry[] = [motion, moments, causes, time];
  themeButton(() => drawn.forEach((entry) => void read(entry)));
  keepFresh(bench, entries);
  bench.listen();
  // The strip charts come first: they are what the page is opened for.
  const early = document.body.dataset.results?.split(" ").includes("motion");
  await Promise.all([bench.load(), early && read(motion)]);
  // The answer may have to be drawn first: the others do not wait for it.
  const answered = read(answer);
  for (const entry of entries) if (entry !== answer && (entry !== motion || !early)) await read(entry);
  await answered;
  document.documentElement.dataset.ready = "yes";
  Object.assign(window, { notebook: { cursor, flyer } });
}

start().catch((problem: unknown) => {
  announce(problem instanceof Error ? problem.message : String(problem));
  document.documentElement.dataset.ready = "failed";
});
