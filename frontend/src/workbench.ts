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
import { Fresh, read } from "./bench/fresh";
import { CaseForm } from "./bench/form";
import { Index } from "./bench/index";
import { MomentsEntry } from "./bench/moments";
import { MotionEntry } from "./bench/motion";
import { OddsEntry } from "./bench/odds";
import { Overlay } from "./bench/overlay";
import { PicturesEntry } from "./bench/pictures";
import { printable } from "./bench/print";
import { RawCase } from "./bench/raw";
import { SettleEntry } from "./bench/settle";
import { Steps } from "./bench/steps";
import { themeButton } from "./bench/theme";
import { TimeEntry } from "./bench/time";
import { workEntry } from "./bench/work";

/** After the page's first frame, which waits for nothing; a page out of sight has none. */
const framed = (): Promise<unknown> =>
  document.hidden ? Promise.resolve() : new Promise((done) => requestAnimationFrame(() => setTimeout(done)));

async function start(): Promise<void> {
  await framed();
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
  const pictures = new PicturesEntry(bench, cursor, () => motion.view);
  const named: Record<string, Entry> = {
    answer, motion, moments, beside: new BesideEntry(bench, cursor), causes, odds: new OddsEntry(bench), time,
    settle: new SettleEntry(bench), compare: new CompareEntry(bench), claims: new ClaimsEntry(bench), pictures,
  };
  const entries = Object.values(named);
  new Index(bench);
  new Evidence(bench);
  new CaseForm(bench);
  new RawCase(bench);
  const airplanes = new Airplanes(bench);
  new Steps(bench, () => void airplanes.open());
  workEntry(bench);
  printable();
  // Canvases are drawn in colors of their own, so they are drawn again.
  const drawn: Entry[] = [answer, motion, moments, causes, time, pictures];
  themeButton(() => drawn.forEach((entry) => void read(entry)));
  new Fresh(bench, named);
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
