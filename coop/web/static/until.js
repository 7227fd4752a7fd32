// @ts-check
// How long it is until something can be done, by the studio's clock. A page without it says when.
// Sentences stand in the document: data-until the moment, data-since when the page was shown.

(() => {
  "use strict";

  const MINUTE_MS = 60_000;
  const OFTEN_MS = 5_000;

  const opened_ms = performance.now();

  /** @param {HTMLElement} line */
  function say(line) {
    const { until = "", since = "", left = "", over = "" } = line.dataset;
    const now_ms = Date.parse(since) + performance.now() - opened_ms;
    const minutes = Math.ceil((Date.parse(until) - now_ms) / MINUTE_MS);
    line.textContent = minutes > 0 ? left.replace("{minutes}", String(minutes)) : over;
  }

  /** @type {NodeListOf<HTMLElement>} */
  const lines = document.querySelectorAll("[data-until]");
  lines.forEach(say);
  if (lines.length) setInterval(() => lines.forEach(say), OFTEN_MS);
})();
