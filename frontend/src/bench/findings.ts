// Made by frontend/make_types.py from the schema; change the Python, not this file.

export interface CauseCondition {
  grant: "stronger-hands" | "crew-trim" | "other-rate" | "other-travel" | "fixed-items" | "more-load" | "ice" | "large-errors";
  /** The value it takes; null: none is. */
  value: number | null;
  /** SI; empty without a value. */
  unit: string;
  /** True where the largest force ever measured does not do. */
  beyond_measured: boolean;
}

export interface CauseJudgement {
  cause: CauseName;
  mechanism: Mechanism;
  word: "cannot" | "can if" | "can" | "not judged";
  /** Of *cannot*: by which test. */
  excluded_by: ("airplane-or-facts" | "moment" | "track")[];
  /** Of *can if*. */
  condition: CauseCondition | null;
  /** Of *not judged*. */
  open_because: "unlisted" | "no-test" | "too-few-times" | "bank-not-observable" | null;
  /** p-value of its required moment. */
  moment_probability: number | null;
  needs: NeedAgainstHas[];
  /** Its nearest simulated flight and its largest residual. */
  best_flight: NearestFlight | null;
  /** How often a flight of this cause would speak as clearly against it as this track does; null: not computed. */
  p_value: number | null;
  /** Null: not weighed. */
  odds: JudgedOdds | null;
}

export interface CauseName {
}

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
  /** 95% half-width, s, with that of the clock. */
  half_width: number;
  kind: "voice" | "warning" | "radar" | "witness" | "record" | "derived";
  text: string;
  source: string;
  /** Clock of the source less the corrected clock, s; taken off. */
  clock_offset: number;
  /** 95% half-width of it, s. */
  clock_half_width: number;
  /** What the offset rests on. */
  clock_basis: string;
}

export interface Fit {
  /** Listed cause of the largest p-value; null: none computed. */
  best: CauseName | null;
  /** How often a flight of a listed cause would be as far from all of them: would leave the unlisted cause as large a share; null: not computed. */
  p_value: number | null;
  /** P-value below which no listed cause comes near. */
  threshold: number;
  /** True where no listed cause comes near; null while that is not computed. */
  none_near: boolean | null;
}

export interface JudgedOdds {
  prior: number;
  probability: number;
  lowest: number;
  highest: number;
}

export interface JudgementFindings {
  rows: CauseJudgement[];
  mechanisms: MechanismSum[];
  fit: Fit;
  /** A cause with a larger probability is never excluded, whatever a test says. */
  residual: number;
}

export interface Limit {
  value: number;
  label: string;
}

export interface Mechanism {
}

export interface MechanismSum {
  mechanism: Mechanism;
  causes: CauseName[];
  /** Those of them whose word is *cannot*. */
  excluded: CauseName[];
  odds: JudgedOdds;
}

export interface NearestFlight {
  /** Standard deviations of data and gusts, RMS. */
  distance: number;
  /** Where its residual is largest. */
  fails_in: string;
  /** s after the epoch. */
  fails_at: number;
  /** Standard deviations. */
  fails_by: number;
  /** Effective number of flights that follow the track. */
  flights: number;
}

export interface NeedAgainstHas {
  /** Its name in the registry of quantities. */
  quantity: string;
  unit: string;
  low90: number;
  median: number;
  high90: number;
  /** Least available; null: no limit. */
  least: number | null;
  /** Most available; null: no limit. */
  most: number | null;
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
  /** Such as log score, Brier score, coverage of the 90% band. */
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
  /** Stands in an appendix of the report. */
  detail: boolean;
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
  stage: "track" | "motion" | "moments" | "physics" | "history" | "explanations" | "weighing" | "signatures" | "response" | "evidence" | "limits" | "wreckage" | "heard" | "felt" | "outside";
  title: string;
  /** Printed beside the title of the section. */
  cautions: string[];
  statements: Statement[];
  verdicts: Verdict[];
  odds: Odds[];
  /** Calibration, shown beside conclusions. */
  scores: Score[];
  /** Most telling evidence first. */
  settling: Settling[];
  boxes: WordedBox[];
  tables: SectionTable[];
  panels: PanelRequest[];
}

export interface Statement {
  kind: "fact" | "derived" | "inferred";
  text: string;
  /** Files, variables, documents. */
  basis: string[];
  caution: string;
  /** Stands in an appendix of the report. */
  detail: boolean;
  /** Name of the one cause that it speaks of. */
  about: string;
}

export interface WordedBox {
  key: string;
  title: string;
  formula: string;
  /** Each symbol with its value, band and unit. */
  given: string[];
  /** The numbers put in, one line a use of the formula. */
  worked: string[];
  sentence: string;
  source: string;
}

export interface Findings {
  statements: Statement[];
  undetermined: Statement[];
  sections: Section[];
  events: Event[];
  resolution: ResolutionWords[];
  judgement: JudgementFindings | null;
}
