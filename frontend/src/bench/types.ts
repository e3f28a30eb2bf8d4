export type { Findings, Score, Section, Statement, Verdict } from "./findings";
// Answers of the server, as this page reads them.

import type { Figure, Palette, Strips } from "../figure";

export type Stage = "check" | "motion" | "moments" | "limits" | "wreckage" | "heard" | "felt" | "history" | "weighing" | "response";

export interface HeldFile {
  name: string;
  kind: string;
  size: number;
  sha256: string;
  used: string;
}

export interface Job {
  id: string;
  kind: string;
  state: "waiting" | "running" | "done" | "failed" | "cancelled";
  stage: string;
  fraction: number | null;
  started: string | number | null;
  seconds: number | null;
  error: { message: string; hint?: string } | null;
  log: string[];
  result?: string | null;
}

export interface StageState {
  ready: boolean;
  stale: boolean;
  made: string | number | null;
  /** Why the case cannot bear this stage; empty where it can. */
  cannot: string;
}

/** Something that the case does not hold yet. */
export interface Gap {
  path: string;
  words: string;
  hint: string;
  /** The first stage that needs it. */
  stage: Stage;
}

export interface State {
  name: string;
  /** Changes where text of the case was taken into the findings. */
  words?: string;
  missing: Gap[];
  /** Why no film can be made here; empty where one can. */
  no_film: string;
  no_parquet: boolean;
  /** Whether a report is there to be opened. */
  report: boolean;
  revision: string;
  title: string;
  question: string;
  cautions: string[];
  files: HeldFile[];
  stages: Partial<Record<Stage, StageState>>;
  problem: { message: string; where?: string; hint?: string } | null;
  jobs: Job[];
  can_undo: boolean;
  can_redo: boolean;
}

export interface Preview {
  kind: string;
  columns: {
    name: string;
    samples: string[];
    quantity: string | null;
    unit: string | null;
    why: string;
    confidence: number | string | null;
  }[];
  rows: string[][];
  report: string[];
  /** What speaks against these columns, although they can be read. */
  warnings: string[];
  choices: Record<string, string[]>;
  /** What the reader says against these columns. */
  error?: { message: string; hint?: string } | null;
  /** What else the file looks like, and where in the case it would stand. */
  suggest?: { array: string; kind: string } | null;
}

export interface Field {
  path: string;
  label: string;
  value: string | boolean | null;
  kind: "text" | "quantity" | "choice" | "time" | "flag";
  unit?: string;
  help?: string;
  choices?: string[];
  required?: boolean;
  /** What holds where the field is left empty. */
  default?: string;
}

export interface Group {
  title: string;
  /** Where it stands in the case file; a list's entries end in `[n]`. */
  path?: string;
  kind?: string;
  fields: Field[];
}

export interface Form {
  revision?: string;
  groups: Group[];
  addable?: { path: string; title: string; kinds: Group[] }[];
}

export interface MotionFigure extends Partial<Figure> {
  strips: Strips;
  palette: Palette;
  span?: [number, number];
}

export interface Space {
  time: Float32Array;
  x: Float32Array;
  y: Float32Array;
  z: Float32Array;
  low: Float32Array;
  high: Float32Array;
  ground: number | Float32Array | null;
}

/** Heights of the ground, rows from south to north; ends in m east and north of the first place. */
export interface GroundGrid {
  count: number;
  west: number;
  east: number;
  south: number;
  north: number;
  height: Float32Array;
}

/** What a map shows beside the path, m east and north of its first place. */
export interface Surroundings {
  lines: { border: boolean; x: Float32Array; y: Float32Array }[];
  fields: { code: string; x: number; y: number }[];
  ground: GroundGrid | null;
  wind: { time: Float32Array; east: Float32Array; north: Float32Array; error: Float32Array } | null;
}

/** A part of the time axis with a name. */
export interface FoundStretch {
  name: string;
  start: number;
  end: number;
  why: string;
}

/** A stretch in which a quantity is not observable, and what would help. */
export interface Hatch {
  quantity: string;
  start: number;
  end: number;
  why: string;
  helps: { words: string; path: string }[];
}

export interface SourceRow {
  source: string;
  row: number;
  text: string;
  time: number;
  suspect: boolean;
  reason: string;
}

export interface Parameter {
  name: string;
  meaning: string;
  unit: string;
  low: number;
  median: number;
  high: number;
  source: string;
  /** Where its slider stands at first; the median where nothing is said. */
  value?: number;
  /** How it is believed; a logarithm's slider has even ratios. */
  shape?: string;
  /** What a typed number may be, SI. */
  least?: number;
  most?: number;
  /** The unit that people read, and the SI value of one. */
  shown?: { symbol: string; factor: number };
  /** Of a parameter that is one thing or another, and what it is called then. */
  choices?: { value: number; label: string }[];
  said?: string;
}

export interface Cause {
  name: string;
  title: string;
  mechanism: string;
  can_act: boolean;
  why_not: string;
  parameters: Parameter[];
  /** What can be done against it, the hands alone first. */
  procedures?: string[];
  cannot_explain?: string | string[];
  physical_evidence: string | string[];
  not_separable: string | string[];
}

export interface Causes {
  start: number | string | null;
  /** Why none can be flown; empty where some can. */
  cannot?: string;
  causes: Cause[];
}

export interface Flown {
  ticket: number;
  /** Parameters, SI. */
  values?: Record<string, number>;
  /** Flights among which it is the nearest. */
  tried?: number;
  superseded?: boolean;
  seconds: number;
  time: Float32Array;
  curves: Record<string, Float32Array>;
  misfit: { overall: number | null; seconds?: number; channels?: Record<string, number | null> };
  ground?: Ground;
}

/** The ground that a flight is held over, in the unit of heights. */
export interface Ground {
  /** Below the height at the start. */
  below: number;
  level: number;
  /** When the flight meets it, s; null where it does not. */
  met: number | null;
  /** Least height above it. */
  least: number;
  /** Whether the flight still sinks at its end. */
  sinking: boolean;
}

export interface OddsRow {
  cause: string;
  title: string;
  probability: number;
  low: number;
  high: number;
  prior: number;
  /** As the case file states weights: 1 for what most causes have. */
  weight: number;
  log_bayes_factor: number | null;
  words: string;
}

export interface Odds {
  rows: OddsRow[];
  score: string;
  leader?: string;
  prior?: string;
  /** Said above all odds where no listed cause comes near the track. */
  fit?: string;
  twin?: string | null;
  evidence?: { name: string; doubt: string | number | null; caution: string; source: string; nats?: Record<string, number> | number | null }[];
  reliability: { predicted: number; observed: number; count: number }[];
}

export interface Side {
  label: string;
  unit: string;
  /** What a flight takes for it; without one the case's own value is flown. */
  parameter?: string;
  values: number[];
}

export interface ShareMap {
  cause: string;
  procedure: string;
  /** An arrangement that was not the airplane's: shown as a lesson for design. */
  lesson?: boolean;
  x: Side;
  y: Side;
  share: (number | null)[][];
  low?: (number | null)[][];
  high?: (number | null)[][];
}

type Word = string | number | null;

/** Column force to hold against time, and the share of people who could. */
export interface HoldForce {
  time: number[];
  /** One curve, or low, middle and high. */
  pull: Word[] | Word[][];
  unit: string;
  one_hand: (number | null)[];
  two_hands: (number | null)[];
}

export interface ResponseResult {
  causes: string[];
  titles?: Record<string, string>;
  reference?: Record<string, string>;
  /** The typical fault of each cause, SI. */
  faults?: Record<string, Record<string, number>>;
  maps: ShareMap[];
  latest: Record<string, Word>[];
  recoveries?: Record<string, Word>[];
  lessons: string[];
  left_out?: string[];
  force?: Record<string, HoldForce>;
  height?: { value: number; unit: string; stated: string };
  reaction?: { median: number; spread: number; source: string; of_rules: number[] };
  cautions?: string[];
}

export interface EvidenceItem {
  item: string;
  bits: number;
  lowest?: number | null;
  highest?: number | null;
  cost: string;
  source: string;
  caution: string;
  outcomes: { outcome: string; chance: number; leaders: string | string[] }[];
}

export interface CheckedClaim {
  claim: { name: string; says: string; kind: string; data: string[]; method: string };
  said_likelihood: string;
  confidence: string;
  borne: number | null;
  holds?: boolean;
  doubts: { code: string; sentence: string }[];
}

export interface Claims {
  text: string;
  /** What the findings bear, as text to start from. */
  draft_text?: string;
  claims: CheckedClaim[];
  drafts: CheckedClaim[];
}

export interface Wording {
  line: number;
  words: string;
  problem: string;
  suggestion: string;
}
