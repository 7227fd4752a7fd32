// @ts-check
// From a form on the screen to what it says: the same body that the studio makes of it when it is
// posted. Gives `coop.body(form)` and `coop.holds(form, part)`. Needs wire.js before it.
// What the data attributes mean is said in templates/offline_parts.html.

var coop = /** @type {any} */ (globalThis).coop ?? {};

(() => {
  "use strict";

  /** @typedef {HTMLInputElement | HTMLSelectElement | HTMLTextAreaElement} Field */
  /** @typedef {{kind: string, v: number, bath: string, body: Record<string, any>,
   *   happenedAt: string, note: string, told: string}} Said */

  const BESIDE = new Set(["entry_id", "csrf_token", "happened_at", "note", "note_salt", "warned"]);
  const LOWEST = -1000; // of what can be typed into any form: a temperature

  /** @param {string | undefined} text */
  function listed(text) {
    return (text ?? "").split(" ").filter(Boolean);
  }

  /** The fields that would be posted. @param {HTMLFormElement} form @returns {Field[]} */
  function fieldsOf(form) {
    return /** @type {Field[]} */ ([...form.elements].filter(
      (one) =>
        (one instanceof HTMLInputElement ||
          one instanceof HTMLSelectElement ||
          one instanceof HTMLTextAreaElement) &&
        one.name !== "" &&
        !one.matches(":disabled") &&
        !(one instanceof HTMLInputElement && /^(radio|checkbox)$/.test(one.type) && !one.checked),
    ));
  }

  /** @param {Field} field */
  function valueOf(field) {
    const empty = field.closest("[data-nothing]");
    const value = field.value.trim();
    return empty instanceof HTMLElement && empty.dataset.nothing === value ? "" : value;
  }

  /** What stands in a field, whether it says something or not. @param {HTMLFormElement} form @param {string} name */
  function typedIn(form, name) {
    return fieldsOf(form).find((one) => one.name === name)?.value.trim() ?? "";
  }

  /** @param {HTMLFormElement} form @param {string} rule "name=a b" */
  function isOneOf(form, rule) {
    const [name = "", values] = rule.split("=");
    return listed(values).includes(typedIn(form, name));
  }

  /** Whether a part's own rules hold now. @param {HTMLFormElement} form @param {HTMLElement} part */
  function holds(form, part) {
    const { with: needed, without, if: rule, unless } = part.dataset;
    return (
      listed(needed).every((name) => typedIn(form, name)) &&
      !listed(without).some((name) => typedIn(form, name)) &&
      (rule === undefined || isOneOf(form, rule)) &&
      (unless === undefined || !isOneOf(form, unless))
    );
  }

  /** @param {HTMLFormElement} form @param {Element} field */
  function counts(form, field) {
    /** @type {Element | null} */
    let part = field;
    while (part instanceof HTMLElement && part !== form) {
      if (!holds(form, part)) return false;
      part = part.parentElement;
    }
    return true;
  }

  /** @param {string} field @param {string} code @param {Record<string, string>} [limits] */
  function slip(field, code, limits = {}) {
    return Object.assign(new coop.wire.Slip(field, code), { limits });
  }

  /** The size of a written number, for its limits only. @param {string} written */
  function sizeOf(written) {
    const [above, below = "1"] = written.split("/");
    return Number(above) / Number(below);
  }

  /** @param {Field} field @param {{low?: number | string, high?: number | string}} limits */
  function read(field, limits) {
    try {
      return coop.wire.readNumber(field.value, limits);
    } catch (fault) {
      if (!(fault instanceof coop.wire.Slip)) throw fault;
      const { code, written } = /** @type {any} */ (fault);
      throw slip(field.name, code, { written });
    }
  }

  /** @param {Field} field @param {string} written */
  function keepWithin(field, written) {
    const { low = "-Infinity", high = "Infinity", whole } = field.dataset;
    const size = sizeOf(written);
    if (whole !== undefined && !Number.isInteger(size)) {
      throw slip(field.name, "not-a-whole-number", { low, high });
    }
    if (size < Number(low) || size > Number(high)) {
      throw slip(field.name, whole !== undefined ? "not-a-whole-number" : "out-of-range", { low, high });
    }
  }

  /** A quantity within what its unit allows. @param {HTMLFormElement} form @param {Field} unit */
  function keepInReach(form, unit) {
    if (!(unit instanceof HTMLSelectElement) || !unit.name.endsWith(".unit")) return;
    const typed = fieldsOf(form).find((one) => one.name === unit.name.replace(/unit$/, "typed"));
    const chosen = unit.selectedOptions[0];
    const { low, high } = chosen?.dataset ?? {};
    if (!typed?.value.trim() || !chosen || low === undefined || high === undefined) return;
    const size = sizeOf(read(typed, { low: LOWEST }));
    if (size > Number(low) && size <= Number(high)) return;
    throw slip(typed.name, "out-of-reach", { low, high, unit: chosen.text.trim() });
  }

  /** @param {HTMLFormElement} form @param {Field} field @returns {[string, string]} */
  function pair(form, field) {
    const value = valueOf(field);
    if (field.required && !field.value.trim()) throw slip(field.name, "missing"); // "own" says nothing, but is an answer
    if ("maxLength" in field && field.maxLength >= 0 && [...value].length > field.maxLength) {
      throw slip(field.name, "too-long", { longest: String(field.maxLength) });
    }
    keepInReach(form, field);
    if (field.dataset.number === undefined || !value) return [field.name, value];
    const [low, high] = listed(field.dataset.number);
    const written = read(field, low && high ? { low, high } : {});
    keepWithin(field, written);
    return [field.name, written];
  }

  /** @param {Field} field @returns {[string, string][]} */
  function also(field) {
    const chosen = field instanceof HTMLSelectElement ? field.selectedOptions[0] : field;
    return Object.entries(JSON.parse(chosen?.dataset.also ?? "{}"));
  }

  /** A choice nobody made is not among the fields that say something. @param {HTMLFormElement} form */
  function checkNeeded(form) {
    for (const one of form.elements) {
      if (!(one instanceof HTMLInputElement) || one.type !== "radio" || !one.required) continue;
      if (!typedIn(form, one.name) && counts(form, one)) throw slip(one.name, "missing");
    }
    const some = listed(form.dataset.oneOf);
    if (some[0] && !some.some((name) => typedIn(form, name))) throw slip(some[0], "missing");
  }

  /** The lines read back that are whole. @param {HTMLFormElement} form */
  function toldBy(form) {
    const lines = [...form.querySelectorAll("[data-read-back]")];
    const shown = lines.filter((one) => one instanceof HTMLElement && !one.hidden);
    return shown.map((one) => one.textContent?.trim() ?? "").filter(Boolean).join(", ");
  }

  /**
   * What a form says; a `coop.wire.Slip` names the first field that is not right, with the limits
   * its sentence needs.
   * @param {HTMLFormElement} form @returns {Said}
   */
  function body(form) {
    const fields = fieldsOf(form).filter((one) => counts(form, one));
    const said = fields.filter((one) => !BESIDE.has(one.name) && one.dataset.beside === undefined);
    const pairs = said.flatMap((one) => [pair(form, one), ...also(one)]);
    checkNeeded(form);
    const bath = form.dataset.bath ?? "";
    return {
      kind: form.dataset.outbox ?? "",
      v: Number(form.dataset.v),
      bath,
      body: { ...coop.wire.nest(pairs), ...(bath ? { [form.dataset.names ?? "bath"]: bath } : {}) },
      happenedAt: typedIn(form, "happened_at"),
      note: typedIn(form, "note"),
      told: toldBy(form),
    };
  }

  Object.assign(coop, { body, holds });
})();
