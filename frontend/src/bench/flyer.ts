// Flights on demand: one on its way at a time, the newest values win, stale answers are dropped.

import { Refused, writeFigure } from "./api";
import { announce } from "./dom";
import type { Flown } from "./types";

export type Values = Record<string, number>;

/** How the hands act: a clocked procedure and its first delay; empty for the causes' own. */
export interface Hands {
  procedure?: string;
  reaction?: number;
}

interface Wish {
  /** Null: look for the flight that comes nearest to the motion. */
  values: Values | null;
  hands: Hands;
  /** Told of the flight; of nothing where it was refused. */
  land: (flown: Flown | null) => void;
}

export class Flyer {
  private newest = 0;
  private readonly wanted = new Map<string, Wish>();
  private flying = false;
  private frame = 0;
  /** ms from the last change of a value to its curves on the screen, and what of it was the flight. */
  readonly lags: { all: number; flight: number }[] = [];
  private readonly changed = new Map<string, number>();

  /** Fly a cause with these values; only the last wish of a frame is sent. */
  fly(cause: string, values: Values, hands: Hands, land: Wish["land"]): void {
    this.wanted.set(cause, { values: { ...values }, hands, land });
    this.changed.set(cause, performance.now());
    if (!this.frame) this.frame = requestAnimationFrame(() => this.next());
  }

  /** Look further for the flight of a cause that comes nearest to the motion. */
  best(cause: string, hands: Hands, land: Wish["land"]): void {
    if (this.wanted.has(cause)) return; // values that were turned come first
    this.wanted.set(cause, { values: null, hands, land });
    if (!this.frame) this.frame = requestAnimationFrame(() => this.next());
  }

  private next(): void {
    this.frame = 0;
    if (this.flying || this.wanted.size === 0) return;
    const [cause, wish] = [...this.wanted][0];
    this.wanted.delete(cause);
    this.flying = true;
    void this.send(cause, wish).finally(() => {
      this.flying = false;
      this.next();
    });
  }

  private async send(cause: string, { values, hands, land }: Wish): Promise<void> {
    const ticket = ++this.newest;
    const since = this.changed.get(cause) ?? performance.now();
    try {
      const asked = values ? writeFigure<Flown>("fly", { cause, values, ...hands, ticket }) : writeFigure<Flown>("best", { cause, ...hands, ticket });
      const flown = await asked;
      if (flown.superseded || (flown.ticket !== undefined && flown.ticket !== ticket)) return;
      if (this.wanted.has(cause)) return;
      land(flown);
      if (values) this.lags.push({ all: performance.now() - since, flight: 1000 * flown.seconds });
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      announce(problem.said);
      land(null);
    }
  }
}
