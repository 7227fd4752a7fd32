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
  const NOBODY_AFTER_MS = 5 * MINUTE_MS;
  const UNDO_MS = 10 * MINUTE_MS;
  const EARLY_MS = 10 * MINUTE_MS;
  const FRESH_MS = 2 * MINUTE_MS;
  const LOUD_DAYS = 3;
  const TRIES_MAX = 10;
  const COUNTS_KEPT = 3;
  const HERE = new Set(["waiting", "needs", "refused"]);
  const RENEWED = "coop-renewed";
  const WRITTEN = "coop-written";

  /** @typedef {{id: string, kind: string, bath: string, author: string, told: string, text: string,
   *   written_ms: number, state: string, answer: {text: string} | null}} Draft */

  /** @type {Draft[]} */
  let records = [];
  let author = main.dataset.author ?? "";
  let wanted = "";
  let touched_ms = Date.now();
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

  /** @param {string} id @returns {HTMLElement} */
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
    const [today = ""] = dated.format(new Date()).split(" ");
    const days = Math.round((Date.parse(day) - Date.parse(today)) / DAY_MS);
    if (Math.abs(days) < 2) return `${relative.format(days, "day")} ${time}`;
    return `${Math.abs(days) < 7 ? weekday.format(date) : day} ${time}`;
  }

  /** Not before the studio said it, whatever this phone's clock says. */
  function now_ms() {
    return Math.max(Date.now(), Date.parse(asOf));
  }

  // ---- what is shown

  /** @param {Draft} draft */
  function isMine(draft) {
    return !isShared || draft.author === author;
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

  /** @param {HTMLElement} card */
  function showCard(card) {
    const isDue = now_ms() >= Date.parse(card.dataset.turnsAt ?? "");
    for (const part of all("[data-now]", card)) part.hidden = isDue;
    for (const part of all("[data-due]", card)) part.hidden = !isDue;
    const list = one("[data-here]", card);
    if (!list) return;
    const here = records.filter((it) => it.bath === card.dataset.bath && HERE.has(it.state));
    const mine = here.filter(isMine);
    const others = here.length - mine.length;
    const lines = mine.map((it) => say("here", { told: toldOf(it), state: say(it.state) }));
    if (others) lines.push(say("others", { count: others }));
    list.replaceChildren(...lines.map(item));
    list.hidden = lines.length === 0;
  }

  /** Baths mixed here that the studio has not told of yet. */
  function showNewBaths() {
    const place = one("[data-new-baths]");
    const mixed = records.filter(
      (it) => it.kind === "bath.mixed" && HERE.has(it.state) && !one(`.bath-body [href$="/${it.id}"]`, main) && isMine(it),
    );
    for (const draft of mixed) place?.append(newBath(draft));
    if (place) place.hidden = place.childElementCount === 0;
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

  /** @param {HTMLElement} line @param {Draft} draft @param {Set<string>} undone */
  function fillLine(line, draft, undone) {
    const age_ms = Date.now() - draft.written_ms;
    const isOver = undone.has(draft.id) || draft.kind === "entry.corrected";
    put(one("[data-told]", line), toldOf(draft));
    put(one("[data-state]", line), say(draft.state));
    put(one("time", line), near(new Date(draft.written_ms)));
    put(one("[data-why]", line), HERE.has(draft.state) ? (draft.answer?.text ?? "") : "");
    for (const key of all("[data-do]", line)) {
      key.dataset.id = draft.id;
      const isUndo = key.dataset.do === "undo";
      key.hidden = isUndo ? isOver || age_ms > UNDO_MS || draft.state === "given-up" || draft.state === "refused" : draft.state !== "refused";
    }
  }

  function showLines() {
    const mine = records.filter(isMine);
    const others = records.length - mine.length;
    const undone = new Set(mine.filter((it) => it.kind === "entry.corrected").map((it) => entryOf(it).body.target));
    const lines = mine.reverse().map((draft) => {
      const line = made("line");
      fillLine(line, draft, undone);
      return line;
    });
    if (others) lines.push(item(say("others", { count: others })));
    one("[data-list]")?.replaceChildren(...lines);
    for (const list of all("[data-list]")) list.hidden = lines.length === 0;
    for (const note of all("[data-nothing-here]")) note.hidden = lines.length > 0;
  }

  function showWaiting() {
    const open = records.filter((it) => HERE.has(it.state));
    const oldest = Math.min(...records.filter((it) => it.state === "waiting").map((it) => it.written_ms));
    put(one("[data-lines]"), open.length ? say("lines", { count: open.length }) : say("lines-none"));
    const days = Number.isFinite(oldest) ? (Date.now() - oldest) / DAY_MS : 0;
    const text = days < 1 ? "" : say(days < LOUD_DAYS ? "day" : "days", { when: near(new Date(oldest)) });
    notice("old", text, days < LOUD_DAYS ? "" : "warning");
  }

  function showWriter() {
    const leave = one("[data-leave]");
    const initials = one(`[data-writer="${author}"]`)?.textContent ?? "";
    if (isShared) put(leave, author ? say("leave", { initials }) : "");
  }

  function render() {
    for (const time of all("time[datetime]", main)) {
      time.textContent = near(new Date(time.getAttribute("datetime") ?? ""));
    }
    showNewBaths();
    for (const card of all(".bath", main)) showCard(card);
    showWaiting();
    showWriter();
    showLines();
    showWritten();
  }

  async function renew() {
    if (outbox.available()) records = await outbox.all();
    render();
  }

  // ---- notices

  /** One line of its sort above all screens; empty takes it away. @param {string} sort @param {string} text @param {string} [looks] */
  function notice(sort, text, looks = "") {
    const place = document.getElementById("notices");
    const there = one(`[data-sort="${sort}"]`, place ?? document);
    if (!text) return there?.remove();
    const line = there ?? made("notice");
    line.dataset.sort = sort;
    line.className = `flash ${looks}`;
    put(one("p", line), text);
    if (!there) place?.append(line);
    return line;
  }

  /** What was written last, and where it is now; it can be undone. */
  function showWritten() {
    const [id, after = ""] = (sessionStorage.getItem(WRITTEN) ?? "").split("\n");
    const draft = records.find((it) => it.id === id);
    if (!draft || !isMine(draft) || Date.now() - draft.written_ms > UNDO_MS) return notice("written", "");
    const text = `${say("kept", { told: toldOf(draft), state: say(draft.state) })} ${after}`;
    return notice("written", text.trim(), "written");
  }

  // ---- one screen at a time

  function here() {
    const [name = "", bath = ""] = location.hash.slice(1).split("/");
    return one(`[data-view="${name}"]`) ? { name, bath } : { name: "room", bath: "" };
  }

  function show() {
    let { name, bath } = here();
    const view = /** @type {HTMLElement} */ (one(`[data-view="${name}"]`));
    const form = one("form[data-outbox]", view);
    if (form && !author) {
      wanted = location.hash;
      return void (location.hash = "who");
    }
    const card = bath ? one(`.bath[data-bath="${bath}"]`) : null;
    if (form instanceof HTMLFormElement) {
      if (bath && !card) return void (location.hash = "room");
      openForm(view, form, card);
    }
    for (const other of all("[data-view]")) other.hidden = other !== view;
    if (name === "room") void giveWay();
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

  /** @param {HTMLFormElement} form */
  function showParts(form) {
    for (const part of all("[data-shown]", form)) part.hidden = !coop.holds(form, part);
  }

  /** @param {HTMLFormElement} form @param {[string, string][]} fields */
  function fill(form, fields) {
    for (const [name, value] of fields) {
      const field = form.elements.namedItem(name);
      if (field && "value" in field) field.value = value;
    }
    form.dispatchEvent(new Event("input", { bubbles: true }));
  }

  /** @param {HTMLFormElement} form */
  function clear(form) {
    form.reset();
    delete form.dataset.correcting;
    form.dataset.id = coop.wire.newId();
    clearSlips(form);
  }

  /** @param {HTMLElement} view @param {HTMLFormElement} form @param {HTMLElement | null} card */
  function openForm(view, form, card) {
    clear(form);
    const studio = card?.dataset.studio ?? "";
    if (card) {
      form.dataset.bath = card.dataset.bath;
      put(one("[data-about]", view), card.dataset.name ?? "");
      const shown = all(".word", card).find((it) => it.parentElement?.hidden === false);
      one("[data-badge]", view)?.replaceChildren(...(shown ? [shown.cloneNode(true)] : []));
      fitDrawer(form, card);
    }
    fitStudio(view, studio);
    if (form.id === "sheets" && card) openSheets(view, form, card);
    const isRight = wanted.startsWith("right:") && records.find((it) => it.id === wanted.slice(6));
    wanted = "";
    if (isRight) correct(form, isRight);
    else fill(form, []);
  }

  /** @param {HTMLFormElement} form @param {HTMLElement} card */
  function fitDrawer(form, card) {
    const drawer = (card.dataset.drawer ?? "").split(" ");
    for (const tool of form.querySelectorAll("input")) {
      const isHere = tool.name !== "instrument" || drawer.includes(tool.value);
      tool.closest("label")?.toggleAttribute("hidden", !isHere);
      if (tool.name === "instrument") tool.disabled = !isHere;
      if (tool.name === "instrument" && tool.value === drawer[0]) tool.checked = true;
    }
  }

  /** My own last sheets here, if the studio's page cannot know them yet. @param {HTMLElement} card */
  function latest(card) {
    const mine = records.filter(
      (it) => it.kind === "sheets.through" && it.author === author && it.state !== "refused" && it.state !== "given-up",
    );
    const last = mine.filter((it) => it.bath === card.dataset.bath && it.written_ms > Date.parse(asOf)).at(-1);
    const counts = mine.reverse().map((it) => String(entryOf(it).body.sheet_count));
    return { last, counts: [...new Set(counts)].slice(0, COUNTS_KEPT) };
  }

  /** @param {HTMLElement} view @param {HTMLFormElement} form @param {HTMLElement} card */
  function openSheets(view, form, card) {
    const { last, counts } = latest(card);
    const isDue = one("[data-now]", card)?.hidden === true;
    const word = (isDue ? card.dataset.turnsWord : card.dataset.word) ?? "";
    const fields = last ? flat(entryOf(last).body) : JSON.parse(card.dataset.fields ?? "[]");
    const isStopped = /^(do-not-use|resting|finished)$/.test(word);
    const again = isStopped ? "" : (last?.told ?? card.dataset.again ?? "");
    put(one("[data-again]", view), again);
    for (const box of all("[data-again-box]", view)) box.hidden = !again;
    for (const box of all("[data-stopped]", view)) box.hidden = word !== "do-not-use";
    pad(form, counts);
    fill(form, [["word", word], ...withOwn(fields).filter(([name]) => name !== "sheet_count")]);
    const key = one("[data-again]", view);
    if (key) key.onclick = () => (fill(form, withOwn(fields)), form.requestSubmit());
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
          Object.assign(key.dataset, { fill: count, for: "sheets-count" });
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

  /** What was typed stands in the form again, under its own number. @param {HTMLFormElement} form @param {Draft} draft */
  function correct(form, draft) {
    const { entry, note } = JSON.parse(draft.text);
    form.dataset.correcting = draft.id;
    fill(form, [
      ...(form.id === "sheets" ? withOwn(flat(entry.body)) : flat(entry.body)),
      ["note", note?.text ?? ""],
      ["happened_at", entry.said?.typed ?? ""],
    ]);
  }

  /** @param {HTMLFormElement} form */
  function clearSlips(form) {
    for (const slip of all(".error", form)) slip.remove();
    for (const part of all(".wrong", form)) part.classList.remove("wrong");
    for (const field of all("[aria-invalid]", form)) field.removeAttribute("aria-invalid");
  }

  /** @param {HTMLFormElement} form @param {any} slip */
  function showSlip(form, slip) {
    const found = form.elements.namedItem(slip.field);
    const field = found instanceof RadioNodeList ? found[0] : found;
    const part = field instanceof HTMLElement ? field.closest(".field, .chips") : null;
    const line = made("slip");
    line.id = "slip";
    put(one("span", line), say(slip.code, { written: slip.written, ...slip.limits }));
    (part ?? form).classList.add("wrong");
    (part?.querySelector("label, legend") ?? form.firstElementChild)?.after(line);
    field instanceof HTMLElement && field.closest("details")?.setAttribute("open", "");
    if (!(field instanceof HTMLElement)) return void line.scrollIntoView({ block: "center" });
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", "slip");
    field.focus();
  }

  /** @param {HTMLFormElement} form */
  async function write(form) {
    clearSlips(form);
    notice("not-kept", "");
    try {
      const said = coop.body(form);
      if (Date.parse(said.happenedAt) > Date.now() + EARLY_MS) throw new coop.wire.Slip("happened_at", "in-the-future");
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

  /** @param {string} id */
  async function undo(id) {
    const draft = records.find((it) => it.id === id);
    const { outbox: kind, v } = made("undo").dataset;
    if (!draft) return;
    await outbox.put({
      kind, v: Number(v), author, bath: draft.bath,
      body: { target: id, outcome: "void", reason: "undone" },
      told: say("undone", { told: toldOf(draft) }),
    });
    sessionStorage.removeItem(WRITTEN);
  }

  /** @param {string} id */
  function putRight(id) {
    const draft = records.find((it) => it.id === id);
    const form = one(`form[data-outbox="${draft?.kind}"]`);
    if (!draft || !form) return;
    wanted = `right:${id}`;
    location.hash = draft.bath ? `${form.id}/${draft.bath}` : form.id;
  }

  /** @param {HTMLElement} key */
  async function act(key) {
    const { do: what, id = "", confirm: question } = key.dataset;
    if (!author) return void (location.hash = "who");
    if (question && !confirm(question)) return;
    if (what === "undo") await undo(id);
    else if (what === "right") putRight(id);
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

  // ---- who writes, on a shared tablet

  /** @param {Iterable<number>} bytes */
  function hex(bytes) {
    return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  /** @param {DOMStringMap} check @param {string} digits */
  async function isRight({ salt = "", rounds, hash }, digits) {
    const key = await crypto.subtle.importKey("raw", new TextEncoder().encode(digits), "PBKDF2", false, ["deriveBits"]);
    const bytes = new Uint8Array((salt.match(/../g) ?? []).map((pair) => parseInt(pair, 16)));
    const how = { name: "PBKDF2", hash: "SHA-256", salt: bytes, iterations: Number(rounds) };
    return hex(new Uint8Array(await crypto.subtle.deriveBits(how, key, 256))) === hash;
  }

  /** @param {HTMLElement} key */
  function pick(key) {
    const form = document.getElementById("digits");
    for (const other of all("[data-writer]")) other.setAttribute("aria-pressed", String(other === key));
    const initials = key.textContent ?? "";
    notice("digits", key.dataset.hash ? "" : say("no-digits", { initials }), "warning");
    if (form) form.hidden = !key.dataset.hash;
    const field = /** @type {HTMLInputElement | null} */ (document.getElementById("digits-typed"));
    if (field) field.value = "";
    if (key.dataset.hash) field?.focus();
  }

  /** @param {HTMLInputElement} field */
  async function tapIn(field) {
    const key = one('[data-writer][aria-pressed="true"]');
    if (!key) return;
    const name = `tries:${key.dataset.writer}`;
    const initials = key.textContent ?? "";
    const tries = ((await outbox.about(name)) ?? 0) + 1;
    if (tries > TRIES_MAX) return void notice("digits", say("locked", { initials }), "warning");
    await outbox.setAbout(name, tries); // before it is looked at: closing the page is a try too
    const digits = field.value;
    field.value = "";
    if (!(await isRight(key.dataset, digits))) {
      const text = say(tries < TRIES_MAX ? "wrong" : "locked", { initials });
      return void notice("digits", text, "warning");
    }
    await outbox.setAbout(name, 0);
    author = key.dataset.writer ?? "";
    touched_ms = Date.now();
    notice("digits", "");
    pickNobody();
    render();
    location.hash = wanted || "room";
  }

  function pickNobody() {
    for (const key of all("[data-writer]")) key.setAttribute("aria-pressed", "false");
    for (const form of all("#digits")) form.hidden = true;
  }

  /** Back to nobody: nothing of the one before stays on the screen. */
  function leave() {
    if (!isShared || !author) return;
    author = wanted = "";
    sessionStorage.removeItem(WRITTEN);
    pickNobody();
    for (const form of document.forms) if (form.dataset.outbox) clear(form);
    render();
    if (here().name !== "room") location.hash = "room";
  }

  function leaveInTime() {
    if (Date.now() - touched_ms > NOBODY_AFTER_MS) leave();
  }

  // ---- the studio

  /** @param {{status: number, sent: number}} outcome */
  async function heard({ status, sent }) {
    await renew();
    if (isAsked) notice("answer", status === 200 ? "" : say("no-answer"));
    isAsked = false;
    notice("not-known", status === 401 ? say("not-known") : "", "warning");
    if (status !== 200) return;
    for (const line of all("[data-heard]")) line.hidden = false;
    for (const key of all("[data-writer]")) await outbox.setAbout(`tries:${key.dataset.writer}`, 0);
    const { ok } = await coop.refresh();
    const isOld = (/** @type {number} */ then) => Math.abs(Date.now() - then) > FRESH_MS;
    const isDue = sent > 0 || (isOld(Date.parse(asOf)) && isOld(Number(sessionStorage.getItem(RENEWED))));
    if (!ok || !isDue || here().name !== "room" || (isShared && author)) return;
    sessionStorage.setItem(RENEWED, String(Date.now()));
    location.reload();
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
    sending = outbox.startSending({ pushUrl: push, release, after: heard });
  }

  // ---- hands

  document.addEventListener("click", (event) => {
    const key = event.target instanceof Element ? event.target.closest("button") : null;
    if (!key) return;
    if (key.dataset.do) void act(key);
    else if (key.dataset.writer) pick(key);
    else if (key.dataset.leave !== undefined) leave();
    else if (key.dataset.save !== undefined) void save();
    else if (key.dataset.send !== undefined) {
      isAsked = true;
      void sending?.now();
    }
  });

  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (!(form instanceof HTMLFormElement)) return;
    event.preventDefault();
    if (form.dataset.outbox) void write(form);
    else void tapIn(/** @type {HTMLInputElement} */ (document.getElementById("digits-typed")));
  });

  document.addEventListener("input", ({ target }) => {
    const form = target instanceof HTMLFormElement ? target : target instanceof HTMLElement && "form" in target ? target.form : null;
    if (form instanceof HTMLFormElement) showParts(form);
  });

  document.addEventListener("change", ({ target }) => {
    if (!(target instanceof HTMLInputElement)) return;
    if (target.type === "file") return void takeIn(target);
    const { fills, also } = target.dataset;
    const form = target.form;
    if (!fills || !form) return;
    fitStudio(form, JSON.parse(also ?? "{}").studio ?? "");
    const proposed = Object.entries(JSON.parse(fills)).filter(([name]) => {
      const field = form.elements.namedItem(name);
      return field instanceof HTMLInputElement && (!field.value || field.value === field.dataset.proposed);
    });
    for (const [name, value] of proposed) /** @type {any} */ (form.elements.namedItem(name)).dataset.proposed = value;
    fill(form, proposed);
  });

  for (const touch of ["pointerdown", "keydown"]) document.addEventListener(touch, () => (touched_ms = Date.now()));
  document.addEventListener("coop:outbox", () => void renew());
  document.addEventListener("visibilitychange", leaveInTime);
  addEventListener("pagehide", leave);
  addEventListener("hashchange", () => {
    show();
    scrollTo(0, 0);
    one("[data-view]:not([hidden]) h1")?.focus({ preventScroll: true });
  });
  setInterval(leaveInTime, 5_000);
  setInterval(render, MINUTE_MS);
  render();
  show();
  void start();
})();
