// @ts-check
// The page that opens without a signal: one screen at a time, what is written is kept on this phone
// and shown until the studio has it, and nothing is said to be good that was only heard to be.
// Needs idb, wire.js, body.js, outbox.js and form.js before it. Sentences stand in the document.

(() => {
  "use strict";

  const coop = /** @type {any} */ (globalThis).coop;
  const { outbox } = coop;
  const main = /** @type {HTMLElement} */ (document.getElementById("main"));
  const { asOf = "", zone = "", push = "", release = "" } = main.dataset;
  const isShared = main.dataset.shared === "yes";
  const lang = document.documentElement.lang;

  const MINUTE_MS = 60_000;
  const DAY_MS = 86_400_000;
  const UNDO_MS = 10 * MINUTE_MS;
  const EARLY_MS = 10 * MINUTE_MS;
  const FRESH_MS = 2 * MINUTE_MS;
  const LOUD_DAYS = 3;
  const COUNTS_KEPT = 3;
  const SHOWN_MAX = 6; // under one bath
  const SOON_MS = 50;
  const HERE = new Set(["waiting", "needs", "refused"]);
  const LEFT = new Set(["refused", "given-up"]);
  const UNDO = "entry.corrected";
  const STOPS = new Set(["bath.stopped", "bath.finished"]);
  const WRITTEN = "coop-written";
  const LISTS = new Set(["room", "lines"]);
  const OF_A_TAG = /^\/(?:baths|liquids|stacks|jugs|mix)\/([^/]+)$/; // where the codes on tags lead

  /** @typedef {import("../phone").Draft} Draft */
  /** @typedef {{bath: string, card: HTMLElement | null, mended: Draft | undefined}} About */

  /** @type {Draft[]} */
  let records = [];
  let author = main.dataset.author ?? "";
  let wanted = ""; // the screen to open once it is known who writes
  /** @type {{id: string, form: string, bath: string} | null} */
  let mending = null; // the refused line that the next screen puts right
  let ahead_ms = 0; // of this device's clock is the studio's
  let soon = 0;
  let isAsked = false;
  /** @type {(() => Promise<void>) | null} */
  let takeOver = null;
  /** @type {{now: () => Promise<void>} | null} */
  let sending = null;

  // ---- the document

  /** @param {string} selector @param {ParentNode} [within] @returns {HTMLElement[]} */
  function all(selector, within = document) {
    return /** @type {HTMLElement[]} */ ([...within.querySelectorAll(selector)]);
  }

  /** @param {string} selector @param {ParentNode} [within] @returns {HTMLElement | null} */
  function one(selector, within = document) {
    return within.querySelector(selector);
  }

  /** @param {string} id */
  function made(id) {
    const from = /** @type {HTMLTemplateElement} */ (document.getElementById(id));
    return /** @type {HTMLElement} */ (from.content.firstElementChild?.cloneNode(true));
  }

  const sentences = /** @type {HTMLTemplateElement} */ (document.getElementById("say")).content;

  /** @param {string} name @param {Record<string, unknown>} [values] */
  function say(name, values = {}) {
    const text = one(`[data-say="${name}"]`, sentences)?.textContent ?? name;
    return text.replace(/\{(\w+)\}/g, (_, key) => String(values[key] ?? ""));
  }

  /** @param {HTMLElement | null} part @param {string} text */
  function put(part, text) {
    if (!part) return;
    part.textContent = text;
    part.hidden = text === "";
  }

  // ---- moments

  const dated = new Intl.DateTimeFormat("sv", { timeZone: zone, dateStyle: "short", timeStyle: "short" });
  const weekday = new Intl.DateTimeFormat(lang, { timeZone: zone, weekday: "long" });
  const relative = new Intl.RelativeTimeFormat(lang, { numeric: "auto" });

  /** Yesterday 21:10, Tuesday 21:10, 2025-09-20 21:10. @param {Date} date */
  function near(date) {
    const [day = "", time = ""] = dated.format(date).split(" ");
    const [today = ""] = dated.format(new Date(now_ms())).split(" ");
    const days = Math.round((Date.parse(day) - Date.parse(today)) / DAY_MS);
    if (Math.abs(days) < 2) return `${relative.format(days, "day")} ${time}`;
    return `${Math.abs(days) < 7 ? weekday.format(date) : day} ${time}`;
  }

  /** By the studio's clock as it was heard last; not before it said what stands here. */
  function now_ms() {
    return Math.max(Date.now() + ahead_ms, Date.parse(asOf));
  }

  /** By the studio's clock too. @param {Draft} draft */
  function writtenAt(draft) {
    return new Date(Math.min(draft.written_ms + ahead_ms, now_ms()));
  }

  // ---- what is shown

  /** @param {Draft} draft */
  function isMine(draft) {
    return draft.author === author && draft.device === main.dataset.device;
  }

  /** What the studio's page cannot know of yet. @param {Draft} draft */
  function isNews(draft) {
    return HERE.has(draft.state) || (draft.acked_ms ?? 0) > Date.parse(asOf);
  }

  /** Undone, as far as this device knows. */
  function undoneHere() {
    return undoneIn(records.filter((it) => !LEFT.has(it.state)));
  }

  /** Too late to undo it. @param {Draft} draft */
  function isLate(draft) {
    return Math.abs(Date.now() - draft.written_ms) > UNDO_MS; // a clock set back makes it long ago
  }

  /** @param {Draft} draft */
  function toldOf(draft) {
    return draft.told || say("from-file");
  }

  /** @param {Draft} draft */
  function entryOf(draft) {
    return JSON.parse(draft.text).entry;
  }

  /** @param {string} text */
  function item(text) {
    const made = document.createElement("li");
    made.textContent = text;
    return made;
  }

  /** @param {string} bath */
  function cardOf(bath) {
    return one(`.bath[data-bath="${bath}"]`, main);
  }

  /** The last stop or finish written here, whoever wrote it: all must know. @param {HTMLElement} card */
  function stopOf(card) {
    const undone = undoneHere();
    return records
      .filter((it) => it.bath === card.dataset.bath && STOPS.has(it.kind) && isNews(it) && !undone.has(it.id))
      .at(-1);
  }

  /** @param {HTMLElement} card */
  function isDue(card) {
    return now_ms() >= Date.parse(card.dataset.turnsAt ?? "");
  }

  /** @param {HTMLElement} card */
  function wordOf(card) {
    const stop = stopOf(card);
    if (stop) return stop.kind === "bath.finished" ? "finished" : "do-not-use";
    return (isDue(card) ? card.dataset.turnsWord : card.dataset.word) ?? "";
  }

  /** @param {HTMLElement} card */
  function showWord(card) {
    const stop = stopOf(card);
    const isOver = isDue(card) || stop !== undefined;
    for (const part of all("[data-now], [data-left]", card)) part.hidden = isOver;
    for (const part of all("[data-due]", card)) part.hidden = !isOver || stop !== undefined;
    for (const part of all("[data-said]", card)) {
      part.hidden = stop === undefined;
      if (stop) put(one("span", part), say(stop.kind, { when: near(writtenAt(stop)) }));
    }
  }

  /** @param {HTMLElement} card */
  function showCard(card) {
    showWord(card);
    const list = one("[data-here]", card);
    if (!list) return;
    const here = records.filter((it) => it.bath === card.dataset.bath && HERE.has(it.state));
    const mine = here.filter(isMine);
    const others = here.length - mine.length;
    const lines = mine.slice(-SHOWN_MAX).map((it) => say("here", { told: toldOf(it), state: say(it.state) }));
    if (mine.length > SHOWN_MAX) lines.push(say("more", { count: mine.length - SHOWN_MAX }));
    if (others) lines.push(say("others", { count: others }));
    list.replaceChildren(...lines.map(item));
  }

  /** Baths mixed here, by whomever, that the studio has not told of yet. */
  function showNewBaths() {
    const undone = undoneHere();
    const mixed = records.filter((it) => it.kind === "bath.mixed" && isNews(it) && !undone.has(it.id));
    for (const card of all("[data-new-baths] .bath")) {
      if (!mixed.some((it) => it.id === card.dataset.bath)) card.remove();
    }
    one("[data-new-baths]")?.append(...mixed.filter((it) => !cardOf(it.id)).map(newBath));
  }

  /** @param {Draft} draft */
  function newBath(draft) {
    const card = made("new-bath");
    const { name, studio } = entryOf(draft).body;
    const drawer = one(`.bath[data-studio="${studio}"]`)?.dataset.drawer ?? "";
    Object.assign(card.dataset, { bath: draft.id, name, studio, drawer });
    put(one("h3", card), name);
    for (const link of all("a", card)) link.setAttribute("href", `${link.getAttribute("href")}${draft.id}`);
    return card;
  }

  /** @param {Draft} draft @param {Set<string>} undone */
  function lineOf(draft, undone) {
    const line = made("line");
    const isOver = isLate(draft) || LEFT.has(draft.state) || undone.has(draft.id) || draft.kind === UNDO;
    const name = cardOf(draft.bath)?.dataset.name;
    put(one("[data-told]", line), name ? `${name}: ${toldOf(draft)}` : toldOf(draft));
    put(one("[data-state]", line), say(draft.state));
    put(one("time", line), near(writtenAt(draft)));
    put(one("[data-why]", line), HERE.has(draft.state) ? (draft.answer?.text || say(draft.answer?.code ?? "")) : "");
    for (const key of all("[data-do]", line)) {
      key.dataset.id = draft.id;
      key.hidden = key.dataset.do === "undo" ? isOver : draft.state !== "refused";
    }
    return line;
  }

  /** @param {Draft[]} drafts @returns {Set<string>} */
  function undoneIn(drafts) {
    return new Set(drafts.filter((it) => it.kind === UNDO).map((it) => entryOf(it).body.target));
  }

  function showLines() {
    if (here().name !== "lines") return;
    const mine = records.filter(isMine);
    const others = records.filter((it) => HERE.has(it.state) && !isMine(it)).length;
    const undone = undoneIn(mine);
    const lines = mine.reverse().map((draft) => lineOf(draft, undone));
    if (others) lines.push(item(say("others", { count: others })));
    one("[data-list]")?.replaceChildren(...lines);
  }

  function showWaiting() {
    const open = records.filter((it) => HERE.has(it.state));
    const [oldest] = records
      .filter((it) => it.state === "waiting")
      .sort((it, other) => it.written_ms - other.written_ms);
    put(one("[data-lines]"), open.length ? say("lines", { count: open.length }) : say("lines-none"));
    const days = oldest ? (Date.now() - oldest.written_ms) / DAY_MS : 0;
    const when = oldest ? near(writtenAt(oldest)) : "";
    const text = days < 1 ? "" : say(days < LOUD_DAYS ? "day" : "days", { when });
    notice("old", text, days < LOUD_DAYS ? "" : "warning");
  }

  function render() {
    for (const time of all("time[datetime]", main)) {
      time.textContent = near(new Date(time.getAttribute("datetime") ?? ""));
    }
    showNewBaths();
    for (const card of all(".bath", main)) showCard(card);
    showWaiting();
    showLines();
    showWritten();
  }

  async function renew() {
    if (outbox.available()) {
      records = await outbox.all();
      ahead_ms = (await outbox.about("ahead_ms")) ?? 0;
    }
    render();
  }

  /** Many may come at once. */
  function renewSoon() {
    soon ||= setTimeout(() => {
      soon = 0;
      void renew();
    }, SOON_MS);
  }

  // ---- notices

  /**
   * One line of its sort above all screens; empty takes it away.
   * @param {string} sort @param {string} text @param {string} [looks] @returns {HTMLElement | undefined}
   */
  function notice(sort, text, looks = "") {
    const place = document.getElementById("notices");
    const there = one(`[data-sort="${sort}"]`, place ?? document);
    if (!text) return void there?.remove();
    const line = there ?? made("notice");
    line.dataset.sort = sort;
    line.className = `flash ${looks}`;
    one("use", line)?.setAttribute("href", looks === "warning" ? "#shape-care" : "#shape-written");
    put(one("p", line), text);
    if (!there) place?.append(line);
    return line;
  }

  /** What was written last, and where it is now; it can be undone. */
  function showWritten() {
    const [id, after = ""] = (sessionStorage.getItem(WRITTEN) ?? "").split("\n");
    const draft = records.find((it) => it.id === id);
    const isAside = !LISTS.has(here().name); // above another form it would be taken for that one's
    if (!draft || !isMine(draft) || isLate(draft) || isAside) return void notice("written", "");
    const text = `${say("kept", { told: toldOf(draft), state: say(draft.state) })} ${after}`;
    const key = one("[data-do]", notice("written", text.trim(), "written") ?? main);
    if (!key) return;
    key.dataset.id = id;
    key.hidden = LEFT.has(draft.state) || draft.kind === UNDO || undoneIn(records).has(draft.id);
  }

  // ---- one screen at a time

  function here() {
    const [name = "", bath = ""] = location.hash.slice(1).split("/");
    return one(`[data-view="${name}"]`) ? { name, bath } : { name: "room", bath: "" };
  }

  function show() {
    const { name, bath } = here();
    const view = /** @type {HTMLElement} */ (one(`[data-view="${name}"]`));
    const form = one("form[data-outbox]", view);
    const mended = mendedHere(name, bath);
    if (form && !author) {
      wanted = location.hash;
      return void (location.hash = "who");
    }
    if (name !== "who") wanted = "";
    if (form instanceof HTMLFormElement) {
      const card = cardOf(bath);
      if (!card && !mended && one("[data-about]", view)) return void (location.hash = "room");
      openForm(view, form, { bath, card, mended });
    }
    for (const other of all("[data-view]")) other.hidden = other !== view;
    showLines();
    showWritten();
    if (name === "room") void giveWay();
  }

  /** The code on a tag was read, and the worker gave this page for the one it leads to. */
  function showTagged() {
    const subject = OF_A_TAG.exec(location.pathname)?.[1];
    if (!subject || location.hash) return;
    const card = cardOf(CSS.escape(subject));
    if (!card) return void notice("tagged", say("not-here"), "warning");
    card.closest("details")?.setAttribute("open", "");
    card.classList.add("tagged");
    card.tabIndex = -1;
    card.focus();
  }

  /** The line put right on this very screen; any other lets go of it. @param {string} name @param {string} bath */
  function mendedHere(name, bath) {
    const { id, form, bath: its } = mending ?? {};
    mending = null;
    if (form !== name || its !== bath) return undefined;
    return records.find((it) => it.id === id && it.state === "refused" && isMine(it));
  }

  // ---- forms

  /** Only what belongs to the bath's studio can be chosen. @param {ParentNode} view @param {string} studio */
  function fitStudio(view, studio) {
    for (const part of all("[data-studio]", view)) {
      const isOther = studio !== "" && part.dataset.studio !== studio;
      part.hidden = isOther;
      if (part instanceof HTMLOptionElement) part.disabled = isOther;
    }
    for (const select of view.querySelectorAll("select")) {
      if (!select.selectedOptions[0]?.disabled) continue;
      select.selectedIndex = [...select.options].findIndex((it) => !it.disabled);
    }
  }

  /** @param {HTMLFormElement} form @param {string} name @returns {any[]} */
  function fieldsOf(form, name) {
    return [...form.elements].filter((it) => /** @type {any} */ (it).name === name);
  }

  /**
   * @param {HTMLFormElement} form @param {[string, string][]} fields
   * @returns {string[]} the names of those that could not be set: they are not offered here
   */
  function fill(form, fields) {
    for (const [name, value] of fields) {
      for (const field of fieldsOf(form, name)) {
        if (/^(radio|checkbox)$/.test(field.type)) field.checked = field.value === value;
        else field.value = value;
      }
    }
    form.dispatchEvent(new Event("input", { bubbles: true }));
    return fields.filter(([name, value]) => !isSet(form, name, value)).map(([name]) => name);
  }

  /** @param {HTMLFormElement} form @param {string} name @param {string} value */
  function isSet(form, name, value) {
    return fieldsOf(form, name).some(
      (it) => !it.disabled && it.value === value && (it.checked || !/^(radio|checkbox)$/.test(it.type)),
    );
  }

  /** @param {HTMLFormElement} form */
  function clear(form) {
    form.reset();
    delete form.dataset.correcting;
    delete form.dataset.bath;
    for (const part of all("details", form)) part.removeAttribute("open");
    form.dataset.id = coop.wire.newId();
    clearSlips(form);
  }

  /**
   * A bath that is listed no more has no card; its line can be put right all the same.
   * @param {HTMLElement} view @param {HTMLFormElement} form @param {About} about
   */
  function openForm(view, form, { bath, card, mended }) {
    clear(form);
    if (bath) form.dataset.bath = bath;
    put(one("[data-about]", view), card?.dataset.name ?? (mended ? toldOf(mended) : ""));
    const shown = card && all(".word", card).find((it) => it.parentElement?.hidden === false);
    one("[data-badge]", view)?.replaceChildren(...(shown ? [shown.cloneNode(true)] : []));
    fitDrawer(form, card);
    fitStudio(view, card?.dataset.studio ?? "");
    const plan = card && one("[data-plan]", card);
    if (plan) one("[data-plan-here]", view)?.replaceChildren(plan.cloneNode(true));
    for (const field of all("[data-from-card]", form)) /** @type {HTMLInputElement} */ (field).value = card?.dataset.studio ?? "";
    if (form.id === "sheets") openSheets(view, form, card);
    if (form.id === "lay") openLay(view, form, card);
    if (form.id === "rinse") openRinse(form, card);
    if (form.id === "soda") openSoda(form, card);
    if (mended) correct(form, mended);
    else fill(form, []);
  }

  /** @param {HTMLFormElement} form @param {HTMLElement | null} card */
  function fitDrawer(form, card) {
    const tools = fieldsOf(form, "instrument");
    const drawer = card?.dataset.drawer?.split(" ") ?? tools.map((it) => it.value);
    for (const tool of tools) {
      tool.disabled = tool.parentElement.hidden = !drawer.includes(tool.value);
      tool.checked = tool.value === drawer[0];
    }
  }

  /** My own last sheets here, if the studio's page cannot know them yet. @param {HTMLElement | null} card */
  function latest(card) {
    const undone = undoneHere();
    const mine = records.filter(
      (it) => it.kind === "sheets.through" && isMine(it) && !LEFT.has(it.state) && !undone.has(it.id),
    );
    const last = mine.filter((it) => it.bath === card?.dataset.bath && isNews(it)).at(-1);
    const counts = mine.reverse().map((it) => String(entryOf(it).body.sheet_count));
    return { last, counts: [...new Set(counts)].slice(0, COUNTS_KEPT) };
  }

  /** @param {HTMLElement} view @param {HTMLFormElement} form @param {HTMLElement | null} card */
  function openSheets(view, form, card) {
    const { last, counts } = latest(card);
    const word = card ? wordOf(card) : "";
    const fields = last ? saidIn(last) : JSON.parse(card?.dataset.fields ?? "[]");
    const isStopped = /^(do-not-use|resting|finished)$/.test(word);
    const told = isStopped ? "" : (last?.told ?? card?.dataset.again ?? "");
    put(one("[data-again]", view), told);
    one("[data-again-box]", view)?.toggleAttribute("hidden", !told);
    one("[data-stopped]", view)?.toggleAttribute("hidden", word !== "do-not-use");
    pad(form, counts);
    fill(form, [["word", word], ...withOwn(fields).filter(([name]) => name !== "sheet_count")]);
    form.dataset.fields = JSON.stringify(withOwn(fields));
  }

  /** @param {HTMLElement} view @param {HTMLFormElement} form @param {HTMLElement | null} card */
  function openLay(view, form, card) {
    const word = card ? wordOf(card) : "";
    one("[data-stopped]", view)?.toggleAttribute("hidden", word !== "do-not-use");
    pad(form, latest(card).counts);
    fill(form, [["word", word], ["damp", "no"]]);
  }

  /** What comes next is chosen; the soda of the shelf stands first. @param {HTMLFormElement} form @param {HTMLElement | null} card */
  function openSoda(form, card) {
    const undone = undoneHere();
    const last = records
      .filter((it) => it.kind === "disposal.treated" && it.bath === card?.dataset.bath)
      .filter((it) => isNews(it) && !LEFT.has(it.state) && !undone.has(it.id))
      .at(-1);
    const next = JSON.parse(card?.dataset.next ?? "{}")[last ? entryOf(last).body.step : ""] ?? {};
    const bases = fieldsOf(form, "base");
    for (const base of (card?.dataset.shelf ?? "").split(" ").reverse()) {
      const label = bases.find((it) => it.value === base)?.parentElement;
      label?.parentElement.prepend(label);
    }
    fill(form, Object.entries(next));
  }

  /** What was known of metal colours in it stands chosen. @param {HTMLFormElement} form @param {HTMLElement | null} card */
  function openRinse(form, card) {
    pad(form, latest(card).counts);
    fill(form, JSON.parse(card?.dataset.fields ?? "[]"));
  }

  /** Written in one tap, unless some of it is not offered here any more. */
  function again() {
    const form = /** @type {HTMLFormElement} */ (document.getElementById("sheets"));
    clearSlips(form);
    const [unset] = fill(form, JSON.parse(form.dataset.fields ?? "[]"));
    if (unset) showWhy(form, unset, say("not-offered"));
    else form.requestSubmit();
  }

  /** @param {[string, string][]} fields @returns {[string, string][]} */
  function withOwn(fields) {
    const isOwn = fields.length > 0 && !fields.some(([name]) => name === "lot");
    return isOwn ? [...fields, ["lot", "own"]] : fields;
  }

  /** @param {HTMLFormElement} form @param {string[]} counts */
  function pad(form, counts) {
    for (const keys of all("[data-pad]", form)) {
      const every = [...new Set([...(keys.dataset.pad ?? "").split(" "), ...counts])];
      keys.replaceChildren(
        ...every.sort((a, b) => Number(a) - Number(b)).map((count) => {
          const key = document.createElement("button");
          Object.assign(key, { type: "button", className: "button", textContent: count });
          Object.assign(key.dataset, { fill: count, for: `${form.id}-count` });
          return key;
        }),
      );
    }
  }

  /** A body as the fields it came from. @param {any} part @param {string} [where] @returns {[string, string][]} */
  function flat(part, where = "") {
    if (typeof part !== "object") return [[where, String(part)]];
    return Object.entries(part).flatMap(([key, inner]) => flat(inner, where ? `${where}.${key}` : key));
  }

  /** The fields that a line came from. @param {Draft} draft */
  function saidIn(draft) {
    return flat(entryOf(draft).body).filter(([name]) => !["bath", "size", "note"].includes(name));
  }

  /** What was typed stands in the form again, under its own number. @param {HTMLFormElement} form @param {Draft} draft */
  function correct(form, draft) {
    const { entry, note } = JSON.parse(draft.text);
    const fields = saidIn(draft);
    form.dataset.correcting = draft.id;
    fill(form, [
      ...(form.id === "sheets" ? withOwn(fields) : fields),
      ["note", note?.text ?? ""],
      ["happened_at", entry.said?.typed ?? ""],
    ]);
    if (draft.answer) showWhy(form, draft.answer.field, draft.answer.text || say(draft.answer.code));
  }

  /** @param {HTMLFormElement} form */
  function clearSlips(form) {
    one(".error", form)?.remove();
    form.classList.remove("wrong");
    one(".wrong", form)?.classList.remove("wrong");
    one("[aria-invalid]", form)?.removeAttribute("aria-invalid");
  }

  /** @param {HTMLFormElement} form @param {any} slip */
  function showSlip(form, slip) {
    showWhy(form, slip.field, say(slip.code, { written: slip.written, ...slip.limits }));
  }

  /** Beside the field, or the one it is a part of. @param {HTMLFormElement} form @param {string} name @param {string} text */
  function showWhy(form, name, text) {
    const [field] = [name, `${name}.typed`, `${name}.amount.typed`].flatMap((it) => fieldsOf(form, it));
    const part = field?.closest(".field, .chips");
    const line = made("slip");
    put(one("span", line), text);
    (part ?? form).classList.add("wrong");
    (part?.querySelector("label, legend") ?? form.firstElementChild)?.after(line);
    if (!field) return void line.scrollIntoView({ block: "center" });
    field.closest("details")?.setAttribute("open", "");
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", line.id);
    field.focus();
  }

  /** Whether a time, typed by the studio's clocks, is still to come. @param {string} typed */
  function isEarly(typed) {
    return typed.replace("T", " ").slice(0, 16) > dated.format(now_ms() + EARLY_MS);
  }

  /** @param {HTMLFormElement} form */
  async function write(form) {
    if (!author) return void (location.hash = "who");
    clearSlips(form);
    notice("not-kept", "");
    try {
      const said = coop.body(form);
      if (isEarly(said.happenedAt)) throw new coop.wire.Slip("happened_at", "in-the-future");
      const { id, correcting, after = "" } = form.dataset;
      const draft = await outbox.put({ ...said, author, id, correcting });
      sessionStorage.setItem(WRITTEN, `${draft.id}\n${after}`);
    } catch (fault) {
      if (fault instanceof coop.wire.Slip) return showSlip(form, fault);
      return void notice("not-kept", say("not-kept"), "warning");
    }
    clear(form);
    await renew();
    location.hash = "room";
  }

  // ---- lines on this phone

  /** One line, one correction: its number follows from the line's. @param {string} target */
  async function undoIdOf(target) {
    const named = new TextEncoder().encode(`${UNDO} ${target}`);
    const bytes = new Uint8Array(await crypto.subtle.digest("SHA-256", named));
    const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    return `${target.slice(0, 15)}${hex.slice(0, 3)}-8${hex.slice(3, 6)}-${hex.slice(6, 18)}`;
  }

  /** @param {string} id */
  async function undo(id) {
    const draft = records.find((it) => it.id === id);
    if (!draft || undoneIn(records).has(id)) return;
    const undoing = await outbox.put({
      id: await undoIdOf(id),
      kind: UNDO, v: Number(main.dataset.undo), author, bath: draft.bath,
      body: { target: id, outcome: "void", reason: "undone" },
      told: say("undone", { told: toldOf(draft) }),
    });
    sessionStorage.setItem(WRITTEN, `${undoing.id}\n`);
  }

  /** The form that a line came from; two forms may write one kind. @param {Draft} draft */
  function formOf(draft) {
    const forms = all(`form[data-outbox="${draft.kind}"]`);
    const { body } = entryOf(draft);
    return forms.find((it) => (it.dataset.says ?? it.dataset.names ?? "bath") in body) ?? forms[0];
  }

  /** @param {string} id */
  function putRight(id) {
    const draft = records.find((it) => it.id === id);
    const form = draft && formOf(draft);
    if (!draft || !form) return;
    mending = { id, form: form.id, bath: draft.bath };
    location.hash = draft.bath ? `${form.id}/${draft.bath}` : form.id;
  }

  /** @param {HTMLElement} key */
  async function act(key) {
    const { do: what, id = "", confirm: question } = key.dataset;
    if (!author) return void (location.hash = "who");
    if (question && !confirm(question)) return;
    if (what === "undo") await undo(id);
    else if (what === "right") return putRight(id);
    else await outbox.giveUp(id);
    await renew();
  }

  async function save() {
    const url = URL.createObjectURL(new Blob([await outbox.rescueText()], { type: "application/jsonl" }));
    const digits = dated.format(new Date()).replace(/[-:]/g, "").replace(" ", "-");
    Object.assign(document.createElement("a"), { href: url, download: `coop-waiting-${digits}.jsonl` }).click();
    setTimeout(() => URL.revokeObjectURL(url), MINUTE_MS);
  }

  /** @param {HTMLInputElement} field */
  async function takeIn(field) {
    const file = field.files?.[0];
    if (!file) return;
    const { taken, already, faults } = await outbox.takeIn(await file.text());
    const lines = faults.map((/** @type {{line: number}} */ fault) => fault.line).join(", ");
    const text = [say("taken", { taken, already }), lines && say("bad-lines", { lines })];
    notice("taken", text.filter(Boolean).join(" "));
    field.value = "";
  }

  /** Who writes from now on; for nobody, nothing of the one before stays. @param {string} member */
  function writeAs(member) {
    author = member;
    if (!member) {
      wanted = "";
      mending = null;
      sessionStorage.removeItem(WRITTEN);
      for (const form of document.forms) if (form.dataset.outbox) clear(form);
    }
    render();
    if (member || here().name !== "room") location.hash = wanted || "room";
  }

  // ---- the studio

  /** @param {{status: number, sent: number}} outcome */
  async function heard({ status, sent }) {
    await renew();
    if (isAsked) notice("answer", status === 200 ? "" : say("no-answer"));
    isAsked = false;
    one("[data-heard]")?.toggleAttribute("hidden", status !== 200);
    notice("not-known", status === 401 ? say("not-known") : "", "warning");
    if (status !== 200) return;
    document.dispatchEvent(new CustomEvent("coop:heard"));
    const { ok } = await coop.refresh();
    const isDue = ok && (sent > 0 || (await isOld()));
    if (isDue && here().name === "room" && !(isShared && author)) location.reload();
  }

  /** Whether the page that is kept is younger than this one, by the studio's own clock. */
  async function isOld() {
    const text = await (await caches.match(main.dataset.kept ?? "", { ignoreVary: true }))?.text();
    const then = /data-as-of="([^"]+)"/.exec(text ?? "")?.[1] ?? asOf;
    return Date.parse(then) - Date.parse(asOf) > FRESH_MS;
  }

  /** A newer worker takes over while nobody is typing. */
  async function giveWay() {
    await takeOver?.();
    takeOver = null;
  }

  async function start() {
    const why = outbox.why();
    if (why) return void notice("why", say(why), "warning");
    try {
      await outbox.open({ ledger: main.dataset.ledger, device: main.dataset.device, lastSeq: Number(main.dataset.lastSeq) });
    } catch {
      return void notice("why", say("no-database"), "warning");
    }
    await renew();
    coop.registerWorker().catch(() => undefined); // the page works without it while there is a signal
    void coop.whenWaiting((/** @type {() => Promise<void>} */ take) => {
      takeOver = take;
      if (here().name === "room") void giveWay();
    });
    const unheard = /^#kept\/(.+)/.exec(location.hash)?.[1]; // a form that the worker got no answer to
    if (unheard) sessionStorage.setItem(WRITTEN, `${unheard}\n`);
    sending = outbox.startSending({ pushUrl: push, release, unheard, after: heard });
  }

  // ---- hands

  document.addEventListener("click", (event) => {
    const key = event.target instanceof Element ? event.target.closest("button") : null;
    if (!key) return;
    if (key.dataset.do) void act(key);
    else if (key.dataset.again !== undefined) again();
    else if (key.dataset.save !== undefined) void save();
    else if (key.dataset.send !== undefined) {
      isAsked = true;
      void sending?.now();
    }
  });

  document.addEventListener("submit", (event) => {
    const form = event.target;
    event.preventDefault();
    if (form instanceof HTMLFormElement && form.dataset.outbox) void write(form);
  });

  document.addEventListener("input", ({ target }) => {
    const form = /** @type {any} */ (target).form ?? target;
    if (form instanceof HTMLFormElement) for (const part of all("[data-shown]", form)) part.hidden = !coop.holds(form, part);
  });

  document.addEventListener("change", ({ target }) => {
    if (!(target instanceof HTMLInputElement)) return;
    if (target.type === "file") return void takeIn(target);
    const { fills, also } = target.dataset;
    const form = target.form;
    if (!fills || !form) return;
    fitStudio(form, JSON.parse(also ?? "{}").studio ?? "");
    for (const [name, value] of Object.entries(JSON.parse(fills))) {
      const [field] = fieldsOf(form, name);
      if (!field || (field.value && field.value !== field.dataset.proposed)) continue;
      field.dataset.proposed = value;
      fill(form, [[name, value]]);
    }
  });

  document.addEventListener("coop:outbox", renewSoon);
  addEventListener("hashchange", () => {
    show();
    scrollTo(0, 0);
    one("[data-view]:not([hidden]) h1")?.focus({ preventScroll: true });
  });
  setInterval(render, MINUTE_MS);
  coop.offline = { all, one, put, say, notice, writeAs };
  render();
  show();
  void start().then(showTagged);
})();
