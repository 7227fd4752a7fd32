// @ts-check
// The page that sets a phone up: whether it can keep anything, whether all is there by now, and that
// nothing is taken off while lines wait. Needs outbox.js before it, and phone.js once it is set up.

(() => {
  "use strict";

  const READY_WAIT_MS = 10_000;
  const TAKING_OFF = "coop-taking-off";
  const MINUTE_MS = 60_000;

  const coop = /** @type {any} */ (globalThis).coop;
  const bar = /** @type {HTMLElement | null} */ (document.querySelector("[data-phone]"));
  const here = /** @type {HTMLElement | null} */ (document.querySelector("[data-device]"));

  /** @param {string} selector @param {ParentNode} [within] @returns {HTMLElement[]} */
  function all(selector, within = document) {
    return /** @type {HTMLElement[]} */ ([...within.querySelectorAll(selector)]);
  }

  /** Show the sentence of a code, the one of "no" where there is none. @param {HTMLElement} part @param {string} code */
  function say(part, code) {
    const sentences = all("[data-said]", part);
    const isNamed = sentences.some((one) => one.dataset.said === code);
    for (const one of sentences) one.hidden = one.dataset.said !== (isNamed ? code : "no");
    part.hidden = false;
  }

  /** @param {string} name @param {string} code @returns {boolean} whether it is there */
  function tell(name, code) {
    const isThere = code === "yes";
    for (const part of all(`[data-check="${name}"]`)) {
      say(part, code);
      part.dataset.there = isThere ? "yes" : "no";
      for (const mark of all("[data-mark]", part)) mark.hidden = (mark.dataset.mark === "yes") !== isThere;
    }
    return isThere;
  }

  /** @template T @param {Promise<T>} work @param {T} otherwise @returns {Promise<T>} */
  function inTime(work, otherwise) {
    const late = new Promise((/** @type {(value: T) => void} */ done) => {
      setTimeout(() => done(otherwise), READY_WAIT_MS);
    });
    return Promise.race([work.catch(() => otherwise), late]);
  }

  /** Whether a worker answers for this page: one that was just made takes it over. */
  async function isControlled() {
    const workers = navigator.serviceWorker;
    if (!workers || !(await coop.registerWorker().catch(() => null))) return "no";
    if (workers.controller) return "yes";
    const taken = new Promise((done) => {
      workers.addEventListener("controllerchange", () => done("yes"), { once: true });
    });
    return inTime(taken, "again");
  }

  async function isFetched() {
    const { ok, status } = await inTime(coop.refresh(), { ok: false, status: 0 });
    return ok ? "yes" : String(status);
  }

  async function prepare() {
    const { ledger, device, lastSeq } = here?.dataset ?? {};
    await coop.outbox.open({ ledger, device, lastSeq: Number(lastSeq) }).catch(() => {
      for (const part of all("[data-cannot]")) say(part, "no-database");
    });
    const controlled = await isControlled();
    const fetched = controlled === "no" ? "0" : await isFetched();
    const stored = await coop.outbox.askPersist();
    tell("stored", stored ? "yes" : "no");
    const isWhole = [tell("document", fetched), tell("worker", controlled)].every(Boolean);
    for (const one of all("[data-whole]")) one.hidden = one.dataset.whole !== (isWhole ? "yes" : "no");
    for (const list of all("[data-checks]")) list.hidden = false;
  }

  /** How many lines are on this phone and nowhere else. */
  async function hereOnly() {
    const { waiting, refused } = await coop.outbox.counts();
    return waiting + refused;
  }

  /** @param {HTMLElement} box @param {number} left how many lines are here only */
  function sayLeft(box, left) {
    for (const line of all("[data-one]", box)) {
      const text = left === 1 ? line.dataset.one : line.dataset.many;
      line.textContent = (text ?? "").replace("{num}", String(left));
    }
    box.hidden = left === 0;
  }

  let saved = 0; // how many lines are in a file by now

  async function save() {
    const url = URL.createObjectURL(new Blob([await coop.outbox.rescueText()], { type: "application/jsonl" }));
    const digits = new Date().toISOString().replace(/[-:]/g, "").slice(0, 13).replace("T", "-");
    Object.assign(document.createElement("a"), { href: url, download: `coop-waiting-${digits}.jsonl` }).click();
    setTimeout(() => URL.revokeObjectURL(url), MINUTE_MS);
    saved = await hereOnly();
  }

  /** @param {HTMLFormElement} form */
  function takeOff(form) {
    sessionStorage.setItem(TAKING_OFF, "yes");
    form.submit();
  }

  /**
   * A phone with waiting lines is taken off only once they are in a file, and that is asked.
   * @param {HTMLFormElement} form
   */
  function guard(form) {
    form.addEventListener("submit", async (event) => {
      if (event.defaultPrevented) return; // the question was answered with no
      event.preventDefault();
      const release = bar?.dataset.release ?? "";
      await coop.outbox.flush({ pushUrl: "/device/push", release }).catch(() => undefined);
      const left = await hereOnly().catch(() => 0); // a store that does not open holds nothing to lose
      if (left <= saved && (!left || confirm(form.dataset.anyway))) return takeOff(form);
      for (const box of all("[data-still-waits]")) sayLeft(box, left);
    });
  }

  /** A browser like any other again: nothing opens by itself any more, once nothing waits here. */
  async function clear() {
    const isOff = sessionStorage.getItem(TAKING_OFF) !== null;
    sessionStorage.removeItem(TAKING_OFF);
    if (bar) return; // it was one, and is to be set up anew
    const registration = await navigator.serviceWorker?.getRegistration();
    if (!registration && !isOff) return;
    if (isOff) await coop.outbox.forgetHandedIn();
    const left = await hereOnly();
    for (const box of all("[data-left]")) sayLeft(box, left);
    if (!registration || left) return;
    await registration.unregister();
    for (const name of await caches.keys()) await caches.delete(name);
  }

  /** A name that nobody changed follows whose it is. @param {HTMLInputElement} name */
  function propose(name) {
    const names = new Map([["no", name.value], ["yes", name.dataset.nameYes ?? name.value]]);
    name.form?.addEventListener("change", ({ target }) => {
      const isProposed = [...names.values()].includes(name.value);
      if (!(target instanceof HTMLInputElement) || target.name !== "shared" || !isProposed) return;
      name.value = names.get(target.value) ?? name.value;
    });
  }

  function start() {
    for (const name of all("[data-name-yes]")) if (name instanceof HTMLInputElement) propose(name);
    if (!coop.outbox.available()) {
      for (const part of all("[data-cannot]")) say(part, coop.outbox.why());
      return;
    }
    for (const form of document.forms) if (form.matches("[data-off]")) guard(form);
    for (const key of all("[data-save]")) key.addEventListener("click", save);
    void (here ? prepare() : clear());
  }

  start();
})();
