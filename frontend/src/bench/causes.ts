// Entry "Causes": each candidate with its mechanism and its knobs; any number flown over the motion.

import { Refused, get } from "./api";
import type { Bench, Entry } from "./bench";
import { announce, el, fill, part, put, standing } from "./dom";
import type { Flyer, Hands } from "./flyer";
import { overGround } from "./ground";
import { type Knob, knob } from "./knobs";
import type { Overlay } from "./overlay";
import type { Cause, Causes, Flown, Parameter } from "./types";

const said = (name: string): string => name.replace(/_/g, " ");

const listed = (said: string | string[]): string => (Array.isArray(said) ? said.join("; ") : said);

export class CausesEntry implements Entry {
  stages: Entry["stages"] = ["motion"];
  failed = false;
  private readonly cards = new Map<string, Card>();
  private told = "";

  constructor(
    readonly bench: Bench,
    private readonly flyer: Flyer,
    private readonly overlay: Overlay,
  ) {}

  async refresh(): Promise<void> {
    this.failed = false;
    const place = part("cause-list");
    const missing = this.bench.missing("motion");
    if (missing) return fill(part("causes-none"), missing);
    try {
      const { causes, cannot } = await get<Causes>("causes");
      fill(part("causes-none"), cannot);
      this.told = cannot ?? "";
      const able = [...causes].sort((a, b) => Number(b.can_act) - Number(a.can_act));
      const cards = able.map((cause) => this.held(cause) ?? new Card(cause, this.flyer, this.overlay, !cannot));
      cards.forEach((card) => this.cards.set(card.cause.name, card));
      fill(place, ...cards.map((card) => card.root));
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      fill(part("causes-none"), problem.said);
      fill(place);
    }
  }

  /** The card as it stands, its settings with it, unless the cause can be flown only now or no more. */
  private held({ name, can_act }: Cause): Card | undefined {
    const card = this.cards.get(name);
    if (card?.cause.can_act === can_act) return card;
    card?.hide();
    return undefined;
  }

  /** Show a cause's flight no more. */
  takeAway(name: string): void {
    this.cards.get(name)?.hide();
  }

  /** Fly a cause with some of its parameters set, as a cell of a map asks. */
  flyWith(name: string, values: Record<string, number>, procedure: string): boolean {
    const card = this.cards.get(name);
    if (!card?.cause.can_act) {
      announce(this.told || card?.cause.why_not || "This cause is not listed for the airplane.");
      return false;
    }
    card.fly(values, procedure);
    return true;
  }
}

class Card {
  readonly root: HTMLElement;
  private readonly box: HTMLInputElement;
  private readonly procedure = el("select");
  private readonly reaction = el("input", { type: "number", min: 0, step: "any", placeholder: "own" });
  private readonly ground = el("input", { type: "number", min: 0, step: "any", placeholder: "none" });
  private knobs: [Parameter, Knob][] = [];
  private extra: Record<string, number> = {};
  private slow = 0;
  private readonly busy = el("span", { class: "hint", role: "status" });

  constructor(
    readonly cause: Cause,
    private readonly flyer: Flyer,
    private readonly overlay: Overlay,
    reasoned: boolean,
  ) {
    const id = `cause-${cause.name}`;
    this.box = el("input", { type: "checkbox", id, onchange: () => this.toggle() });
    this.box.disabled = !cause.can_act;
    this.root = el(
      "article",
      { class: cause.can_act ? "cause" : "cause cannot", "data-cause": cause.name },
      el("h3", {}, this.box, el("label", { for: id }, cause.title), this.busy),
      el("p", {}, standing("inferred"), ` ${cause.mechanism}`),
      reasoned && !cause.can_act && el("p", { class: "hint" }, `Excluded here: ${cause.why_not}`),
    );
    put(this.root, this.evidence(), this.settings());
  }

  private evidence(): HTMLElement {
    const { physical_evidence: marks, not_separable: twins } = this.cause;
    const list = el("dl");
    const dark = listed(this.cause.cannot_explain ?? "");
    if (dark) put(list, el("dt", {}, "Cannot explain"), el("dd", {}, dark));
    if (listed(marks)) put(list, el("dt", {}, "Physical evidence that would tell"), el("dd", {}, listed(marks)));
    if (listed(twins)) put(list, el("dt", {}, "Not separable by the path alone"), el("dd", {}, listed(twins)));
    return el("details", {}, el("summary", {}, "Evidence and similar causes"), list);
  }

  private settings(): HTMLElement | null {
    const { parameters, name, can_act } = this.cause;
    if (!can_act || parameters.length === 0) return null;
    this.knobs = parameters.map((parameter) => [
      parameter,
      knob(parameter, `knob-${name}-${parameter.name}`, () => this.turned()),
    ]);
    const reset = el("p", {}, el("button", { type: "button", onclick: () => this.reset() }, "Reset"));
    return el(
      "details",
      { class: "settings" },
      el("summary", {}, "Settings"),
      ...this.knobs.map(([, made]) => made.root),
      this.handsBox(),
      reset,
    );
  }

  /** Who holds and stops what. */
  private handsBox(): HTMLElement | null {
    const { procedures, name } = this.cause;
    if (!procedures?.length) return null;
    this.procedure.id = `procedure-${name}`;
    this.reaction.id = `reaction-${name}`;
    const first = `${said(procedures[0])} (its first)`;
    this.procedure.append(el("option", { value: "" }, first));
    this.procedure.append(...procedures.slice(1).map((one) => el("option", { value: one }, said(one))));
    this.ground.id = `ground-${name}`;
    for (const input of [this.procedure, this.reaction, this.ground]) input.addEventListener("input", () => this.turned());
    return el(
      "div",
      { class: "hands" },
      el("label", { for: this.procedure.id }, "What the crew does"),
      this.procedure,
      el("label", { for: this.reaction.id }, "Delay before it, s"),
      this.reaction,
      el("label", { for: this.ground.id }, "Ground below the start, ft"),
      this.ground,
    );
  }

  private reset(): void {
    this.extra = {};
    this.procedure.value = this.reaction.value = this.ground.value = "";
    for (const [parameter, made] of this.knobs) {
      const range = made.root.querySelector<HTMLInputElement>("input[type=range]")!;
      range.value = String(parameter.value ?? parameter.median);
      range.dispatchEvent(new Event("input"));
    }
  }

  hide(): void {
    this.box.checked = false;
    this.overlay.remove(this.cause.name);
  }

  private toggle(): void {
    if (!this.box.checked) return this.hide();
    this.root.querySelector<HTMLDetailsElement>("details.settings")?.setAttribute("open", "");
    this.turned();
  }

  /** A knob was turned: it is flown at once, and shown. */
  private turned(): void {
    this.box.checked = true;
    const values = Object.fromEntries(this.knobs.map(([parameter, made]) => [parameter.name, made.value()]));
    clearTimeout(this.slow);
    this.slow = window.setTimeout(() => (this.busy.textContent = "flying \u2026 the first flight takes longest"), 500);
    this.flyer.fly(this.cause.name, { ...values, ...this.extra }, this.hands, (flown) => {
      clearTimeout(this.slow);
      this.busy.textContent = "";
      if (flown && this.box.checked) this.overlay.set(this.cause.name, this.cause.title, this.over(flown));
    });
  }

  private over(flown: Flown): Flown {
    const below = this.ground.valueAsNumber;
    return below > 0 ? overGround(flown, below) : flown;
  }

  private get hands(): Hands {
    const reaction = this.reaction.valueAsNumber;
    return { procedure: this.procedure.value || undefined, reaction: Number.isFinite(reaction) ? reaction : undefined };
  }

  fly({ reaction, ground, ...values }: Record<string, number>, procedure: string): void {
    this.extra = values;
    this.reaction.value = reaction === undefined ? "" : String(reaction);
    this.ground.value = ground === undefined ? "" : String(ground);
    const known = [...this.procedure.options].some((one) => one.value === procedure);
    // The first of the list goes by no name; changed airplanes of the lessons are not on it.
    if (!known && procedure && procedure !== this.cause.procedures?.[0]) {
      this.procedure.append(el("option", { value: procedure }, said(procedure)));
    }
    this.procedure.value = procedure === this.cause.procedures?.[0] ? "" : procedure;
    for (const [parameter, made] of this.knobs) {
      if (!(parameter.name in values)) continue;
      const number = made.root.querySelector<HTMLInputElement>("input[type=number]")!;
      number.value = String(values[parameter.name]);
      number.dispatchEvent(new Event("input"));
    }
    this.turned();
  }
}
