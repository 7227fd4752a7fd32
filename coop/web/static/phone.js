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
  const ASKING_MS = 3_000; // a signal too weak to answer by then is one all the same
  const DOCUMENT = "/device/offline";

  const coop = /** @type {any} */ (globalThis).coop;
  const box = /** @type {HTMLElement | null} */ (document.querySelector("[data-phone]"));
  const link = box?.querySelector("a");
  let isUnknown = false;

  /** @param {string} code @param {number} [num] @param {Record<string, unknown>} [values] */
  function words(code, num = 1, values = {}) {
    const told = /** @type {HTMLElement | null} */ (box?.querySelector(`[data-told="${code}"]`));
    const text = (num === 1 ? told?.dataset.one : told?.dataset.many) || told?.dataset.one || "";
    /** @type {Record<string, unknown>} */
    const all = { ...values, num };
    return text.replace(/\{(\w+)\}/g, (_, key) => String(all[key] ?? ""));
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
    const counts = await coop.outbox.counts().catch(() => null);
    const said = counts
      ? standing(counts, Date.now(), isUnknown)
      : { code: "no-database", num: 1, days: 0, loud: "days" };
    link.textContent = words(said.code, said.num, { days: said.days });
    box.dataset.loud = said.loud;
    box.querySelector("[data-kept]")?.toggleAttribute("hidden", !counts?.copies);
  }

  /** @param {{status: number, sent: number}} outcome */
  async function handedIn({ status, sent }) {
    isUnknown = status === NOT_KNOWN;
    await show();
    const fetched_ms = (await coop.outbox.about("fetched_ms").catch(() => 0)) ?? 0;
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

  /** Whether nobody answers, for certain. */
  async function isCutOff() {
    if (!navigator.onLine) return true;
    const signal = AbortSignal.timeout(ASKING_MS);
    const asked = fetch("/sw.js", { method: "HEAD", cache: "no-store", signal });
    return asked.then(() => false, () => !signal.aborted);
  }

  /** What is not right, said at its field. @param {HTMLFormElement} form @param {any} slip */
  function showSlip(form, { field: name, code, written, limits }) {
    for (const old of form.querySelectorAll("[data-slip-said]")) old.remove();
    const from = /** @type {HTMLTemplateElement | null} */ (box?.querySelector("template[data-slip]"));
    const line = /** @type {HTMLElement} */ (from?.content.firstElementChild?.cloneNode(true));
    line.dataset.slipSaid = code;
    const text = `${words("slip")} ${words(code, 1, { written, ...limits })}`;
    line.querySelector("span")?.append(text.trim());
    const fields = [...form.elements].filter((one) => one instanceof HTMLElement);
    const at = fields.find((one) => [name, `${name}.typed`, `${name}.amount.typed`].includes(one.getAttribute("name") ?? ""));
    const part = at?.closest(".field, .chips") ?? form;
    (part.querySelector("label, legend") ?? form.firstElementChild)?.after(line);
    at?.closest("details")?.setAttribute("open", "");
    if (at instanceof HTMLElement) at.focus();
    line.scrollIntoView({ block: "center" });
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
    const fault = await Promise.race([keepCopy(form).catch((/** @type {unknown} */ it) => it), late]);
    const isStuck = fault instanceof coop.wire.Slip && (await isCutOff()); // else the studio says it
    isKeeping = false;
    if (isStuck) return showSlip(form, fault);
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

  /** A browser that lost its store learns anew whose phone it is. */
  async function knowAgain() {
    if (await coop.outbox.about("device")) return;
    const answer = await fetch(DOCUMENT, { cache: "no-store" }).catch(() => caches.match(DOCUMENT));
    if (!answer?.ok) return;
    const text = await answer.text();
    const said = (/** @type {string} */ name) => new RegExp(`data-${name}="([^"]*)"`).exec(text)?.[1];
    await coop.outbox.open({ ledger: said("ledger"), device: said("device"), lastSeq: Number(said("last-seq")) });
  }

  /** What the browser's store refuses is said by `show`, and stops nothing else. @param {() => Promise<void>} work */
  async function tried(work) {
    await work().catch((fault) => console.warn("the store refused", fault));
  }

  async function start() {
    document.addEventListener("submit", send);
    document.addEventListener("coop:outbox", show);
    await tried(letGo);
    await show();
    await tried(knowAgain);
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
