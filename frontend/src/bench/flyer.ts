// Flights on demand: one on its way at a time, the newest values win, stale answers are dropped.

import { Refused, writeFigure } from "./api";
import { announce } from "./dom";
import type { Flown } from "./types";

export type Values = Record<string, number>;

export class Flyer {
  private newest = 0;
  private readonly wanted = new Map<string, { values: Values; land: (flown: Flown) => void }>();
  private flying = false;
  private frame = 0;
  /** ms from the last change of a value to its curves on the screen, and what of it was the flight. */
  readonly lags: { all: number; flight: number }[] = [];
  private readonly changed = new Map<string, number>();

  constructor(private readonly duration: () => number | undefined) {}

  /** Fly a cause with these values; only the last wish of a frame is sent. */
  fly(cause: string, values: Values, land: (flown: Flown) => void): void {
    this.wanted.set(cause, { values: { ...values }, land });
    this.changed.set(cause, performance.now());
    if (!this.frame) this.frame = requestAnimationFrame(() => this.next());
  }

  private next(): void {
    this.frame = 0;
    if (this.flying || this.wanted.size === 0) return;
    const [cause, { values, land }] = [...this.wanted][0];
    this.wanted.delete(cause);
    this.flying = true;
    void this.send(cause, values, land).finally(() => {
      this.flying = false;
      this.next();
    });
  }

  private async send(cause: string, values: Values, land: (flown: Flown) => void): Promise<void> {
    const ticket = ++this.newest;
    const since = this.changed.get(cause)!;
    try {
      const flown = await writeFigure<Flown>("fly", { cause, values, duration: this.duration(), ticket });
      if (flown.superseded || (flown.ticket !== undefined && flown.ticket !== ticket)) return;
      if (this.wanted.has(cause)) return;
      land(flown);
      this.lags.push({ all: performance.now() - since, flight: 1000 * flown.seconds });
    } catch (problem) {
      if (!(problem instanceof Refused)) throw problem;
      announce(problem.said);
    }
  }
}
