// Entry "Causes": each candidate with its mechanism and its knobs; any number flown over the motion.

import { Refused, get } from "./api";
import type { Bench, Entry } from "./bench";
import { announce, coded, el, fill, part, put, standing } from "./dom";
import type { Flyer, Hands, Values } from "./flyer";
import { overGround } from "./ground";
import { type Knob, knob } from "./knobs";
import type { Overlay } from "./overlay";
import type { Cause, Causes, Findings, Flown, Parameter } from "./types";

const said = (name: string): string => name.replace(/_/g, " ");

const listed = (said: string | string[]): string => (Array.isArray(said) ? said.join("; ") : said);

export class CausesEntry implements Entry {
  // A flight starts where the required moment counts from, so both decide what can be flown.
  stages: Entry["stages"] = ["motion", "moments"];
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
      const odds = await this.odds();
      const order = (cause: Cause): number => odds.get(cause.name)?.probability ?? 0;
      const able = [...causes].sort((a, b) => Number(b.can_act) - Number(a.can_act) || order(b) - order(a));
      const cards = able.map((cause) => this.held(cause, !cannot) ?? new Card(cause, this.flyer, this.overlay, !cannot));
      cards.forEach((card) => this.cards.set(card.cause.name, card));
      cards.forEach((card) => card.judge(odds.get(card.cause.name)));
      fill(place, ...cards.map((card) => card.root));
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      this.failed = true;
      fill(part("causes-none"), ...coded(problem.said));
      fill(place);
    }
  }

  /** The odds of each cause and its word, as the findings have them; none before causes are weighed. */
  private async odds(): Promise<Map<string, Judged>> {
    const found = await get<Findings>("findings").catch(() => null);
    const rows = (found?.judgement?.rows ?? []) as unknown as { cause: string; word: string; odds: { probability: number } | null }[];
    return new Map(rows.map((row) => [row.cause, { word: row.word, probability: row.odds?.probability ?? null }]));
  }

  /** The card as it stands, its settings with it, unless the cause can be flown only now or no more. */
  private held({ name, can_act, why_not }: Cause, reasoned: boolean): Card | undefined {
    const card = this.cards.get(name);
    if (card?.cause.can_act === can_act && card.cause.why_not === why_not && card.reasoned === reasoned) return card;
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
    card.flyAs(values, procedure);
    return true;
  }
}

interface Judged {
  word: string;
  probability: number | null;
}

const SLICES = 8; // calls that look for a nearer flight before a page leaves it

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
  private readonly judged = el("span", { class: "judged" });
  /** The values that were turned by hand, and those of the nearest flight found. */
  private mine: Values | null = null;
  private found: Values | null = null;
  private looking = 0;

  constructor(
    readonly cause: Cause,
    private readonly flyer: Flyer,
    private readonly overlay: Overlay,
    readonly reasoned: boolean,
  ) {
    const id = `cause-${cause.name}`;
    this.box = el("input", { type: "checkbox", id, onchange: () => this.toggle() });
    this.box.disabled = !cause.can_act;
    this.root = el(
      "article",
      { class: cause.can_act ? "cause" : "cause cannot", "data-cause": cause.name },
      el("h3", {}, this.box, el("label", { for: id }, cause.title), this.judged),
      this.busy,
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
    const reset = el(
      "p",
      { class: "acts", role: "group", "aria-label": `Settings of ${this.cause.title}` },
      el("button", { type: "button", onclick: () => this.best() }, "Best found"),
      el("button", { type: "button", onclick: () => this.reset() }, "Typical"),
      this.back,
    );
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

  private readonly back = el("button", { type: "button", disabled: true, onclick: () => this.ownAgain() }, "Mine");

  judge(judged: Judged | undefined): void {
    const odds = judged?.probability;
    fill(this.judged, odds === null || odds === undefined ? null : `${odds < 0.01 ? "< 0.01" : odds.toFixed(2)}`);
    this.judged.title = "Odds, as saved";
  }

  private put(values: Values): void {
    for (const [parameter, made] of this.knobs) if (parameter.name in values) made.set(values[parameter.name]);
  }

  private ownAgain(): void {
    if (!this.mine) return;
    this.put(this.mine);
    this.fly();
  }

  /** Look for the flight nearest to the motion, a slice at a time, until a knob is turned. */
  private best(): void {
    this.box.checked = true;
    this.extra = {};
    if (this.found) this.put(this.found);
    const ticket = ++this.looking;
    let left = SLICES;
    this.busy.textContent = "looking for the nearest flight \u2026 the first flight takes longest";
    const look = (): void =>
      this.flyer.best(this.cause.name, this.hands, (flown) => {
        if (ticket !== this.looking || !this.box.checked) return;
        if (!flown) return this.fly();
        this.show(flown);
        if (flown.values) this.put((this.found = flown.values));
        left -= 1;
        const said = `nearest of ${flown.tried ?? 1} flights`;
        this.busy.textContent = left > 0 ? `${said} \u2026` : `${said}: the best of these, not the best there is`;
        if (left > 0) look();
      });
    look();
  }

  private show(flown: Flown): void {
    this.overlay.set(this.cause.name, this.cause.title, this.over(flown));
  }

  private reset(): void {
    this.extra = {};
    this.procedure.value = this.reaction.value = this.ground.value = "";
    for (const [parameter, made] of this.knobs) made.set(parameter.value ?? parameter.median);
    this.fly();
  }

  hide(): void {
    this.box.checked = false;
    this.overlay.remove(this.cause.name);
  }

  private toggle(): void {
    if (!this.box.checked) return this.hide();
    this.root.querySelector<HTMLDetailsElement>("details.settings")?.setAttribute("open", "");
    if (this.knobs.length) this.best();
    else this.fly();
  }

  private get values(): Values {
    return Object.fromEntries(this.knobs.map(([parameter, made]) => [parameter.name, made.value()]));
  }

  /** A knob was turned: it is flown at once, and what it gives can be come back to. */
  private turned(): void {
    this.mine = this.values;
    this.back.disabled = false;
    this.fly();
  }

  /** Fly what the knobs say, and show it. */
  private fly(): void {
    this.box.checked = true;
    this.looking += 1;
    this.busy.textContent = "";
    const { values } = this;
    clearTimeout(this.slow);
    this.slow = window.setTimeout(() => (this.busy.textContent = "flying \u2026 the first flight takes longest"), 500);
    this.flyer.fly(this.cause.name, { ...values, ...this.extra }, this.hands, (flown) => {
      clearTimeout(this.slow);
      this.busy.textContent = "";
      if (flown && this.box.checked) this.show(flown);
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

  flyAs({ reaction, ground, ...values }: Record<string, number>, procedure: string): void {
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
      made.set(values[parameter.name]);
    }
    this.fly();
  }
}
