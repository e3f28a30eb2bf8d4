// Made by frontend/make_types.py from the schema; change the Python, not this file.

export interface Odds {
  /** Its name in the data and on the command line. */
  cause: string;
  /** What people read; empty: as the name. */
  title: string;
  /** Among the causes listed and an unlisted one. */
  probability: number;
  /** Of the networks. */
  lowest: number;
  /** Of the networks. */
  highest: number;
  /** False for the row of an unlisted cause. */
  listed: boolean;
  sentence: string;
}

export interface Verdict {
  /** Its name in the data and on the command line. */
  cause: string;
  /** What people read; empty: as the name. */
  title: string;
  word: "cannot" | "can if" | "can" | "not judged";
  probability: number | null;
  /** What saves it. */
  condition: string;
  /** What a cause that cannot comes nearest to. */
  closest_miss: string;
  sentence: string;
  basis: string[];
}

export interface Event {
  /** On the corrected clock. */
  time: number;
  /** 95 % half-width, s, with that of the clock. */
  half_width: number;
  kind: "voice" | "warning" | "radar" | "witness" | "record" | "derived";
  text: string;
  source: string;
  /** Clock of the source less the corrected clock, s; taken off. */
  clock_offset: number;
  /** 95 % half-width of it, s. */
  clock_half_width: number;
  /** What the offset rests on. */
  clock_basis: string;
}

export interface Limit {
  value: number;
  label: string;
}

export interface PanelRequest {
  file: string;
  variable: string;
  label: string;
  /** SI unit or rad of the variable. */
  unit: string;
  limits: Limit[];
}

export interface ResolutionWords {
  quantity: string;
  /** s */
  window: number;
  usable: boolean;
  sentence: string;
}

export interface Score {
  /** Such as log score, Brier score, coverage of the 90 % band. */
  name: string;
  value: number;
  /** Lower end over the flights drawn. */
  low90: number | null;
  high90: number | null;
  /** Number of flights. */
  cases: number;
  /** What the figure means, and for which data it holds. */
  sentence: string;
}

export interface SectionTable {
  caption: string;
  kind: "fact" | "derived" | "inferred";
  columns: string[];
  rows: string[][];
}

export interface Settling {
  item: string;
  /** Expected fall of entropy over the causes, bit. */
  gain: number;
  /** Of the networks. */
  lowest: number | null;
  highest: number | null;
  /** What it takes to get it. */
  effort: string;
  /** If this is found, then that follows. */
  outcomes: string[];
}

export interface Section {
  stage: "track" | "motion" | "moments" | "explanations" | "weighing" | "response" | "evidence";
  title: string;
  /** Said beside the title of the section. */
  cautions: string[];
  statements: Statement[];
  verdicts: Verdict[];
  odds: Odds[];
  /** Calibration, shown beside conclusions. */
  scores: Score[];
  /** Most telling evidence first. */
  settling: Settling[];
  tables: SectionTable[];
  panels: PanelRequest[];
}

export interface Statement {
  kind: "fact" | "derived" | "inferred";
  text: string;
  /** Files, variables, documents. */
  basis: string[];
  caution: string;
}

export interface Findings {
  statements: Statement[];
  undetermined: Statement[];
  sections: Section[];
  events: Event[];
  resolution: ResolutionWords[];
}
