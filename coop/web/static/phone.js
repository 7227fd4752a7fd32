// @ts-check
// On every page of a phone or tablet that is set up: hands in what waits, says how much does, keeps
// the page that opens without a signal fresh, and a copy of each form of the tray until it arrived.
// Needs body.js and outbox.js before it; the words stand in phone.html.

(() => {
  "use strict";

  const PUSH = "/device/push";
  const HOUR_MS = 3_600_000;
  const DAY_H = 24;
  const SAID_H = 24;
  const LOUD_H = 72;
  const FRESH_MS = 60_000; // a page that was fetched so lately is not fetched again for nothing
  const COPIES_MS = 20_000; // as long as an answer may take, before a form's copy is handed in
  const KEEPING_MS = 2_000; // a copy that takes longer holds its form up no more
  const NOT_KNOWN = 401;

  const coop = /** @type {any} */ (globalThis).coop;
  const box = /** @type {HTMLElement | null} */ (document.querySelector("[data-phone]"));
  const link = box?.querySelector("a");
  let isUnknown = false;

  /** @param {string} code @param {number} num @param {number} [days] */
  function words(code, num, days = 0) {
    const told = /** @type {HTMLElement | null} */ (box?.querySelector(`[data-told="${code}"]`));
    const text = (num === 1 ? told?.dataset.one : told?.dataset.many) || told?.dataset.one || "";
    return text.replace("{num}", String(num)).replace("{days}", String(days));
  }

  /**
   * What is said of what is on this phone, and how loudly: "", "day" or "days".
   * @param {{waiting: number, needs: number, refused: number, oldest_ms: number}} counts
   * @param {number} now_ms @param {boolean} unknown whether the studio takes nothing from it
   * @returns {{code: string, num: number, days: number, loud: string}}
   */
  function standing({ waiting, needs, refused, oldest_ms }, now_ms, unknown) {
    const hours = waiting ? (now_ms - oldest_ms) / HOUR_MS : 0;
    const say = (/** @type {string} */ code, /** @type {number} */ num, loud = "") => ({
      code, num, loud, days: Math.floor(hours / DAY_H),
    });
    if (unknown) return say("unknown", 1, "days");
    if (hours >= LOUD_H) return say("days", waiting, "days");
    if (hours >= SAID_H) return say("day", waiting, "day");
    if (refused) return say("refused", refused, "day");
    if (waiting) return say("waiting", waiting);
    return needs ? say("needs", needs) : say("nothing", 1);
  }

  async function show() {
    if (!box || !link) return;
    const said = standing(await coop.outbox.counts(), Date.now(), isUnknown);
    link.textContent = words(said.code, said.num, said.days);
    box.dataset.loud = said.loud;
  }

  /** @param {{status: number, sent: number}} outcome */
  async function handedIn({ status, sent }) {
    isUnknown = status === NOT_KNOWN;
    await show();
    const fetched_ms = (await coop.outbox.about("fetched_ms")) ?? 0;
    if (status !== 200 || (!sent && Date.now() - fetched_ms < FRESH_MS)) return;
    const { ok } = await coop.refresh().catch(() => ({ ok: false }));
    if (ok) await coop.outbox.setAbout("fetched_ms", Date.now());
  }

  /** Whether something is typed on this page that a newer one would not know. */
  function isTyped() {
    const fields = [...document.querySelectorAll("input, textarea, option")];
    return fields.some((one) => {
      if (one instanceof HTMLOptionElement) return one.selected !== one.defaultSelected && one.index > 0;
      if (one instanceof HTMLTextAreaElement) return one.value !== one.defaultValue;
      if (!(one instanceof HTMLInputElement) || one.type === "hidden") return false;
      return one.checked !== one.defaultChecked || one.value !== one.defaultValue;
    });
  }

  /** @param {() => Promise<void>} takeOver */
  function newerIsReady(takeOver) {
    if (!isTyped()) void takeOver();
  }

  /** What is said of a form in a line. @param {HTMLFormElement} form @param {string} told */
  function toldOf(form, told) {
    return told || form.dataset.told || document.querySelector("h1")?.textContent?.trim() || "";
  }

  /** @param {HTMLFormElement} form @param {string} name @param {string} value */
  function addHidden(form, name, value) {
    const field = document.createElement("input");
    Object.assign(field, { type: "hidden", name, value });
    form.append(field);
  }

  /** What a hidden field of a form holds. @param {HTMLFormElement} form @param {string} name */
  function hidden(form, name) {
    const field = form.elements.namedItem(name);
    return field instanceof HTMLInputElement ? field.value : "";
  }

  /**
   * Keep a copy of a form of the tray that is about to be posted. Whether it is kept in time or not,
   * the salt is posted: both ways name the note alike.
   * @param {HTMLFormElement} form
   */
  async function keepCopy(form) {
    if (!hidden(form, "note_salt")) addHidden(form, "note_salt", coop.wire.newSalt());
    const said = coop.body(form);
    const [id, author] = [hidden(form, "entry_id"), box?.dataset.author];
    if (!id || !author) return;
    await coop.outbox.setAside({
      ...said,
      id,
      author,
      salt: hidden(form, "note_salt"),
      told: toldOf(form, said.told),
      path: location.pathname,
    });
  }

  let isKeeping = false;

  /** @param {SubmitEvent} event */
  async function send(event) {
    const form = event.target;
    if (!(form instanceof HTMLFormElement) || form.dataset.outbox === undefined) return;
    if (event.defaultPrevented) return;
    event.preventDefault();
    if (isKeeping) return; // a second tap meanwhile
    isKeeping = true;
    const late = new Promise((done) => setTimeout(done, KEEPING_MS));
    await Promise.race([keepCopy(form).catch(() => undefined), late]); // a slip is for the studio to say
    isKeeping = false;
    const button = event.submitter;
    if (button instanceof HTMLButtonElement && button.name) addHidden(form, button.name, button.value);
    form.submit();
  }

  /** Copies that this page speaks of are needed no longer. */
  async function letGo() {
    for (const one of document.querySelectorAll("[data-written]")) {
      if (one instanceof HTMLElement) await coop.outbox.confirm(one.dataset.written);
    }
    const isAnswer = box?.dataset.posted !== undefined;
    const isThere = document.querySelector("form[data-outbox] [name=entry_id]");
    if (isAnswer && isThere) await coop.outbox.shownAgain(location.pathname);
  }

  async function start() {
    document.addEventListener("submit", send);
    document.addEventListener("coop:outbox", show);
    await letGo();
    await show();
    const worker = await coop.registerWorker().catch(() => null); // a private window may forbid it
    if (worker) coop.whenWaiting(newerIsReady);
    coop.outbox.startSending({
      pushUrl: PUSH,
      release: box?.dataset.release ?? "",
      copies_ms: COPIES_MS,
      after: handedIn,
    });
  }

  coop.phone = { standing };
  if (box && coop.outbox.available()) void start();
})();
