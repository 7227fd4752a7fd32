// @ts-check
// Beside a dose: what it may mean is picked while one types, and what was filled in by another
// plan is put away. Declared in data attributes (see parts.html); form.js fetches the answers.

/** @param {string} selector @returns {HTMLElement[]} */
const found = (selector) =>
  [...document.querySelectorAll(selector)].filter((one) => one instanceof HTMLElement);

/** What was picked stays, where it is still offered. @param {HTMLElement} box @param {unknown} answer */
function offer(box, answer) {
  const row = box.querySelector(".chip-row");
  const pattern = box.querySelector("template")?.content.firstElementChild;
  const choices = Array.isArray(answer) ? answer : [];
  const before = [...box.querySelectorAll("input")];
  box.hidden = choices.length === 0;
  const same = before.map((one) => one.value).join() === choices.map(({ key }) => key).join();
  if (!row || !pattern || same) return;
  row.replaceChildren(
    ...choices.map(({ key, text }) => {
      const chip = /** @type {Element} */ (pattern.cloneNode(true));
      const input = /** @type {HTMLInputElement} */ (chip.querySelector("input"));
      input.value = key;
      input.checked = before.some((one) => one.checked && one.value === key);
      /** @type {HTMLElement} */ (chip.querySelector("span")).textContent = text;
      return chip;
    }),
  );
}

/** @param {unknown} worked */
function putAway(worked) {
  if (typeof worked !== "string") return;
  for (const part of found("[data-worked]")) {
    part.hidden = part.dataset.worked !== worked;
    for (const told of found("[data-worked-anew]")) told.hidden = !part.hidden;
  }
}

document.addEventListener("answered", (event) => {
  if (!(event instanceof CustomEvent) || !(event.target instanceof HTMLElement)) return;
  for (const box of found("[data-live-choices]")) {
    if (event.target.contains(box)) offer(box, event.detail[box.dataset.liveChoices ?? ""]);
  }
  putAway(event.detail.worked);
});
