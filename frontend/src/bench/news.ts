// News of the server. A browser holds six connections to a host, so one tab listens for all of them.

export interface News {
  /** Of a case: "job" or "state". Of the line itself: "open" or "lost". */
  kind: "job" | "state" | "open" | "lost";
  case?: string;
  value?: unknown;
  /** News may have been missed before this one. */
  again?: boolean;
}

type Hear = (news: News) => void;
const NAME = "neutral-point-news";

/** A stream of the server; it takes itself up again after a break. */
function stream(hear: Hear, again: boolean): () => void {
  const source = new EventSource("/events");
  let missed = again;
  for (const kind of ["job", "state"] as const) {
    source.addEventListener(kind, (event) => {
      hear({ kind, ...(JSON.parse((event as MessageEvent).data) as object) });
    });
  }
  source.addEventListener("error", () => hear({ kind: "lost" }));
  source.addEventListener("open", () => {
    hear({ kind: "open", again: missed });
    missed = true;
  });
  return () => source.close();
}

/** The tab that holds the lock listens and tells the others; when it goes, the next one takes over. */
function shared(hear: Hear): void {
  const others = new BroadcastChannel(NAME);
  others.addEventListener("message", (event) => hear(event.data as News));
  const tell: Hear = (news) => {
    hear(news);
    others.postMessage(news);
  };
  const hold = (again: boolean): Promise<void> =>
    new Promise((done) => {
      const close = stream(tell, again);
      addEventListener("pagehide", () => {
        close();
        done();
      });
    });
  void navigator.locks
    .request(NAME, { ifAvailable: true }, async (lock) => {
      if (lock) await hold(false);
      return lock !== null;
    })
    .then((held) => {
      if (!held) void navigator.locks.request(NAME, () => hold(true));
    });
}

/** Without locks, which an address other than this machine's does not get: listen while being seen. */
function whileSeen(hear: Hear): void {
  let close = (): void => undefined;
  let before = false;
  const look = (): void => {
    close();
    close = document.visibilityState === "visible" ? stream(hear, before) : (): void => undefined;
    before = true;
  };
  document.addEventListener("visibilitychange", look);
  addEventListener("pagehide", () => close());
  look();
}

export function listen(hear: Hear): void {
  if (navigator.locks && "BroadcastChannel" in window) shared(hear);
  else whileSeen(hear);
}
