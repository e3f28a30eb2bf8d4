// The figure description, as src/neutralpoint/report/figures/figure.py writes it, with arrays resolved.

export interface Axis {
  unit: string;
  low: number;
  high: number;
  decimals: number;
  second_unit: string;
  second_factor: number;
  wrap: number;
}

export interface Band {
  label: string;
  standing: "fact" | "derived" | "inferred";
  /** 5, 25, 50, 75 and 95%, one array each. */
  quantiles: Float32Array[];
  ink: number;
}

export interface Readings {
  label: string;
  time: Float32Array;
  value: Float32Array;
  suspect: Float32Array;
  half_step: number;
}

export interface Panel {
  key: string;
  title: string;
  axis: Axis;
  bands: Band[];
  readings: Readings | null;
  levels: { value: number; label: string }[];
  shades: { start: number; end: number }[];
}

export interface Mark {
  number: number;
  time: number;
  half_width: number;
  kind: string;
  text: string;
}

export interface Strips {
  day: string;
  start: number;
  time: Float32Array;
  panels: Panel[];
  marks: Mark[];
}

export interface PathView {
  key: string;
  title: string;
  x_unit: string;
  y_unit: string;
  equal: boolean;
  x: Float32Array;
  y: Float32Array;
  sample_x: Float32Array[];
  sample_y: Float32Array[];
  reading_time: Float32Array;
  reading_x: Float32Array;
  reading_y: Float32Array;
}

export interface Figure {
  strips: Strips;
  views: PathView[];
}

export interface Palette {
  paper: string;
  ink: string;
  quiet: string;
  grid: string;
  hatch: string;
  band90: string;
  band50: string;
  edge: string;
  limit: string;
  event: string;
  inks: string[];
  dashes: number[][];
}

interface Reference {
  at: number;
  shape: number[];
}

const isReference = (value: unknown): value is Reference =>
  typeof value === "object" && value !== null && "at" in value && "shape" in value;

/** Put the arrays back where the JSON refers to them; matrices become arrays of rows. */
export function resolve(value: unknown, floats: Float32Array): unknown {
  if (isReference(value)) {
    const [rows, columns] = value.shape;
    if (columns === undefined) return floats.subarray(value.at, value.at + rows);
    return Array.from({ length: rows }, (_, row) =>
      floats.subarray(value.at + row * columns, value.at + (row + 1) * columns),
    );
  }
  if (Array.isArray(value)) return value.map((part) => resolve(part, floats));
  if (typeof value === "object" && value !== null) {
    return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, resolve(v, floats)]));
  }
  return value;
}

/** Little-endian float32 from base64. */
export function floatsOf(base64: string): Float32Array {
  const text = atob(base64);
  const bytes = new Uint8Array(text.length);
  for (let k = 0; k < text.length; k++) bytes[k] = text.charCodeAt(k);
  return new Float32Array(bytes.buffer);
}
