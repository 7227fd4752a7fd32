// @ts-check
// What forms do beyond sending (parts.html); they work without.

const LIVE_DELAY_MS = 250;

/** @param {string} selector @param {ParentNode} [within] @returns {HTMLElement[]} */
function all(selector, within = document) {
  return [...within.querySelectorAll(selector)].filter((found) => found instanceof HTMLElement);
}

/** @param {HTMLElement} key @returns {HTMLInputElement | null} */
function fieldOf(key) {
  const field = document.getElementById(key.dataset.for ?? "");
  return field instanceof HTMLInputElement ? field : null;
}

/** @param {HTMLInputElement} field @param {string} value */
function put(field, value) {
  field.value = value;
  field.dispatchEvent(new Event("input", { bubbles: true }));
}

/** @param {HTMLElement} key */
function press(key) {
  const field = fieldOf(key);
  if (!field) return;
  if (key.dataset.fill !== undefined) return put(field, key.dataset.fill);
  const now = Number(field.value.replace(",", "."));
  if (Number.isFinite(now)) put(field, String(Math.max(0, now + Number(key.dataset.step))));
}

/** @param {HTMLElement} form */
function showPressed(form) {
  for (const key of all("[data-fill]", form)) {
    key.setAttribute("aria-pressed", String(fieldOf(key)?.value.trim() === key.dataset.fill));
  }
}

/** The words seen for what a field holds. @param {HTMLFormElement} form @param {string} name */
function wordsOf(form, name) {
  const words = [];
  for (const field of form.elements) {
    if (!("name" in field) || field.name !== name) continue;
    if (field instanceof HTMLInputElement && /^(radio|checkbox)$/.test(field.type)) {
      if (field.checked) words.push(field.labels?.[0]?.textContent?.trim() ?? field.value);
    } else if (field instanceof HTMLSelectElement) {
      words.push(...[...field.selectedOptions].filter((o) => o.value).map((o) => o.text.trim()));
    } else if ("value" in field) words.push(String(field.value).trim());
  }
  return words.filter(Boolean).join(", ");
}

/** @param {HTMLFormElement} form */
function readBack(form) {
  for (const line of all("[data-read-back]", form)) {
    let whole = true;
    line.textContent = (line.dataset.readBack ?? "").replace(/( ?)\{([\w.]+)\}/g, (_, blank, name) => {
      const [, of] = name.split(/(.+\.)unit$/);
      if (of && /\p{L}/u.test(wordsOf(form, of + "typed"))) return "";
      const words = wordsOf(form, name);
      whole &&= words !== "";
      return blank + words;
    });
    line.hidden = !whole;
  }
}

/** Parts that go with one answer are shown with it. @param {HTMLFormElement} form */
function showBeside(form) {
  const said = new FormData(form);
  for (const part of all("[data-beside]", form)) {
    const [name = "", values = ""] = (part.dataset.beside ?? "").split("=");
    part.hidden = !values.split(" ").includes(String(said.get(name) ?? ""));
  }
}

/** What is typed is meant: its choice is picked. @param {EventTarget | null} field */
function pickFor(field) {
  if (!(field instanceof HTMLInputElement) || !field.value.trim()) return;
  const choice = document.getElementById(field.dataset.selects ?? "");
  if (choice instanceof HTMLInputElement) choice.checked = true;
}

/** @param {HTMLElement} part @param {unknown} answer */
function fill(part, answer) {
  const texts = (Array.isArray(answer) ? answer : [answer ?? ""]).map(String).filter(Boolean);
  if (part instanceof HTMLInputElement) {
    part.value = texts.join(" ");
    return;
  }
  if (part instanceof HTMLUListElement || part instanceof HTMLOListElement) {
    part.replaceChildren(
      ...texts.map((text) => {
        const item = document.createElement("li");
        item.textContent = text;
        return item;
      }),
    );
  } else {
    part.textContent = texts.join(" ");
  }
  part.hidden = texts.length === 0;
}

/** @param {HTMLFormElement} form @param {Record<string, unknown>} answer @param {boolean} failed */
function showAnswer(form, answer, failed) {
  for (const part of all("[data-live-part]", form)) {
    fill(part, failed ? "" : answer[part.dataset.livePart ?? ""]);
  }
  for (const asked of all("[data-live-shown]", form)) {
    if (!failed) asked.hidden = !answer[asked.dataset.liveShown ?? ""];
  }
  for (const note of all("[data-live-failed]", form)) note.hidden = !failed;
  for (const box of all("[data-live-box]", form)) {
    box.hidden = [...box.children].every((child) => child instanceof HTMLElement && child.hidden);
  }
  if (!failed) form.dispatchEvent(new CustomEvent("answered", { bubbles: true, detail: answer }));
}

/** @param {HTMLFormElement} form @param {AbortSignal} signal */
async function ask(form, signal) {
  const url = new URL(form.dataset.live ?? "", location.href);
  const typed = new FormData(form);
  /** @type {RequestInit} */
  const options = { signal, headers: { Accept: "application/json" }, credentials: "same-origin" };
  if (form.dataset.liveMethod === "get") {
    for (const [name, value] of typed) {
      if (typeof value === "string" && name !== "csrf_token") url.searchParams.append(name, value);
    }
  } else {
    options.method = "POST";
    options.body = typed;
  }
  const response = await fetch(url, options);
  if (!response.ok) throw new Error(String(response.status));
  return response.json();
}

/** @param {HTMLFormElement} form */
function makeLive(form) {
  let timer = 0;
  let running = new AbortController();
  const run = async () => {
    running.abort();
    const mine = (running = new AbortController());
    try {
      showAnswer(form, await ask(form, mine.signal), false);
    } catch {
      if (!mine.signal.aborted) showAnswer(form, {}, true);
    }
  };
  form.addEventListener("input", () => {
    clearTimeout(timer);
    timer = setTimeout(run, LIVE_DELAY_MS);
  });
}

/** @param {HTMLFormElement} form */
function makeForm(form) {
  const show = () => {
    showPressed(form);
    showBeside(form);
    readBack(form);
  };
  form.addEventListener("input", (event) => {
    pickFor(event.target);
    show();
  });
  form.addEventListener("reset", () => setTimeout(show));
  form.addEventListener("submit", (event) => {
    const button = event instanceof SubmitEvent ? event.submitter : null;
    const question = button?.dataset.confirm ?? form.dataset.confirm;
    if (question && !confirm(question)) event.preventDefault();
  });
  if (form.dataset.live !== undefined) makeLive(form);
  show();
}

async function stayAwake() {
  if (document.visibilityState !== "visible" || !("wakeLock" in navigator)) return;
  await navigator.wakeLock.request("screen").catch(() => undefined);
}

for (const hidden of all("[data-script]")) hidden.hidden = false;
for (const form of document.forms) makeForm(form);
document.addEventListener("click", (event) => {
  const key = event.target instanceof Element ? event.target.closest("[data-for]") : null;
  if (key instanceof HTMLButtonElement) press(key);
});
if (document.querySelector("[data-awake]")) {
  document.addEventListener("visibilitychange", stayAwake);
  stayAwake();
}
