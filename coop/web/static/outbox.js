// @ts-check
// What was written on this phone and is not safe elsewhere yet: kept in the browser's own database,
// sent in order, never dropped before the studio has it. Needs vendor/idb.js and wire.js before it.
// What it gives and keeps stands in ../phone.d.ts.

var coop = /** @type {any} */ (globalThis).coop ?? {};

(() => {
  "use strict";

  /**
   * @typedef {import("../phone").Answer} Answer
   * @typedef {import("../phone").Batch} Batch
   * @typedef {import("../phone").Copy} Copy
   * @typedef {import("../phone").Draft} Draft
   * @typedef {import("../phone").Judged} Judged
   * @typedef {import("../phone").Outcome} Outcome
   * @typedef {import("../phone").Said} Said
   * @typedef {import("../phone").State} State
   * @typedef {import("../phone").Turn} Turn
   * @typedef {import("../phone").Way} Way
   */

  const NAME = "coop-outbox"; // of the lock, the channel and the worker's tag
  const BATCH_MAX = 200;
  const BATCH_CHARS_MAX = 700_000;
  const KEPT_MAX = 500;
  const ASKED_MAX = 200;
  const GIVEN_UP_MAX = 50;
  const UNSENT_MAX = 5000;
  const ALONE_MAX = 3; // single drafts too big for the studio, before it is left for later
  const ANSWER_WAIT_MS = 60_000;
  const HEARTBEAT_MS = 600_000;
  const PAUSE_MAX_MS = 300_000; // however long a pause the studio, or what stands between, asks for
  const RESCUE_BYTES_MAX = 2 * 1024 * 1024; // of a file taken in, as at the studio (sync/limits.py)
  const RESCUE_LINES_MAX = 2_000;
  const COPY = "copy:";
  const WAITING = /** @type {State} */ ("waiting");
  const COPY_WAIT_MS = 20_000;
  const DAY_MS = 86_400_000;
  const TWO_KEPT_MS = 7 * DAY_MS;
  const STUDIO_KEPT_MS = 30 * DAY_MS;
  const NOT_KNOWN_YET = new Set(["unknown-kind", "unknown-version", "unknown-outbox-version"]);
  const UUID = /^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$/;

  const idb = /** @type {any} */ (globalThis).idb;
  /** @type {Promise<any> | null} */
  let opening = null;
  /** @type {"" | "no-database"} */
  let broken = "";
  const channel = "BroadcastChannel" in globalThis ? new BroadcastChannel(NAME) : null;
  let whenSaved = () => {};
  /** @type {{ledger?: string, device?: string, lastSeq: number}} as the page last said it */
  let page = { lastSeq: 0 };

  // ---- the database

  /** Why nothing can be kept here. */
  function why() {
    if (!globalThis.isSecureContext) return "not-secure";
    if (!globalThis.indexedDB || !idb) return "no-database";
    return navigator.locks ? broken : "no-locks";
  }

  function available() {
    return why() === "";
  }

  /** @returns {Promise<any>} */
  function database() {
    if (!available()) throw new Error(`nothing can be kept here: ${why()}`);
    opening ??= idb
      .openDB("coop", 1, {
        upgrade(/** @type {any} */ db) {
          db.createObjectStore("drafts", { keyPath: "id" }).createIndex("device_seq", "device_seq");
          db.createObjectStore("about", { keyPath: "name" });
        },
        blocking: forget,
        terminated: forget,
      })
      .catch((/** @type {unknown} */ fault) => {
        opening = null;
        broken = "no-database";
        throw fault;
      });
    return /** @type {Promise<any>} */ (opening);
  }

  /** Make way for a newer edition of the database, or get over a broken one. */
  function forget() {
    opening?.then((db) => db.close());
    opening = null;
  }

  /**
   * All or nothing, and on the disk before it is said to be done.
   * @template T @param {(drafts: any, about: any) => Promise<T>} work @returns {Promise<T>}
   */
  async function inOne(work) {
    const db = await database();
    const whole = db.transaction(["drafts", "about"], "readwrite", { durability: "strict" });
    whole.done.catch(() => undefined); // told by the await below
    try {
      const made = await work(whole.objectStore("drafts"), whole.objectStore("about"));
      await whole.done;
      return made;
    } catch (fault) {
      try {
        whole.abort();
      } catch {
        // it has ended by itself
      }
      throw fault;
    }
  }

  /** @param {string} name @returns {Promise<any>} */
  async function about(name) {
    return (await (await database()).get("about", name))?.value;
  }

  /** @param {string} name @param {unknown} value */
  function setAbout(name, value) {
    return inOne((_, kept) => kept.put({ name, value }));
  }

  /**
   * @param {{ledger?: string, device?: string, lastSeq?: number}} [page]
   *   whose phone this is, and the highest number the studio knows of it
   */
  async function open({ ledger, device, lastSeq } = {}) {
    await database();
    if (!ledger || !device) return;
    page = { ledger, device, lastSeq: lastSeq ?? 0 };
    await inOne(async (_, kept) => {
      await kept.put({ name: "ledger", value: ledger });
      await kept.put({ name: "device", value: device });
      await raise(kept, device, lastSeq ?? 0);
    });
  }

  /** The count of a device never goes back. @param {any} kept @param {string} device @param {number} seq */
  async function raise(kept, device, seq) {
    const name = `last_seq:${device}`;
    const before = (await kept.get(name))?.value ?? 0;
    if (seq > before) await kept.put({ name, value: seq });
    return Math.max(before, seq);
  }

  /** A clock set back makes it long ago, not never. @param {number} then_ms */
  function since(then_ms) {
    return Math.abs(Date.now() - then_ms);
  }

  /** @param {boolean} [saved] there is something new to send */
  function announce(saved = false) {
    channel?.postMessage("changed");
    document.dispatchEvent(new CustomEvent("coop:outbox"));
    if (saved) whenSaved();
  }

  // ---- writing

  /** @param {string} text @returns {string} what a person said in it, without the note's salt */
  function saidIn(text) {
    const { entry, note } = JSON.parse(text);
    return JSON.stringify([entry.kind, entry.author, { ...entry.body, note: note?.text }]);
  }

  /**
   * @param {any} said @param {string} text @param {number} written_ms @param {object} before
   * @returns {Draft}
   */
  function recordOf(said, text, written_ms, before) {
    const { id, device, device_seq, kind, author } = JSON.parse(text).entry;
    return {
      ...before,
      id, device, device_seq, kind, author, text,
      bath: said.bath ?? "",
      told: said.told ?? "",
      written_ms,
      state: "waiting",
      answer: null, digest: null, seal: null, acked_ms: null, refused_by: null, tries: 0,
    };
  }

  /** @param {any} drafts @param {string} id @returns {Promise<Draft>} */
  async function refusedOne(drafts, id) {
    const found = await drafts.get(id);
    if (found?.state !== "refused") throw new coop.wire.Slip("", "not-refused");
    return found;
  }

  /** @param {any} kept */
  async function ownPlace(kept) {
    const ledger = page.ledger ?? (await kept.get("ledger"))?.value;
    const device = page.device ?? (await kept.get("device"))?.value;
    if (!ledger || !device) throw new Error("open() was not told whose phone this is");
    return { ledger, device, seq: (await raise(kept, device, page.lastSeq)) + 1 };
  }

  /** @param {any} drafts @param {any} kept @param {any} said */
  async function place(drafts, kept, said) {
    if (!said.correcting) return { ...(await ownPlace(kept)), before: {} };
    const before = await refusedOne(drafts, said.correcting);
    const { ledger, device, device_seq } = JSON.parse(before.text).entry;
    return { ledger, device, seq: device_seq, before };
  }

  /**
   * Keep what a form says; the number and the record are written together or not at all.
   * The same showing of a form (`id`) is kept once; with other words it is a Slip.
   * @param {Said} said @returns {Promise<Draft>}
   */
  async function put(said) {
    const note = await coop.wire.makeNote(said.note ?? "", said.salt);
    const made = { ...said, id: said.correcting ?? said.id ?? coop.wire.newId(), note };
    return written(await inOne((drafts, kept) => putInto(drafts, kept, made)));
  }

  /** @param {any} drafts @param {any} kept @param {any} said with its note and id @returns {Promise<Draft>} */
  async function putInto(drafts, kept, said) {
    const now = new Date(said.at_ms ?? Date.now());
    const there = said.correcting ? null : await drafts.get(said.id);
    const { ledger, device, seq, before } = await place(drafts, kept, said);
    const { text, answer } = textOf({ ...said, ledger, device, seq, now });
    if (there) {
      if (saidIn(there.text) === saidIn(text)) return there;
      throw new coop.wire.Slip("", "written-already");
    }
    const made = recordOf(said, text, now.getTime(), before);
    if (answer) Object.assign(made, { answer, state: "refused" });
    await raise(kept, device, seq);
    await drafts.put(made);
    return made;
  }

  /**
   * What is sent. A copy that cannot be read is kept as it was typed, to be put right.
   * @param {any} said @returns {{text: string, answer: import("../phone").Why | null}}
   */
  function textOf(said) {
    const marked = /** @type {HTMLElement | null} */ (document.querySelector("[data-zone]"));
    const zone = marked?.dataset.zone; // of the studio: a typed time is by its clocks
    try {
      return { text: coop.wire.draft({ ...said, zone }), answer: null };
    } catch (fault) {
      if (!said.isCopy || !(fault instanceof coop.wire.Slip)) throw fault;
      const whole = JSON.parse(coop.wire.draft({ ...said, happenedAt: "" }));
      whole.entry.said = { typed: said.happenedAt, precision: "minute" };
      const { field, code } = /** @type {any} */ (fault);
      return { text: JSON.stringify(whole), answer: { code, field, text: "" } };
    }
  }

  /** @param {Draft} record */
  function written(record) {
    if (record.device === page.device) page.lastSeq = Math.max(page.lastSeq, record.device_seq);
    announce(true);
    return record;
  }

  /**
   * A copy of what is being posted the ordinary way, until a page says that it arrived. The salt of
   * its note is posted along: else the studio would name the same note otherwise.
   * @param {Said & {id: string}} said
   */
  function setAside(said) {
    return setAbout(COPY + said.id, { ...said, at_ms: Date.now() });
  }

  /** It arrived, or waits by itself now. @param {string} id */
  function confirm(id) {
    return inOne((_, kept) => kept.delete(COPY + id));
  }

  /** @returns {Promise<Copy[]>} */
  async function copies() {
    const range = IDBKeyRange.bound(COPY, `${COPY}\uffff`);
    return (await (await database()).getAll("about", range)).map((/** @type {any} */ one) => one.value);
  }

  /** What was typed is on the screen again, at this address. @param {string} path */
  async function shownAgain(path) {
    for (const one of await copies()) if (one.path === path) await confirm(one.id);
  }

  /**
   * Copies that nobody confirmed in time wait from now on; sent twice they are there once. Each by
   * itself: one that cannot be kept, the phone being full, stays a copy and holds nothing up.
   * @param {number} [wait_ms] @param {string} [unheard] the id of one that surely got no answer
   */
  async function promote(wait_ms = COPY_WAIT_MS, unheard = "") {
    if (!available() || !(await about("device"))) return;
    const due = (await copies()).filter((one) => one.id === unheard || since(one.at_ms) >= wait_ms);
    for (const one of due) {
      await toLine(one).catch((/** @type {unknown} */ fault) => console.warn("a copy stays a copy", fault));
    }
  }

  /** Line and copy change places in one go: two tabs never make two of it. @param {Copy} copy */
  async function toLine(copy) {
    const note = await coop.wire.makeNote(copy.note ?? "", copy.salt);
    const made = await inOne(async (drafts, kept) => {
      if ((await kept.get(COPY + copy.id))?.value.at_ms !== copy.at_ms) return null;
      const said = { ...copy, note, isCopy: true };
      const line = await putInto(drafts, kept, said).catch((/** @type {any} */ fault) => {
        if (fault?.code !== "written-already") throw fault;
        return putInto(drafts, kept, { ...said, id: coop.wire.newId() }); // sent again with other words
      });
      await kept.delete(COPY + copy.id);
      return line;
    });
    if (made) written(made);
  }

  // ---- reading

  /** @returns {Promise<Draft[]>} in the order they were written */
  async function all() {
    return (await database()).getAllFromIndex("drafts", "device_seq");
  }

  /** @param {string} bath what the studio's page of it cannot know yet */
  async function waitingFor(bath) {
    const open = new Set(["waiting", "needs", "refused"]);
    return (await all()).filter((one) => one.bath === bath && open.has(one.state));
  }

  /** How many are in which state, and since when the oldest waits [ms], 0 if none does. A copy waits. */
  async function counts() {
    const found = { waiting: 0, studio: 0, two: 0, needs: 0, refused: 0, given_up: 0, copies: 0, oldest_ms: 0 };
    const lines = (await all()).map(({ state, written_ms }) => ({ state, written_ms }));
    const copied = (await copies()).map(({ at_ms }) => ({ state: WAITING, written_ms: at_ms }));
    found.copies = copied.length;
    for (const one of [...lines, ...copied]) {
      found[one.state === "given-up" ? "given_up" : one.state] += 1;
      if (one.state !== "waiting") continue;
      found.oldest_ms = Math.min(found.oldest_ms || one.written_ms, one.written_ms);
    }
    return found;
  }

  /** Whether this phone alone has its text. @param {Draft} one */
  function isHereOnly(one) {
    return one.state === "waiting" || one.state === "refused" || isGivenUp(one);
  }

  /** @param {Draft} one */
  function isGivenUp(one) {
    return one.state === "given-up" && one.acked_ms === null;
  }

  /** This is no phone any more: what the studio has goes, with its notes. */
  async function forgetHandedIn() {
    await inOne(async (drafts) => {
      for (const one of await drafts.getAll()) if (!isHereOnly(one)) await drafts.delete(one.id);
    });
    announce();
  }

  /** Give up what was refused; the studio still hears of it. @param {string} id */
  async function giveUp(id) {
    await inOne(async (drafts) => drafts.put({ ...(await refusedOne(drafts, id)), state: "given-up" }));
    announce(true);
  }

  // ---- rescue

  /** What is not with the studio, one a line; of the copies also those there is no room for. */
  async function rescueText() {
    await promote(0);
    const lines = (await all()).filter((one) => isHereOnly(one) || one.state === "needs");
    const texts = [...lines.map((one) => one.text), ...(await copyTexts())];
    return texts.map((text) => `${text}\n`).join("");
  }

  /** Copies as lines, under the counts that come next. */
  async function copyTexts() {
    const [ledger, device] = [await about("ledger"), await about("device")];
    const last = (await about(`last_seq:${device}`)) ?? 0;
    return Promise.all(
      (await copies()).map(async (one, place) => {
        const note = await coop.wire.makeNote(one.note ?? "", one.salt);
        const where = { ledger, device, seq: last + place + 1, now: new Date(one.at_ms) };
        return textOf({ ...one, note, isCopy: true, ...where }).text;
      }),
    );
  }

  /** @param {string} line @returns {{why: string} | {why: "", record: Draft}} */
  function readLine(line) {
    /** @type {any} */
    let said;
    try {
      said = JSON.parse(line);
    } catch {
      return { why: "not-json" };
    }
    const entry = said?.entry;
    if (typeof entry !== "object" || entry === null) return { why: "not-a-record" };
    if (said.v !== 1) return { why: "unknown-outbox-version" };
    if (![entry.id, entry.device, entry.author, entry.ledger].every((id) => UUID.test(id))) {
      return { why: "not-an-id" };
    }
    if (!Number.isSafeInteger(entry.device_seq) || entry.device_seq < 1) {
      return { why: "not-a-whole-number" };
    }
    if (typeof entry.kind !== "string" || typeof entry.body !== "object" || !entry.body) {
      return { why: "not-a-record" };
    }
    const written_ms = Date.parse(entry.written_at) || Date.now();
    return { why: "", record: recordOf({ bath: entry.body.bath }, line, written_ms, {}) };
  }

  /**
   * Take in a rescue file: good lines are kept; bad ones named, and those that say something else
   * under an id that is here already.
   * @param {string} text
   */
  async function takeIn(text) {
    /** @type {{taken: number, already: number, faults: {line: number, why: string}[]}} */
    const found = { taken: 0, already: 0, faults: [] };
    if (text.length > RESCUE_BYTES_MAX) return { ...found, faults: [{ line: 1, why: "too-large" }] };
    const all = text.replace(/^\ufeff/, "").split("\n").map((line) => line.trim());
    const lines = all.slice(0, RESCUE_LINES_MAX);
    if (all.slice(RESCUE_LINES_MAX).some(Boolean)) {
      found.faults.push({ line: RESCUE_LINES_MAX + 1, why: "too-many" });
    }
    await inOne(async (drafts, kept) => {
      /** @type {Draft | undefined} */
      let there;
      for (const [place, line] of lines.entries()) {
        if (!line) continue;
        const read = readLine(line);
        if (!("record" in read)) found.faults.push({ line: place + 1, why: read.why });
        else if ((there = await drafts.get(read.record.id))) {
          if (there.text === line || saidIn(there.text) === saidIn(line)) found.already += 1;
          else found.faults.push({ line: place + 1, why: "written-already" });
        } else {
          found.taken += 1;
          await drafts.put(read.record);
          await raise(kept, read.record.device, read.record.device_seq);
        }
      }
    });
    announce(true);
    return found;
  }

  // ---- what the studio answered

  /** @param {Judged} one @param {number} now_ms @param {string} release @returns {Partial<Draft>} */
  function judged(one, now_ms, release) {
    const answer = { code: one.code ?? "", field: one.field ?? "", text: one.text ?? "" };
    switch (one.outcome) {
      case "sealed":
      case "already":
        return {
          state: "studio", answer: null, acked_ms: now_ms, tries: 0, refused_by: null,
          digest: one.digest ?? null, seal: one.seal ?? null,
        };
      case "waiting":
        return { state: "needs", answer, tries: 0, refused_by: null };
      case "refused":
        if (NOT_KNOWN_YET.has(answer.code)) return { answer, refused_by: release };
        return { state: "refused", answer, tries: 0, refused_by: null };
      default:
        return {};
    }
  }

  /** Whether a second place has it. @param {Draft} one @param {Record<string, number>} two_places */
  function isCovered(one, two_places) {
    const [node, seq] = one.seal ?? ["", 1];
    return (two_places[node] ?? 0) >= seq;
  }

  /**
   * The records that an answer changes; an answer about another id than was sent changes nothing.
   * @param {Draft[]} records @param {string[]} sent ids, in the order they were sent
   * @param {Answer} answer @param {number} now_ms @param {string} release of the page
   * @returns {Draft[]}
   */
  function settle(records, sent, answer, now_ms, release) {
    const now = new Map(records.map((one) => [one.id, one]));
    const changed = new Set();
    /** @param {string} id @param {State[]} from @param {Partial<Draft>} part */
    const change = (id, from, part) => {
      const one = now.get(id);
      if (!one || !from.includes(one.state) || !Object.keys(part).length) return;
      now.set(id, { ...one, ...part });
      changed.add(id);
    };
    const by = answer.release ?? release;
    sent.forEach((id, place) => {
      const one = answer.answers[place];
      if (one && (one.id || id) === id) change(id, ["waiting"], judged(one, now_ms, by));
    });
    for (const one of answer.settled ?? []) {
      if (one.outcome === "given-up") change(one.id ?? "", ["given-up"], { acked_ms: now_ms });
      else change(one.id ?? "", ["needs"], judged(one, now_ms, by));
    }
    for (const id of answer.lacks ?? []) {
      const again = { state: /** @type {State} */ ("waiting"), digest: null, seal: null, acked_ms: null };
      change(id, ["studio", "two", "needs"], again);
    }
    for (const one of now.values()) {
      if (isCovered(one, answer.two_places ?? {})) change(one.id, ["studio"], { state: "two" });
    }
    return [...changed].map((id) => /** @type {Draft} */ (now.get(id)));
  }

  /**
   * The ids of what need not be kept any longer, as an answer stands that lacks nothing.
   * @param {Draft[]} records @param {number} now_ms @param {Record<string, number>} [two_places]
   */
  function stale(records, now_ms, two_places = {}) {
    /** @type {Partial<Record<State, number>>} */
    const kept_ms = { two: TWO_KEPT_MS, studio: STUDIO_KEPT_MS, "given-up": TWO_KEPT_MS };
    return records
      .filter(({ state, acked_ms }) => acked_ms !== null && now_ms - acked_ms > (kept_ms[state] ?? Infinity))
      .filter((one) => one.state !== "two" || isCovered(one, two_places))
      .map((one) => one.id);
  }

  // ---- sending

  /** @param {Draft[]} records @param {number} count @param {number} chars @returns {Draft[]} */
  function fitting(records, count, chars) {
    let left = chars;
    const end = records.findIndex((one, place) => {
      left -= one.text.length;
      return place >= count || (place > 0 && left < 0);
    });
    return end < 0 ? records : records.slice(0, end);
  }

  /**
   * What goes next.
   * @param {Draft[]} records @param {Turn} turn @param {string} studioRelease @returns {Batch}
   */
  function pick(records, turn, studioRelease) {
    const share = turn.size / BATCH_MAX;
    const fresh = records.filter((one) => !turn.done.has(one.id));
    const ready = fresh
      .filter((one) => one.state === "waiting" && (one.refused_by ?? NaN) !== studioRelease)
      .sort((one, other) => one.tries - other.tries); // stable: else as they were written
    const drafts = fitting(ready, turn.size, BATCH_CHARS_MAX);
    const chars = drafts.reduce((left, one) => left - one.text.length, BATCH_CHARS_MAX);
    const givenUp = fresh.filter(isGivenUp).filter((one) => one.text.length < chars);
    const needs = fresh.filter((one) => one.state === "needs").map((one) => one.id);
    return {
      drafts,
      givenUp: fitting(givenUp, Math.ceil(GIVEN_UP_MAX * share), chars),
      asked: needs.slice(0, Math.ceil(ASKED_MAX * share)),
      kept: (turn.offer ?? []).slice(0, Math.ceil(KEPT_MAX * share)),
    };
  }

  /** @param {Batch} batch */
  function isEmpty(batch) {
    return Object.values(batch).every((part) => part.length === 0);
  }

  /** @param {Draft[]} records @param {Batch} batch @param {string} release */
  async function message(records, batch, release) {
    const device = await about("device");
    const unsent = records.filter((one) => one.device === device && isHereOnly(one));
    return JSON.stringify({
      v: 1,
      now: coop.wire.moment(new Date()),
      release,
      last_seq: (await about(`last_seq:${device}`)) ?? 0,
      unsent: unsent.slice(0, UNSENT_MAX).map((one) => one.device_seq),
      heard: (await about("heard")) ?? {},
      kept_count: records.filter((one) => one.state === "studio").length,
      kept: batch.kept,
      asked: batch.asked,
      offline: Boolean(navigator.serviceWorker?.controller),
      stored: (await navigator.storage?.persisted?.()) ?? false,
      drafts: batch.drafts.map((one) => one.text),
      given_up: batch.givenUp.map((one) => one.text),
    });
  }

  /** An inn's sign-in page also answers 200. @param {any} said @returns {Answer | null} */
  function understood(said) {
    return said?.v === 1 && Array.isArray(said.answers) ? said : null;
  }

  /** @param {Way} way @param {string} body */
  async function post(way, body) {
    const patience = new AbortController();
    const timer = setTimeout(() => patience.abort(), ANSWER_WAIT_MS);
    try {
      const response = await (way.fetch ?? fetch)(way.pushUrl, {
        method: "POST",
        body,
        headers: { "Content-Type": "application/json", Accept: "application/json" },
        credentials: "same-origin",
        cache: "no-store",
        redirect: "manual",
        signal: patience.signal,
      });
      const { status } = response;
      const answer = status === 200 ? understood(await response.json().catch(() => null)) : null;
      return { status, answer, retryAfter_s: Number(response.headers.get("Retry-After")) || 0 };
    } catch {
      return { status: 0, answer: null, retryAfter_s: 0, isSlow: patience.signal.aborted };
    } finally {
      clearTimeout(timer);
    }
  }

  /**
   * The studio had too much of it: halve; one alone goes after all others from now on.
   * @param {Turn} turn @param {Batch} batch @param {number} status
   * @returns {Promise<boolean>} whether to go on at once
   */
  async function makeSmaller(turn, batch, status) {
    const [one, ...more] = batch.drafts;
    const isAlone = one !== undefined && more.length === 0;
    const before = turn.size;
    turn.size = Math.max(1, Math.floor(Math.min(before, batch.drafts.length || before) / 2));
    turn.mayGrow = false;
    await setAbout("batch", turn.size);
    if (!isAlone || before > 1) return status === 413 && before > 1;
    turn.done.add(one.id);
    turn.alone += 1;
    const answer = status === 413 ? { code: "too-large", field: "", text: "" } : one.answer;
    await inOne((drafts) => drafts.put({ ...one, tries: one.tries + 1, answer }));
    return status === 413 && turn.alone < ALONE_MAX;
  }

  /** @param {Turn} turn @param {Batch} batch @param {Answer} answer @param {Draft[]} records */
  function noteAnswer(turn, batch, answer, records) {
    turn.pushes += 1;
    turn.sent += batch.drafts.length;
    for (const one of [...batch.drafts, ...batch.givenUp]) turn.done.add(one.id);
    for (const id of batch.asked) turn.done.add(id);
    turn.offer?.splice(0, batch.kept.length);
    for (const id of answer.lacks ?? []) {
      if (!turn.refilled.has(id)) turn.done.delete(id);
      turn.refilled.add(id);
    }
    if (!answer.behind || turn.offer) return;
    turn.offer = records
      .filter((one) => (one.state === "studio" || one.state === "two") && one.digest)
      .map((one) => [one.id, one.digest ?? ""]);
  }

  /** @param {Turn} turn @param {Batch} batch @param {Answer} answer @param {string} release */
  async function take(turn, batch, answer, release) {
    const sent = batch.drafts.map((one) => one.id);
    const now_ms = Date.parse(answer.now ?? "") || Date.now(); // the phone's clock may be years off
    await inOne(async (drafts, kept) => {
      const records = await drafts.getAll();
      noteAnswer(turn, batch, answer, records);
      for (const one of settle(records, sent, answer, now_ms, release)) await drafts.put(one);
      if (!answer.behind && !turn.offer?.length) {
        for (const id of stale(await drafts.getAll(), now_ms, answer.two_places)) await drafts.delete(id);
      }
      if (turn.mayGrow) turn.size = Math.min(BATCH_MAX, turn.size * 2);
      await kept.put({ name: "batch", value: Math.min(BATCH_MAX, turn.size * 2) });
      await kept.put({ name: "studio_release", value: answer.release ?? release });
      await kept.put({ name: "reached_ms", value: Date.now() });
      await kept.put({ name: "ahead_ms", value: now_ms - Date.now() }); // of this phone's clock
      const isOffered = !answer.behind || turn.offer?.length === 0;
      if (isOffered) await kept.put({ name: "heard", value: answer.vector ?? {} });
    });
    announce();
  }

  /**
   * @param {Turn} turn
   * @param {{status: number, answer: Answer | null, retryAfter_s: number}} reply
   * @returns {Promise<Outcome>}
   */
  async function outcome(turn, { status, answer, retryAfter_s }) {
    const left = (await all()).filter((one) => one.state === "waiting").length;
    const reached = answer !== null || (status !== 0 && status !== 200);
    return { reached, status, sent: turn.sent, left, retryAfter_s };
  }

  /** @param {Way} way @returns {Promise<Outcome>} */
  async function sendAll(way) {
    /** @type {Turn} */
    const turn = {
      size: (await about("batch")) ?? BATCH_MAX, mayGrow: true, pushes: 0, sent: 0, alone: 0,
      done: new Set(), refilled: new Set(), offer: null,
    };
    let reply = { status: 0, answer: /** @type {Answer | null} */ (null), retryAfter_s: 0 };
    for (;;) {
      const records = await all();
      const batch = pick(records, turn, (await about("studio_release")) ?? "");
      if (turn.pushes && isEmpty(batch)) return outcome(turn, reply);
      const heard = await post(way, await message(records, batch, way.release));
      reply = heard;
      if (heard.answer) {
        await take(turn, batch, heard.answer, way.release);
        continue;
      }
      const isTooMuch = heard.status === 413 || heard.status === 500 || heard.isSlow === true;
      if (!isTooMuch || !(await makeSmaller(turn, batch, heard.status))) return outcome(turn, reply);
    }
  }

  /** @type {Promise<Outcome> | null} the one that waits for its turn in this tab */
  let next = null;

  /** @param {Way} way @returns {Promise<Outcome>} */
  async function inTurn(way) {
    try {
      return await navigator.locks.request(NAME, () => {
        next = null;
        return sendAll(way);
      });
    } catch (fault) {
      next = null;
      throw fault;
    }
  }

  /**
   * Send what waits, one tab at a time; nothing is dropped whatever the answer is.
   * @param {Way} way @returns {Promise<Outcome>}
   */
  function flush(way) {
    next ??= inTurn(way);
    return next;
  }

  /** Whether there is a reason to call the studio now. */
  async function isDue() {
    const release = (await about("studio_release")) ?? "";
    const ready = (/** @type {Draft} */ one) =>
      isGivenUp(one) || (one.state === "waiting" && (one.refused_by ?? NaN) !== release);
    return since((await about("reached_ms")) ?? 0) > HEARTBEAT_MS || (await all()).some(ready);
  }

  /** @param {Way} way @returns {Promise<Outcome>} what went wrong here is no answer either */
  async function flushed(way) {
    try {
      return await flush(way);
    } catch (fault) {
      console.warn("nothing was sent", fault);
      return { reached: false, status: 0, sent: 0, left: 0, retryAfter_s: 0, fault: why() || "no-database" };
    }
  }

  /**
   * Send now, when something is written, when the phone is back, and now and again; the studio may
   * ask for a pause, a person who says so sends at once. Copies of forms that nobody confirmed for
   * `copies_ms` go as well, and the one that got no answer for sure (`unheard`).
   * @param {Way & {every_ms?: number, copies_ms?: number, unheard?: string,
   *   after?: (outcome: Outcome) => void}} way
   * @returns {{now: () => Promise<void>, stop: () => void}}
   */
  function startSending({ every_ms = 30_000, copies_ms = COPY_WAIT_MS, unheard = "", after = () => {}, ...way }) {
    let [notBefore_ms, running] = [0, 0]; // not by the phone's clock, which may be set back
    const now = async () => {
      running += 1;
      const heard = await flushed(way);
      running -= 1;
      notBefore_ms = performance.now() + Math.min(heard.retryAfter_s * 1000, PAUSE_MAX_MS);
      after(heard);
    };
    const byItself = async () => void (performance.now() >= notBefore_ms && (await now()));
    const tick = async () => {
      await copied();
      if (!running && (await isDue().catch(() => true))) await byItself();
    };
    const copied = (/** @type {string} */ id = "") =>
      promote(copies_ms, id).catch((/** @type {unknown} */ fault) => console.warn("copies wait on", fault));
    const back = () => void (document.visibilityState === "visible" && byItself());
    const woken = (/** @type {MessageEvent} */ event) => void (event.data?.type === "wake" && byItself());
    const timer = setInterval(tick, every_ms);
    whenSaved = () => {
      void byItself();
      void wakeLater();
    };
    addEventListener("online", byItself);
    document.addEventListener("visibilitychange", back);
    navigator.serviceWorker?.addEventListener("message", woken);
    void copied(unheard).then(byItself);
    return {
      now,
      stop() {
        clearInterval(timer);
        whenSaved = () => {};
        removeEventListener("online", byItself);
        document.removeEventListener("visibilitychange", back);
        navigator.serviceWorker?.removeEventListener("message", woken);
      },
    };
  }

  /** Where the browser can, it calls the worker when the phone is back. */
  async function wakeLater() {
    const sync = /** @type {any} */ (await registering.catch(() => null))?.sync;
    await sync?.register(NAME).catch(() => undefined); // a bonus: may be forbidden
  }

  /** Ask the browser not to clear this away by itself; whether it agreed. */
  async function askPersist() {
    return (await navigator.storage?.persist?.()) ?? false;
  }

  // ---- the worker that opens the page without signal

  /** @type {Promise<ServiceWorkerRegistration | null>} */
  let registering = Promise.resolve(null);
  /** @type {any} */
  let policy = null;

  /** @returns {Promise<ServiceWorkerRegistration | null>} null where there can be none */
  function registerWorker() {
    if (!globalThis.isSecureContext || !navigator.serviceWorker) return registering;
    policy ??= /** @type {any} */ (globalThis).trustedTypes?.createPolicy("coop", {
      createScriptURL: () => "/sw.js",
    }) ?? { createScriptURL: () => "/sw.js" };
    const url = policy.createScriptURL("");
    registering = navigator.serviceWorker.register(url, { scope: "/", updateViaCache: "none" });
    return registering;
  }

  /**
   * Tell when a newer worker is ready; what is given lets it take over, once nothing typed is open.
   * @param {(takeOver: () => Promise<void>) => void} tell
   */
  async function whenWaiting(tell) {
    const registration = await registering;
    if (!registration) return;
    const takeOver = () =>
      new Promise((/** @type {(value: void) => void} */ done) => {
        navigator.serviceWorker.addEventListener("controllerchange", () => done(), { once: true });
        registration.waiting?.postMessage({ type: "take-over" });
      });
    const look = () => {
      if (registration.waiting && navigator.serviceWorker.controller) tell(takeOver);
    };
    look();
    registration.addEventListener("updatefound", () => {
      registration.installing?.addEventListener("statechange", look);
    });
  }

  /** Fetch the page for the stairs anew. @returns {Promise<{ok: boolean, status: number}>} */
  async function refresh() {
    if (!(await registering)) return { ok: false, status: 0 };
    const { active } = await navigator.serviceWorker.ready;
    const { port1, port2 } = new MessageChannel();
    return new Promise((done) => {
      port1.addEventListener("message", (event) => done(event.data), { once: true });
      port1.start();
      active?.postMessage({ type: "refresh" }, [port2]);
    });
  }

  channel?.addEventListener("message", () => document.dispatchEvent(new CustomEvent("coop:outbox")));
  coop.outbox = {
    available, why, open, about, setAbout, put, setAside, confirm, shownAgain, promote,
    all, waitingFor, counts, giveUp, forgetHandedIn, rescueText, takeIn, settle, stale, flush, startSending, askPersist,
  };
  Object.assign(coop, { registerWorker, whenWaiting, refresh });
})();
