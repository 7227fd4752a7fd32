// @ts-check
// Who writes on a shared tablet: initials and four digits, against mistakes, not thieves. Back to
// nobody after five minutes without a touch and when the page is left. Needs offline.js before it.

(() => {
  "use strict";

  const { outbox, offline } = /** @type {any} */ (globalThis).coop;
  const { all, one, put, say, notice, writeAs } = offline;

  const NOBODY_AFTER_MS = 300_000;
  const LOOK_EVERY_MS = 5_000;
  const TRIES_MAX = 10;

  let touched_ms = Date.now();
  let isSomebody = false;

  /** @returns {HTMLInputElement} */
  function field() {
    return one("#digits-typed");
  }

  /** @param {DOMStringMap} check @param {string} digits */
  async function isRight({ salt = "", rounds, hash }, digits) {
    const key = await crypto.subtle.importKey("raw", new TextEncoder().encode(digits), "PBKDF2", false, ["deriveBits"]);
    const bytes = new Uint8Array((salt.match(/../g) ?? []).map((pair) => parseInt(pair, 16)));
    const how = { name: "PBKDF2", hash: "SHA-256", salt: bytes, iterations: Number(rounds) };
    const found = new Uint8Array(await crypto.subtle.deriveBits(how, key, 256));
    return [...found].map((byte) => byte.toString(16).padStart(2, "0")).join("") === hash;
  }

  /** @param {HTMLElement | null} key */
  function pick(key) {
    for (const other of all("[data-writer]")) other.setAttribute("aria-pressed", String(other === key));
    const hasDigits = key?.dataset.hash !== undefined;
    notice("digits", key && !hasDigits ? say("no-digits", { initials: key.textContent }) : "", "warning");
    one("#digits").hidden = !hasDigits;
    field().value = "";
    if (hasDigits) field().focus();
  }

  async function tapIn() {
    const key = one('[data-writer][aria-pressed="true"]');
    const digits = field().value;
    field().value = "";
    if (!key || !digits) return;
    const name = `tries:${key.dataset.writer}`;
    const warn = (/** @type {string} */ text) => notice("digits", say(text, { initials: key.textContent }), "warning");
    const tries = ((await outbox.about(name)) ?? 0) + 1;
    if (tries > TRIES_MAX) return warn("locked");
    await outbox.setAbout(name, tries); // before they are looked at: leaving now is a try too
    if (!(await isRight(key.dataset, digits))) return warn(tries < TRIES_MAX ? "wrong" : "locked");
    await outbox.setAbout(name, 0);
    pick(null);
    isSomebody = true;
    touched_ms = Date.now();
    put(one("[data-leave]"), say("leave", { initials: key.textContent }));
    writeAs(key.dataset.writer);
  }

  function leave() {
    if (!isSomebody) return;
    isSomebody = false;
    put(one("[data-leave]"), "");
    writeAs("");
  }

  function leaveInTime() {
    if (Date.now() - touched_ms > NOBODY_AFTER_MS) leave();
  }

  /** The studio was heard: whoever was locked may try again. */
  async function unlock() {
    for (const key of all("[data-writer]")) await outbox.setAbout(`tries:${key.dataset.writer}`, 0);
  }

  for (const key of all("[data-writer]")) key.addEventListener("click", () => pick(key));
  one("[data-leave]").addEventListener("click", leave);
  one("#digits").addEventListener("submit", () => void tapIn());
  for (const touch of ["pointerdown", "keydown"]) document.addEventListener(touch, () => (touched_ms = Date.now()));
  document.addEventListener("coop:heard", () => void unlock());
  document.addEventListener("visibilitychange", leaveInTime);
  addEventListener("pagehide", leave);
  setInterval(leaveInTime, LOOK_EVERY_MS);
})();
