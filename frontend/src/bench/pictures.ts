// Entry "Figures and film": pictures to be published with notes on them, and the film by its storyboard.

import { Refused, get, write } from "./api";
import type { Bench, Entry } from "./bench";
import type { Cursor } from "./cursor";
import { coded, el, fill, narrow, part } from "./dom";
import { clock } from "../words";
import { FilmStage } from "./film";
import { dark } from "./theme";

interface Pictures {
  pictures: { key: string; title: string; timed: boolean }[];
  forms: { key: string; title: string; width: number; height: number }[];
  grounds: string[];
  notes: string;
}

const GROUNDS: Record<string, string> = {
  light: "light",
  dark: "dark",
  clear: "none, dark type",
  "clear-dark": "none, light type",
};
const KINDS = ["png", "svg", "pdf"];
const select = (name: string): HTMLSelectElement => part<HTMLSelectElement>(name);

export class PicturesEntry implements Entry {
  stages: Entry["stages"] = ["motion", "moments", "weighing", "response", "history", "wreckage"];
  failed = false;
  readonly prints = true;
  private known: Pictures | null = null;
  private saved = "";
  private chosen = false; // a ground by hand stays when the theme changes
  private readonly film: FilmStage;

  constructor(readonly bench: Bench, private readonly cursor: Cursor, private readonly view: () => [number, number] | null) {
    this.film = new FilmStage(bench);
    for (const name of ["key", "form", "ground", "stretch"]) {
      part(`picture-${name}`).addEventListener("change", () => {
        if (name === "ground") this.chosen = true;
        this.draw();
      });
    }
    part("notes-save").addEventListener("click", () => void this.save());
    part("notes-add").addEventListener("click", () => this.add());
    const shown = part<HTMLImageElement>("picture-shown");
    shown.addEventListener("load", () => this.say(""));
    shown.addEventListener("error", () => void this.refused());
    // What is drawn costs the server a second or two: nothing is before the entry comes into sight.
    new IntersectionObserver((seen) => seen.some((one) => one.isIntersecting) && this.open(), { rootMargin: "200px" }).observe(part("pictures"));
  }

  private opened = false;

  private open(): void {
    if (this.opened) return;
    this.opened = true;
    void this.refresh();
  }

  async refresh(): Promise<void> {
    this.failed = false;
    const missing = this.bench.missing("motion");
    part("pictures-body").hidden = missing !== null;
    fill(part("pictures-none"), missing);
    if (missing || !this.opened) return;
    try {
      this.show(await get<Pictures>("pictures"));
      await this.film.refresh();
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      part("pictures-body").hidden = true;
      fill(part("pictures-none"), ...coded(problem.said));
    }
  }

  private show(found: Pictures): void {
    const first = !this.known;
    this.known = found;
    offer(select("picture-key"), found.pictures.map(({ key, title }) => [key, title]));
    offer(select("picture-form"), found.forms.map(({ key, title }) => [key, title]));
    offer(select("picture-ground"), found.grounds.map((name) => [name, GROUNDS[name] ?? name]));
    if (!this.chosen) select("picture-ground").value = dark() ? "dark" : "light";
    if (first && narrow() && found.forms.some(({ key }) => key === "tall")) select("picture-form").value = "tall";
    const text = part<HTMLTextAreaElement>("notes-text");
    if (text.value === this.saved) text.value = found.notes;
    this.saved = found.notes;
    this.draw();
  }

  private get address(): (kind: string) => string {
    const asked = new URLSearchParams({ form: select("picture-form").value, ground: select("picture-ground").value });
    const timed = this.known?.pictures.find(({ key }) => key === select("picture-key").value)?.timed;
    part<HTMLInputElement>("picture-stretch").disabled = !timed;
    const view = this.view();
    if (timed && view && part<HTMLInputElement>("picture-stretch").checked) {
      asked.set("from", view[0].toFixed(1));
      asked.set("to", view[1].toFixed(1));
    }
    return (kind) => `api/picture/${encodeURIComponent(select("picture-key").value)}?${asked}&kind=${kind}`;
  }

  private draw(): void {
    const { address } = this;
    const title = select("picture-key").selectedOptions[0]?.textContent ?? "";
    const form = this.known?.forms.find(({ key }) => key === select("picture-form").value);
    const shown = part<HTMLImageElement>("picture-shown");
    shown.classList.toggle("clear-dark", select("picture-ground").value === "clear-dark");
    if (form) [shown.width, shown.height] = [form.width, form.height];
    shown.alt = `${title}, as it is saved`;
    this.say("Drawing \u2026");
    shown.src = `${address("png")}&now=${encodeURIComponent(this.bench.state?.words ?? "")}.${this.turn}`;
    for (const kind of KINDS) {
      const link = part<HTMLAnchorElement>(`picture-${kind}`);
      link.href = address(kind);
      link.download = `${select("picture-key").value}-${select("picture-form").value}-${select("picture-ground").value}.${kind}`;
    }
  }

  private turn = 0; // a picture with other notes has another address

  private say(text: string): void {
    const said = part("picture-said");
    said.className = "hint";
    said.textContent = text;
  }

  /** An image element is not told why: it is asked for once more as an answer. */
  private async refused(): Promise<void> {
    try {
      await get(`picture/${encodeURIComponent(select("picture-key").value)}`, { form: select("picture-form").value });
    } catch (problem) {
      part("picture-said").className = "error";
      part("picture-said").textContent = problem instanceof Refused ? problem.said : "The picture could not be drawn.";
    }
  }

  /** A note to be worded, at the moment where the cursor of the charts stands. */
  private add(): void {
    const text = part<HTMLTextAreaElement>("notes-text");
    const head = text.value.trim() ? `${text.value.trimEnd()}\n\n` : "schema = 1\n\n";
    const note = ["[[notes]]", `figure = "${select("picture-key").value}"`, `at = ${clock(this.cursor.time)}`, 'text = "{value} at {time} UTC"'];
    text.value = `${head}${note.join("\n")}\n`;
    text.focus();
  }

  private async save(): Promise<void> {
    const text = part<HTMLTextAreaElement>("notes-text");
    const kept = await keep("notes", text, part("notes-said"));
    if (!kept) return;
    this.saved = text.value;
    this.turn += 1;
    this.draw();
  }
}

/** The choices of a select; what was chosen stays where it is still there. */
function offer(place: HTMLSelectElement, choices: [string, string][]): void {
  const before = place.value;
  fill(place, ...choices.map(([value, title]) => el("option", { value }, title)));
  if (choices.some(([value]) => value === before)) place.value = before;
}

/** Save a text of the analyst; a refusal stands beside it. */
export async function keep(path: string, text: HTMLTextAreaElement, said: HTMLElement): Promise<boolean> {
  try {
    await write("PUT", path, { raw: text.value });
    text.removeAttribute("aria-invalid");
    said.className = "";
    said.textContent = "Saved.";
    return true;
  } catch (problem) {
    if (!(problem instanceof Refused)) throw problem;
    text.setAttribute("aria-invalid", "true");
    said.className = "error";
    said.textContent = [problem.said, problem.where].filter(Boolean).join(" ");
    return false;
  }
}
