// What the phone's scripts (static/wire.js, outbox.js) keep, and what others may call of them.
// The names of what is sent and answered are those of coop/sync/message.py.

/** Where something written stands: on this phone, with the studio, in two places ... */
export type State = "waiting" | "studio" | "two" | "needs" | "refused" | "given-up";

/** Why it waits for a person or was refused, in words. */
export type Why = { code: string; field: string; text: string };

/** One thing somebody wrote, as the phone keeps it. */
export type Draft = {
  id: string;
  device: string;
  device_seq: number;
  kind: string;
  bath: string;
  author: string;
  told: string; // the sentence read back when it was written: shown, never parsed
  text: string; // what is sent: made once, never looked into by the phone's later editions
  written_ms: number;
  state: State;
  answer: Why | null;
  digest: string | null;
  seal: [string, number] | null;
  acked_ms: number | null; // since when the studio has it
  refused_by: string | null; // the release of the studio that does not know its form yet
  tries: number; // how often it alone was too much for the studio: such ones go last
};

/** What a form says. */
export type Said = {
  id?: string; // of this showing of the form: kept once, however often it is said
  kind: string;
  v: number;
  body: Record<string, any>;
  author: string;
  happenedAt?: string; // as the field of the time holds it
  note?: string;
  told?: string;
  bath?: string;
  correcting?: string; // the id of the refused one that this puts right
  at_ms?: number; // when it was written, if not now
  salt?: string; // of its note, where it is posted along
  path?: string; // the address of its form's page
};

/** What was posted the ordinary way, until a page says that it arrived. */
export type Copy = Said & { id: string; at_ms: number };

export type Judged = {
  id?: string;
  outcome: string;
  digest?: string;
  seal?: [string, number];
  code?: string;
  field?: string;
  text?: string;
};

export type Answer = {
  v: number;
  now?: string;
  release?: string;
  answers: Judged[];
  settled?: Judged[];
  lacks?: string[];
  vector?: Record<string, number>;
  two_places?: Record<string, number>;
  behind?: boolean;
};

/** Where to send; `release` is the page's. */
export type Way = { pushUrl: string; release: string; fetch?: typeof fetch };

/** How one sending went; `status` is 0 without any answer, `reached` false also at an inn's page. */
export type Outcome = {
  reached: boolean;
  status: number;
  sent: number;
  left: number;
  retryAfter_s: number;
  fault?: string; // why() nothing could be sent from here
};

/** One sending while it runs. */
export type Turn = {
  size: number; // the most drafts of a batch at present
  mayGrow: boolean;
  pushes: number;
  sent: number;
  alone: number; // single drafts that were too much
  done: Set<string>; // not to be sent again in this turn
  refilled: Set<string>;
  offer: [string, string][] | null; // what is left to offer to a studio that was set back
};

export type Batch = {
  drafts: Draft[];
  givenUp: Draft[];
  asked: string[];
  kept: [string, string][];
};

/** `coop.outbox`. The document hears `coop:outbox` when something changed, in this tab or another. */
export interface Outbox {
  /** Whether anything can be kept here; `why()` is "", "not-secure", "no-database" or "no-locks". */
  available(): boolean;
  why(): string;
  /** Opens the store; says whose phone it is and the highest count the studio knows of it. */
  open(page?: { ledger?: string; device?: string; lastSeq?: number }): Promise<void>;
  about(name: string): Promise<any>;
  setAbout(name: string, value: unknown): Promise<unknown>;
  /** Keeps what a form says. Throws coop.wire.Slip; its code may be of the studio's, or
      "written-already" (the same id with other words) or "not-refused" (nothing to put right). */
  put(said: Said): Promise<Draft>;
  /** A copy of what is posted the ordinary way, its note's salt along with it.
      `promote` makes lines of those nobody confirmed for 20 s, or so long, and of the one that
      got no answer for sure; one that cannot be read is a refused line.
      `shownAgain` lets go of those whose form is on the screen again. */
  setAside(said: Said & { id: string }): Promise<unknown>;
  confirm(id: string): Promise<unknown>;
  shownAgain(path: string): Promise<void>;
  promote(wait_ms?: number, unheard?: string): Promise<void>;
  all(): Promise<Draft[]>;
  waitingFor(bath: string): Promise<Draft[]>;
  counts(): Promise<Record<"waiting" | "studio" | "two" | "needs" | "refused" | "given_up", number> & {
    copies: number; // of those that wait
    oldest_ms: number; // since when the oldest waits, be it a copy; 0 if none does
  }>;
  giveUp(id: string): Promise<void>;
  forgetHandedIn(): Promise<void>;
  rescueText(): Promise<string>;
  takeIn(text: string): Promise<{
    taken: number;
    already: number;
    faults: { line: number; why: string }[];
  }>;
  /** The records that an answer changes, and the ids that need not be kept: nothing is asked. */
  settle(records: Draft[], sent: string[], answer: Answer, now_ms: number, release: string): Draft[];
  stale(records: Draft[], now_ms: number, two_places?: Record<string, number>): string[];
  flush(way: Way): Promise<Outcome>;
  startSending(way: Way & {
    every_ms?: number;
    copies_ms?: number;
    unheard?: string; // the id of a copy that got no answer for sure
    after?: (outcome: Outcome) => void;
  }): {
    now(): Promise<void>;
    stop(): void;
  };
  askPersist(): Promise<boolean>;
}

/** What else `coop` gets: the worker that opens the page without signal. */
export interface Worker {
  registerWorker(): Promise<ServiceWorkerRegistration | null>;
  /** Tells when a newer worker is ready; what is given lets it take over. */
  whenWaiting(tell: (takeOver: () => Promise<void>) => void): Promise<void>;
  /** Fetches the page anew and keeps it. */
  refresh(): Promise<{ ok: boolean; status: number }>;
}
