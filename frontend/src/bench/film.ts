// The film of a case: its chapters to scale, any moment of it as it will look, its storyboard, the jobs.

import { get } from "./api";
import type { Bench } from "./bench";
import { coded, el, fill, part } from "./dom";
import { keep } from "./pictures";

interface Film {
  own: boolean;
  text: string;
  stop_short: number;
  chapters: { kind: string; title: string; seconds: number; captions: number }[];
}

const PAUSE = 250; // ms that the slider rests before a moment is drawn
const select = (name: string): HTMLSelectElement => part<HTMLSelectElement>(name);
const lasting = (seconds: number): string => `${Math.floor(seconds / 60)}:${String(Math.floor(seconds % 60)).padStart(2, "0")}`;

export class FilmStage {
  private film: Film | null = null;
  private saved = "";
  private waits = 0;
  private turn = 0;

  constructor(private readonly bench: Bench) {
    part("film-at").addEventListener("input", () => this.soon());
    part("film-shape").addEventListener("change", () => this.draw());
    part("story-save").addEventListener("click", () => void this.save());
    part("export-film").addEventListener("click", () => void this.make());
    part("export-clip").addEventListener("click", () => void bench.start("clip"));
    bench.onState(({ no_film, stages }) => {
      part<HTMLButtonElement>("export-film").disabled = !stages.motion?.made || no_film !== "";
      part<HTMLButtonElement>("export-clip").disabled = !stages.motion?.made;
      if (no_film) fill(part("film-said"), ...coded(no_film));
      else this.say();
    });
  }

  async refresh(): Promise<void> {
    this.film = await get<Film>("film");
    const text = part<HTMLTextAreaElement>("story-text");
    if (text.value === this.saved) text.value = this.film.text;
    this.saved = this.film.text;
    this.turn += 1;
    this.chapters();
    this.say();
    this.draw();
  }

  private get seconds(): number {
    return (this.film?.chapters ?? []).reduce((sum, one) => sum + one.seconds, 0);
  }

  private say(): void {
    if (this.bench.state?.no_film) return;
    const whose = this.film?.own ? "by the storyboard of the case" : "by a storyboard made from the findings";
    const length = this.film ? `${lasting(this.seconds)} of film ${whose}. ` : "";
    const end = this.film?.stop_short ?? 10;
    const ends = end > 0 ? `It stops ${end} s before the last moment of the record, and states so on screen.` : "It shows the record to its last moment.";
    fill(part("film-said"), length, ends, " Captions and the script to be read lie beside it in the results.");
  }

  /** Each chapter as wide as it is long; a click leads to its middle. */
  private chapters(): void {
    let from = 0;
    const slider = part<HTMLInputElement>("film-at");
    slider.max = String(this.seconds);
    const entry = (one: Film["chapters"][number]): HTMLElement => {
      const middle = from + one.seconds / 2;
      from += one.seconds;
      const act = el("button", { type: "button", title: `${one.title}, ${one.seconds} s` }, one.title);
      act.addEventListener("click", () => {
        slider.value = String(middle);
        this.draw();
      });
      const item = el("li", { "data-kind": one.kind }, act);
      item.style.flexGrow = String(one.seconds);
      return item;
    };
    fill(part("film-chapters"), ...(this.film?.chapters ?? []).map(entry));
  }

  private soon(): void {
    this.clock();
    clearTimeout(this.waits);
    this.waits = window.setTimeout(() => this.draw(), PAUSE);
  }

  private clock(): void {
    const at = Number(part<HTMLInputElement>("film-at").value);
    part("film-clock").textContent = `${lasting(at)} of ${lasting(this.seconds)}`;
    let from = 0;
    for (const [k, item] of [...part("film-chapters").children].entries()) {
      const { seconds } = this.film!.chapters[k]!;
      item.toggleAttribute("data-shown", at >= from && at < from + seconds);
      from += seconds;
    }
  }

  private draw(): void {
    if (!this.film) return;
    this.clock();
    const [at, shape] = [part<HTMLInputElement>("film-at").value, select("film-shape").value];
    const shown = part<HTMLImageElement>("film-shown");
    shown.classList.toggle("tall", shape === "tall");
    shown.alt = `The film at ${lasting(Number(at))}`;
    shown.src = `api/film/frame?${new URLSearchParams({ at, shape, turn: String(this.turn) })}`;
  }

  private make(): Promise<void> {
    const [last, speed] = [select("film-last").value, Number(select("film-speed").value)];
    const kind = select("film-shape").value === "tall" ? "film-tall" : "film";
    return this.bench.start(kind, last ? { last: Number(last), speed } : { speed });
  }

  private async save(): Promise<void> {
    const text = part<HTMLTextAreaElement>("story-text");
    if (!(await keep("film", text, part("story-said")))) return;
    this.saved = text.value;
    await this.refresh();
  }
}
