// What the page asks of its server: JSON, and figures as JSON with a block of float32.

import { resolve } from "../figure";

export interface FieldError {
  path: string;
  message: string;
  hint?: string;
}

/** An answer other than the one asked for, in the four fields of every error. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    readonly where = "",
    readonly hint = "",
    readonly errors: FieldError[] = [],
  ) {
    super(message);
  }

  /** One sentence for people. */
  get said(): string {
    return [this.message, this.hint].filter(Boolean).join(" ");
  }
}

const TOKEN = 'meta[name="np-token"]';
const held = (): HTMLMetaElement | null => document.querySelector<HTMLMetaElement>(TOKEN);

/** A server that was started again has another token. Its own page, which no other site can read, holds it. */
async function renewToken(): Promise<boolean> {
  const meta = held();
  const page = await fetch(location.pathname, { cache: "no-store" }).catch(() => null);
  if (!meta || !page?.ok) return false;
  const fresh = new DOMParser().parseFromString(await page.text(), "text/html").querySelector<HTMLMetaElement>(TOKEN);
  if (!fresh || fresh.content === meta.content) return false;
  meta.content = fresh.content;
  return true;
}

const oldToken = (problem: unknown): boolean =>
  problem instanceof Refused && problem.status === 403 && problem.where === "X-NP-Token";

async function ask(path: string, init: RequestInit): Promise<Response> {
  let answer: Response;
  try {
    answer = await fetch(path.startsWith("/") ? path : `api/${path}`, { cache: "no-store", ...init });
  } catch {
    throw new Refused(0, "unreachable", "The server of this notebook does not answer.", "",
      "Start it again with `neutralpoint serve` on the same port; what you typed here stays.");
  }
  if (answer.ok) return answer;
  const told = (await answer.json().catch(() => ({}))) as {
    error?: { code?: string; message?: string; where?: string; hint?: string };
    errors?: FieldError[];
  };
  const { code = "refused", message, where, hint } = told.error ?? {};
  const first = told.errors?.[0]?.message ?? `The server answered ${answer.status}.`;
  throw new Refused(answer.status, code, message ?? first, where, hint, told.errors);
}

/** A figure's envelope: length, JSON, floats. */
export function unpack<T>(buffer: ArrayBuffer): T {
  const length = new DataView(buffer).getUint32(0, true);
  const json = new TextDecoder().decode(new Uint8Array(buffer, 4, length));
  return resolve(JSON.parse(json), new Float32Array(buffer, 4 + length)) as T;
}

const query = (values: Record<string, string | number | undefined>): string => {
  const given = Object.entries(values).filter(([, value]) => value !== undefined);
  return given.length ? `?${new URLSearchParams(given.map(([k, v]) => [k, String(v)]))}` : "";
};

type Query = Record<string, string | number | undefined>;

export async function get<T>(path: string, asked: Query = {}): Promise<T> {
  return (await (await ask(path + query(asked), {})).json()) as T;
}

export async function getFigure<T>(path: string, asked: Query = {}): Promise<T> {
  return unpack<T>(await (await ask(path + query(asked), {})).arrayBuffer());
}

interface Sent {
  body?: unknown;
  raw?: Blob | string;
  asked?: Query;
}

/** A request that writes. An address with a slash before it is that of the server, else of the case. */
export async function send(method: string, path: string, sent: Sent): Promise<Response> {
  const body = sent.body === undefined ? sent.raw : JSON.stringify(sent.body);
  const type: Record<string, string> = sent.body === undefined ? {} : { "Content-Type": "application/json" };
  const once = (): Promise<Response> =>
    ask(path + query(sent.asked ?? {}), { method, headers: { "X-NP-Token": held()?.content ?? "", ...type }, body });
  try {
    return await once();
  } catch (problem) {
    if (!oldToken(problem) || !(await renewToken())) throw problem;
    return once();
  }
}

export async function write<T>(method: string, path: string, sent: Sent = {}): Promise<T> {
  return (await (await send(method, path, sent)).json()) as T;
}

/** A figure that is computed on request; a plain JSON answer is handed on as it is. */
export async function writeFigure<T>(path: string, body: unknown): Promise<T> {
  const answer = await send("POST", path, { body });
  if (answer.headers.get("content-type")?.includes("json")) return (await answer.json()) as T;
  return unpack<T>(await answer.arrayBuffer());
}
