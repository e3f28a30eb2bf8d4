// Wheel and fingers on a chart: a wheel with Ctrl or Shift, or two fingers, narrow and widen the
// stretch; a wheel to the side moves it. A plain wheel scrolls the page, as everywhere.

import type uPlot from "uplot";
import { type Shows, zoomAbout } from "./overview";

export function gestures(plot: uPlot, shows: Shows): void {
  const { over } = plot;
  const time = (x: number): number => plot.posToVal(x - over.getBoundingClientRect().left, "x");
  over.style.touchAction = "pan-y";
  over.addEventListener(
    "wheel",
    (event) => {
      const sideways = Math.abs(event.deltaX) > Math.abs(event.deltaY);
      if (!event.ctrlKey && !event.metaKey && !event.shiftKey && !sideways) return;
      event.preventDefault();
      if (!sideways) return zoomAbout(shows, time(event.clientX), event.deltaY);
      const [from, to] = shows.view();
      const moved = ((to - from) * event.deltaX) / over.clientWidth;
      shows.zoom(from + moved, to + moved);
    },
    { passive: false },
  );
  pinch(over, shows);
}

function pinch(over: HTMLElement, shows: Shows): void {
  const fingers = new Map<number, number>();
  let begun: { at: [number, number]; view: [number, number] } | null = null;
  const places = (): [number, number] => [...fingers.values()].sort((a, b) => a - b) as [number, number];
  const share = (x: number): number => (x - over.getBoundingClientRect().left) / over.clientWidth;
  over.addEventListener("pointerdown", (event) => {
    if (event.pointerType !== "touch") return;
    fingers.set(event.pointerId, event.clientX);
    begun = fingers.size === 2 ? { at: places(), view: shows.view() } : null;
  });
  over.addEventListener("pointermove", (event) => {
    if (!fingers.has(event.pointerId)) return;
    fingers.set(event.pointerId, event.clientX);
    if (!begun || fingers.size !== 2) return;
    const [from, to] = begun.view;
    const timeAt = (x: number): number => from + share(x) * (to - from);
    const [held, now] = [begun.at.map(timeAt), places().map(share)];
    const span = (held[1] - held[0]) / Math.max(now[1] - now[0], 0.02);
    shows.zoom(held[0] - now[0] * span, held[0] + (1 - now[0]) * span);
  });
  for (const over_ of ["pointerup", "pointercancel", "pointerleave"] as const) {
    over.addEventListener(over_, (event) => {
      fingers.delete(event.pointerId);
      begun = null;
    });
  }
}
