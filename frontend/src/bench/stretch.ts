// Stretches of time: as they are typed, and a finer one set into the whole record.

import type { Panel, Readings, Strips } from "../figure";

/** Seconds after midnight of `hh:mm:ss`; the next day where that lies nearer to the record. */
export function secondsOf(text: string, start: number): number {
  const parts = text.trim().match(/^(\d{1,2}):(\d{2})(?::(\d{2}(?:\.\d+)?))?$/);
  if (!parts) return NaN;
  const seconds = Number(parts[1]) * 3600 + Number(parts[2]) * 60 + Number(parts[3] ?? 0);
  return seconds < start - 43200 ? seconds + 86400 : seconds;
}

function joined(parts: Float32Array[]): Float32Array {
  const made = new Float32Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    made.set(part, at);
    at += part.length;
  }
  return made;
}

interface Cut {
  before: number;
  after: number;
}

/** Where ordered coarse times lie before and after the finer stretch. */
function cutOf(coarse: Float32Array, fine: Float32Array): Cut {
  let before = 0;
  while (before < coarse.length && coarse[before] < fine[0]) before++;
  let after = coarse.length;
  while (after > before && coarse[after - 1] > fine[fine.length - 1]) after--;
  return { before, after };
}

const spliced = (coarse: Float32Array, fine: Float32Array, cut: Cut): Float32Array =>
  joined([coarse.subarray(0, cut.before), fine, coarse.subarray(cut.after)]);

function readings(coarse: Readings | null, fine: Readings | null): Readings | null {
  if (!coarse || !fine || fine.time.length === 0) return coarse;
  const cut = cutOf(coarse.time, fine.time);
  return {
    ...coarse,
    time: spliced(coarse.time, fine.time, cut),
    value: spliced(coarse.value, fine.value, cut),
    suspect: spliced(coarse.suspect, fine.suspect, cut),
  };
}

/** The whole record with a finer stretch in it, so that a pan never meets an empty chart. */
export function splice(whole: Strips, fine: Strips): Strips {
  if (fine.time.length < 2) return whole;
  const cut = cutOf(whole.time, fine.time);
  const found = new Map(fine.panels.map((panel) => [panel.key, panel]));
  const panel = (coarse: Panel): Panel => {
    const finer = found.get(coarse.key);
    const bands = coarse.bands.map((band, k) => ({
      ...band,
      quantiles: band.quantiles.map((curve, q) =>
        spliced(curve, finer?.bands[k]?.quantiles[q] ?? new Float32Array(fine.time.length).fill(NaN), cut),
      ),
    }));
    return { ...coarse, bands, readings: readings(coarse.readings, finer?.readings ?? null) };
  };
  return { ...whole, time: spliced(whole.time, fine.time, cut), panels: whole.panels.map(panel) };
}
