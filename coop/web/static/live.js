// @ts-check
// What others write while a page is open: asked for every few seconds, told in a quiet line.
// Nothing typed is ever lost by it; a page without this script is as it was when it was loaded.
// And dates are kept whole: a browser breaks them at their hyphens, and no style forbids it.

(() => {
  "use strict";

  const DATE = /\d{4}-\d\d-\d\d(?: \d\d:\d\d)?/;

  /** @param {Text} text */
  function keepWhole(text) {
    const found = DATE.exec(text.data);
    const around = text.parentElement;
    if (!found || !around || around.closest(".at, svg, textarea, option")) return;
    if (/flex|grid/.test(getComputedStyle(around).display)) return; // its spaces would be lost
    const date = text.splitText(found.index);
    const rest = date.splitText(found[0].length);
    const whole = document.createElement("span");
    whole.className = "at";
    date.replaceWith(whole);
    whole.append(date);
    keepWhole(rest);
  }

  const main = document.getElementById("main");
  if (!main) return;
  const walker = document.createTreeWalker(main, NodeFilter.SHOW_TEXT);
  const texts = [];
  while (walker.nextNode()) if (walker.currentNode instanceof Text) texts.push(walker.currentNode);
  texts.forEach(keepWhole);
})();

(() => {
  "use strict";

  const POLL_MS = 5_000;
  const POLL_MAX_MS = 60_000;
  const ANSWER_WAIT_MS = 20_000;
  const CALM_MS = 1_500; // nothing moves under a finger that is about to press

  const main = document.getElementById("main");
  const found = document.querySelector("[data-news]");
  if (!main || !(found instanceof HTMLElement)) return;
  /** @type {HTMLElement} */
  const news = found;
  const lines = news.querySelector("[data-news-lines]");
  const show = news.querySelector("a");

  let seen = Number(main.dataset.seenSeq);
  let wait_ms = POLL_MS;
  let timer = 0;
  let isAsking = false;
  let isOver = false; // signed out meanwhile
  let touched_ms = -CALM_MS;
  /** @type {string[]} */
  let told = [];
  let more = 0;

  const turnsIn_s = Number(document.querySelector("[data-turns-in-s]")?.getAttribute("data-turns-in-s") ?? NaN);
  const turns_ms = Date.now() + 1_000 * turnsIn_s; // when a word on this page turns by itself; or NaN

  /** @param {Element} field */
  function isChanged(field) {
    if (field instanceof HTMLSelectElement) {
      const first = [...field.options].some((one) => one.defaultSelected);
      return first
        ? [...field.options].some((one) => one.selected !== one.defaultSelected)
        : field.selectedIndex > 0;
    }
    if (field instanceof HTMLTextAreaElement) return field.value !== field.defaultValue;
    if (!(field instanceof HTMLInputElement) || field.type === "hidden") return false;
    if (/^(radio|checkbox)$/.test(field.type)) return field.checked !== field.defaultChecked;
    return field.value !== field.defaultValue;
  }

  function somethingIsTyped() {
    return [...document.forms].some((form) => [...form.elements].some(isChanged));
  }

  /** A page that may be loaded again under its reader: one looked at, not worked in. */
  function mayReload() {
    const held = document.activeElement;
    const isHeld = held !== null && held !== document.body && held !== main;
    const isMarked = getSelection()?.isCollapsed === false;
    const isAnswer = document.querySelector(".flash") !== null; // it was not read yet, perhaps
    const isLookedAt = document.querySelector("[data-reloads]") !== null;
    return isLookedAt && !(isHeld || isMarked || isAnswer || somethingIsTyped());
  }

  function tell() {
    const calm_ms = CALM_MS - (performance.now() - touched_ms);
    if (calm_ms > 0) {
      setTimeout(tell, calm_ms);
      return;
    }
    const besides = more ? [(news.dataset.newsMore ?? "").replace("{count}", String(more))] : [];
    lines?.replaceChildren(
      ...[...told, ...besides].map((text) => {
        const line = document.createElement("p");
        line.textContent = text;
        return line;
      }),
    );
    if (show) show.hidden = false;
    news.classList.add("told");
  }

  /** @param {{head: number, lines: string[], more: number}} answer */
  function take(answer) {
    if (answer.head <= seen) return;
    seen = answer.head;
    if (mayReload()) {
      isOver = true;
      location.reload();
      return;
    }
    if (!answer.lines.length) return;
    const all = [...answer.lines, ...told];
    told = all.slice(0, Number(news.dataset.newsShown));
    more += answer.more + all.length - told.length;
    tell();
  }

  /** Whoever is signed out is told nothing more, and knows it. */
  function end() {
    isOver = true;
    told = [news.dataset.newsOver ?? ""];
    more = 0;
    tell();
  }

  /** @param {AbortSignal} signal */
  async function ask(signal) {
    const response = await fetch(`${news.dataset.news}?after=${seen}`, {
      headers: { Accept: "application/json" },
      credentials: "same-origin",
      redirect: "manual",
      signal,
    });
    if (response.type === "opaqueredirect" || response.status === 401) {
      end();
    } else if (response.ok) {
      take(await response.json());
      wait_ms = POLL_MS;
    } else {
      throw new Error(String(response.status));
    }
  }

  async function poll() {
    clearTimeout(timer);
    if (isAsking || isOver || document.visibilityState !== "visible" || !navigator.onLine) return;
    if (turns_ms <= Date.now() && mayReload()) {
      isOver = true;
      location.reload();
      return;
    }
    isAsking = true;
    const patience = new AbortController();
    const limit = setTimeout(() => patience.abort(), ANSWER_WAIT_MS);
    try {
      await ask(patience.signal);
    } catch {
      wait_ms = Math.min(2 * wait_ms, POLL_MAX_MS);
    }
    clearTimeout(limit);
    isAsking = false;
    timer = setTimeout(poll, wait_ms);
  }

  show?.addEventListener("click", (event) => {
    const question = show.dataset.question;
    if (question && somethingIsTyped() && !confirm(question)) event.preventDefault();
  });
  for (const name of ["pointerdown", "keydown", "input"]) {
    addEventListener(name, () => {
      touched_ms = performance.now();
    });
  }
  document.addEventListener("visibilitychange", poll);
  addEventListener("online", poll);
  timer = setTimeout(poll, POLL_MS);
})();
