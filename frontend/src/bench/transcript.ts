// A transcript pasted as text: one call a line, each beginning with its time.

export interface CallLine {
  /** As the case file writes a time. */
  time: string;
  text: string;
  source: string;
}

const TIME = /^\s*\[?(\d{1,2}):?(\d{2})(?::?(\d{2}(?:[.,]\d+)?))?\s*(?:Z|UTC|z)?\]?\s*[-\u2013\u2014,;|\t ]?\s*/;
// "TWR:", "CAM-1 |" or a column of its own: who spoke.
const SPEAKER = /^([A-Z][A-Za-z0-9 ./-]{0,23}?)\s*(?:[:|\t]|\s-\s)\s*(?=\S)/;

const padded = (part: string): string => part.replace(",", ".").replace(/^(\d)(?!\d)/, "0$1");

/** Calls of a text, and the lines that belong to none. A line without a time goes on with the call before. */
export function readTranscript(text: string): { calls: CallLine[]; lost: string[] } {
  const calls: CallLine[] = [];
  const lost: string[] = [];
  for (const line of text.split(/\r?\n/)) {
    if (!line.trim()) continue;
    const found = line.match(TIME);
    const [hour, minute, second] = found ? [Number(found[1]), Number(found[2]), Number((found[3] ?? "0").replace(",", "."))] : [99, 99, 99];
    const words = found ? line.slice(found[0].length).trim() : "";
    if (!found || hour > 23 || minute > 59 || second >= 60 || !words) {
      if (calls.length && !/^\s*\[?\d{1,2}:?\d{2}/.test(line)) calls[calls.length - 1].text += ` ${line.trim()}`;
      else lost.push(line.trim());
      continue;
    }
    const speaker = words.match(SPEAKER);
    calls.push({
      time: `${padded(found[1])}:${found[2]}:${padded(found[3] ?? "00")}`,
      text: speaker ? words.slice(speaker[0].length).trim() : words,
      source: speaker ? speaker[1].trim() : "",
    });
  }
  return { calls, lost };
}
