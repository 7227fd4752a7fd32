// @ts-check
// A form of many lines, each folded: what a line says stands beside its name, and how many say
// anything below them all; a button closes one and opens the next. Declared in data attributes;
// without it the lines fold all the same.

/** A tub, a unit, or what was proposed says nothing alone. */
const SAYS_NOTHING = /tare|unit|-(what|stack|twin|salt\.0\.lot)$/;

/** @param {Element} field */
function wordsIn(field) {
  if (field instanceof HTMLSelectElement) {
    return field.value ? field.selectedOptions[0]?.text ?? "" : "";
  }
  if (!(field instanceof HTMLInputElement)) return "";
  if (!/^(checkbox|radio)$/.test(field.type)) return field.value.trim();
  return field.checked && field.value ? field.labels?.[0]?.textContent?.trim() ?? "" : "";
}

/** @param {HTMLElement} line */
function saidIn(line) {
  return [...line.querySelectorAll("input:not([type=hidden]), select")]
    .filter((field) => !SAYS_NOTHING.test(field.getAttribute("name") ?? ""))
    .map(wordsIn)
    .filter(Boolean)
    .join(", ");
}

/** @param {HTMLElement} part @param {string} text */
function sayIn(part, text) {
  part.textContent = text;
  part.hidden = text === "";
}

/** @param {HTMLElement} sum */
function sumUp(sum) {
  const form = sum.closest("form");
  if (!form) return;
  const show = () => {
    let filled = 0;
    /** @type {NodeListOf<HTMLElement>} */
    const lines = form.querySelectorAll("[data-line]");
    for (const line of lines) {
      const said = saidIn(line);
      const part = line.querySelector("[data-line-said]");
      if (part instanceof HTMLElement) sayIn(part, said);
      filled += said ? 1 : 0;
    }
    const text = (sum.dataset.lines ?? "").replace("{filled}", String(filled));
    sayIn(sum, text.replace("{all}", String(lines.length)));
  };
  form.addEventListener("input", show);
  show();
}

for (const sum of document.querySelectorAll("[data-lines]")) {
  if (sum instanceof HTMLElement) sumUp(sum);
}

/** @param {Event} event */
function goOn(event) {
  const key = event.target instanceof Element ? event.target.closest("[data-next-line]") : null;
  const line = key?.closest("[data-line]");
  const next = line?.nextElementSibling;
  if (!(line instanceof HTMLDetailsElement && next instanceof HTMLDetailsElement)) return;
  line.open = false;
  next.open = true;
  next.querySelector("summary")?.focus();
  next.scrollIntoView({ block: "start" });
}

document.addEventListener("click", goOn);
