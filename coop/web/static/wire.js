// @ts-check
// What a form says, written as the studio writes it: the same bytes from a page and from a script.
// Gives `coop.wire`. It asks nothing, keeps nothing and reads no clock.

var coop = /** @type {any} */ (globalThis).coop ?? {};

(() => {
  "use strict";

  /** @typedef {{above: bigint, below: bigint}} Ratio a number, exact; `below` is over 0 */
  /** @typedef {{low?: number | string, high?: number | string}} Limits */
  /** @typedef {{salt: string, text: string, name: string}} Note */

  const NUMBER_MAX = 1_000_000;
  const SIGNED_LOW = -1000;
  const SIGNED_UNITS = new Set(["celsius", "fahrenheit"]);
  const TEXT_MAX = 80;
  const DIGITS_MAX = 12;
  const FRACTION_MAX = 100;
  const WIRE_DECIMALS = 6;
  const SALT_BYTES = 16;
  const MINUTE_MS = 60_000;
  const DAY_MS = 86_400_000;
  const LOCAL = /^\d{4}-\d\d-\d\d[T ]\d\d:\d\d(:\d\d)?$/; // without an offset of its own

  const BLANK = "[\\t-\\r\\x1c- \\x85\\xa0\\u1680\\u2000-\\u200a\\u2028\\u2029\\u202f\\u205f\\u3000]";
  const EDGES = new RegExp(`^${BLANK}+|${BLANK}+$`, "g");
  const DASHES = /[\u2010-\u2015\u2212\ufe58\ufe63\uff0d]/g;
  const SLASHES = /[\u2044\u2215\uff0f]/g;
  /** @type {Record<string, string>} */
  const SIGNS = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5",
    "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⅒": "1/10",
  };
  // A whole or decimal number, then perhaps a fraction; a blank or a tight hyphen keeps them apart.
  const NUMBER = new RegExp(
    `^(?<minus>-${BLANK}*)?(?:(?<figure>[0-9]+(?:[.,][0-9]+)*|\\.[0-9]+)` +
      `(?:(?:${BLANK}+|-)(?<apart>[0-9]+)${BLANK}*/${BLANK}*(?<under>[0-9]+)` +
      `|(?:${BLANK}*|-)(?<sign>[${Object.keys(SIGNS).join("")}]))?` +
      `|(?<above>[0-9]+)${BLANK}*/${BLANK}*(?<below>[0-9]+)` +
      `|(?<alone>[${Object.keys(SIGNS).join("")}]))$`,
    "u",
  );

  /** Says which field is not right, and why: `code` is one of the studio's own. */
  class Slip extends Error {
    /** @param {string} field @param {string} code @param {string} [written] what would be right */
    constructor(field, code, written = "") {
      super(`${field}: ${code}`);
      this.field = field;
      this.code = code;
      this.written = written;
    }
  }

  /** Without blanks around it, as the studio understands blanks. @param {string} text */
  function trimmed(text) {
    return text.replace(EDGES, "");
  }

  /** @param {bigint} above @param {bigint} below @returns {Ratio} in lowest terms */
  function ratio(above, below) {
    let [one, other] = [above < 0n ? -above : above, below];
    while (other) [one, other] = [other, one % other];
    return { above: above / one, below: below / one };
  }

  /** @param {Ratio} one @param {Ratio} other */
  function isLess(one, other) {
    return one.above * other.below < other.above * one.below;
  }

  /** @param {Ratio} one @param {Ratio} other */
  function sum(one, other) {
    return ratio(one.above * other.below + other.above * one.below, one.below * other.below);
  }

  /** @param {string} text digits with a point, or a fraction of whole numbers @returns {Ratio} */
  function exact(text) {
    const [above = "", below] = text.split("/");
    if (below !== undefined) return ratio(BigInt(above), BigInt(below));
    const [whole = "", decimals = ""] = above.split(".");
    return ratio(BigInt(whole + decimals), 10n ** BigInt(decimals.length));
  }

  /** The one written form of an exact number: 60, 0.5, 8/3. @param {Ratio} number */
  function written({ above, below }) {
    const million = 10n ** BigInt(WIRE_DECIMALS);
    if (below === 1n) return String(above);
    if (million % below) return `${above}/${below}`;
    const size = (above < 0n ? -above : above) * (million / below);
    const decimals = String(size % million).padStart(WIRE_DECIMALS, "0").replace(/0+$/, "");
    return `${above < 0n ? "-" : ""}${size / million}.${decimals}`;
  }

  function noNumber() {
    return new Slip("", "not-a-number");
  }

  /**
   * Whether 1.000,5 or 1.000.000 is grouped as it should be.
   * @param {string[]} parts @param {string[]} marks
   */
  function isGrouped(parts, marks) {
    const thousands = marks.at(-1) === marks[0] ? parts.slice(1) : parts.slice(1, -1);
    return (
      new Set(marks.slice(0, -1)).size === 1 &&
      /^[1-9][0-9]{0,2}$/.test(parts[0] ?? "") &&
      thousands.every((group) => group.length === 3)
    );
  }

  /**
   * A numeral with its comma or point; one that may be thousands or decimals is asked about.
   * @param {string} figure @param {(number: Ratio) => boolean} fits @returns {Ratio}
   */
  function readFigure(figure, fits) {
    const parts = figure.split(/[.,]/);
    const marks = [...figure].filter((sign) => sign === "." || sign === ",");
    const digits = parts.join("");
    if (digits.length > DIGITS_MAX) throw noNumber();
    if (marks.length > 1) {
      if (!isGrouped(parts, marks)) throw noNumber();
      if (marks.at(-1) === marks[0]) return exact(digits);
    }
    const last = marks.length ? parts.pop() : "";
    const decimal = exact(`${parts.join("") || "0"}.${last}`);
    if (marks.length !== 1 || last?.length !== 3 || !/^[1-9][0-9]{0,2}$/.test(parts[0] ?? "")) {
      return decimal;
    }
    const [found, ...more] = [decimal, exact(digits)].filter(fits);
    if (found && !more.length) return found;
    throw new Slip("", "thousands-or-decimals", `${written(decimal)} / ${digits}`);
  }

  /** @param {string} above @param {string} below @returns {Ratio} */
  function readFraction(above, below) {
    const isLong = Math.max(above.length, below.length) > DIGITS_MAX;
    if (isLong || Number(above) > FRACTION_MAX || Number(below) > FRACTION_MAX || !Number(below)) {
      throw noNumber();
    }
    return exact(`${above}/${below}`);
  }

  /** @param {Record<string, string | undefined>} found @param {(number: Ratio) => boolean} fits */
  function putTogether(found, fits) {
    const { figure, apart, under, above, below } = found;
    const sign = found.sign ?? found.alone;
    if (above && below) return readFraction(above, below);
    const rest = sign ? exact(SIGNS[sign] ?? "") : apart && under ? readFraction(apart, under) : null;
    if (figure === undefined) return rest ?? exact("0");
    if (rest && (!/^[0-9]+$/.test(figure) || rest.above >= rest.below)) throw noNumber();
    return rest ? sum(readFigure(figure, fits), rest) : readFigure(figure, fits);
  }

  /**
   * The written form of a number as people write it: 0,5 and 0.5, 8/3, 2 1/2, 2½.
   * Nothing is guessed: words, and what cannot be read for sure, are a Slip (its field is empty).
   * @param {string} typed @param {Limits} [limits]
   */
  function readNumber(typed, { low = 0, high = NUMBER_MAX } = {}) {
    const text = trimmed(typed.normalize("NFC").replace(DASHES, "-").replace(SLASHES, "/"));
    const found = NUMBER.exec(text)?.groups;
    if (!found || Math.max([...typed].length, [...typed.normalize("NFC")].length) > TEXT_MAX) {
      throw noNumber();
    }
    const [lowest, highest] = [exact(String(low)), exact(String(high))];
    const turn = (/** @type {Ratio} */ number) =>
      found.minus ? { above: -number.above, below: number.below } : number;
    const fits = (/** @type {Ratio} */ number) =>
      !isLess(turn(number), lowest) && !isLess(highest, turn(number));
    const size = putTogether(found, fits);
    if (!fits(size) || isLess(exact(String(NUMBER_MAX)), size)) throw noNumber();
    return written(turn(size));
  }

  /** @param {Record<string, any>} settled a quantity without its number @param {string} where */
  function addNumber(settled, where) {
    try {
      const low = SIGNED_UNITS.has(settled.unit) ? SIGNED_LOW : 0;
      settled.n = readNumber(settled.typed, { low });
    } catch (fault) {
      throw fault instanceof Slip ? new Slip(`${where}typed`, fault.code, fault.written) : fault;
    }
  }

  /** @param {unknown} part */
  function isEmpty(part) {
    return typeof part === "object" && part !== null && Object.keys(part).length === 0;
  }

  /** @param {any} tree @param {string} where @returns {any} */
  function settle(tree, where) {
    if (typeof tree !== "object") return tree;
    /** @type {Record<string, any>} */
    const settled = Object.create(null);
    for (const [key, part] of Object.entries(tree)) {
      const made = settle(part, `${where}${key}.`);
      if (!isEmpty(made)) settled[key] = made;
    }
    const keys = Object.keys(settled);
    if (keys.length && keys.every((key) => /^[0-9]+$/.test(key))) {
      return keys.sort((one, other) => Number(one) - Number(other)).map((key) => settled[key]);
    }
    const says = keys.filter((key) => key !== "unit" && key !== "heap");
    if ("unit" in settled && !says.length) return {}; // from a select that was left as it stood
    if ("unit" in settled && "typed" in settled && !("n" in settled)) addNumber(settled, where);
    return settled;
  }

  /**
   * The body that a form's fields make: a dot in a name nests, whole numbers in it make a list,
   * empty fields are left out, a quantity gets its exact number from what was typed.
   * @param {Iterable<[string, string]>} pairs @returns {Record<string, any>}
   */
  function nest(pairs) {
    const tree = Object.create(null);
    for (const [name, value] of pairs) {
      const said = trimmed(value);
      if (!said) continue;
      const path = name.split(".");
      const last = path.pop() ?? "";
      let place = tree;
      for (const part of path) place = place[part] ??= Object.create(null);
      place[last] = said;
    }
    const body = settle(tree, "");
    return Array.isArray(body) ? {} : body;
  }

  /** @param {Iterable<number>} bytes */
  function hex(bytes) {
    return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  }

  /**
   * A UUIDv7 (RFC 9562, 5.7) of a Unix time in ms and ten random bytes.
   * @param {number} nowMs @param {Uint8Array} random
   */
  function uuid7(nowMs, random) {
    const digits = nowMs.toString(16).padStart(12, "0") + hex(random).padStart(20, "0");
    const variant = ((parseInt(digits.charAt(16), 16) & 3) | 8).toString(16);
    const text = `${digits.slice(0, 12)}7${digits.slice(13, 16)}${variant}${digits.slice(17)}`;
    return text.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  }

  /** A new id of now. */
  function newId() {
    return uuid7(Date.now(), crypto.getRandomValues(new Uint8Array(10)));
  }

  /** How far a zone is from UTC at a moment [ms]. @param {number} time_ms @param {string} zone */
  function offset_ms(time_ms, zone) {
    const parts = new Intl.DateTimeFormat("en", {
      timeZone: zone, hourCycle: "h23", year: "numeric", month: "numeric", day: "numeric",
      hour: "numeric", minute: "numeric", second: "numeric",
    }).formatToParts(time_ms);
    const [year = 0, month = 1, day, hour, minute, second] = ["year", "month", "day", "hour", "minute", "second"]
      .map((type) => Number(parts.find((one) => one.type === type)?.value));
    return Date.UTC(year, month - 1, day, hour, minute, second) - Math.floor(time_ms / 1000) * 1000;
  }

  /**
   * The moment of a time on a zone's clocks, and the offset then. An hour that is there twice means
   * the first, one that is left out is told by the clock before: so the studio reads it.
   * @param {number} typed_ms the time as if it were UTC @param {string} zone
   */
  function inZone(typed_ms, zone) {
    const before_ms = offset_ms(typed_ms - DAY_MS, zone);
    const found = [before_ms, offset_ms(typed_ms + DAY_MS, zone)].find(
      (it) => offset_ms(typed_ms - it, zone) === it,
    );
    const offset = found ?? before_ms;
    return moment(new Date(typed_ms - offset), offset / MINUTE_MS);
  }

  /**
   * A time as RFC 3339 writes it, with the offset of this place.
   * @param {Date} date @param {number} [minutes] the offset
   */
  function moment(date, minutes = -date.getTimezoneOffset()) {
    const there = new Date(date.getTime() + minutes * MINUTE_MS).toISOString().slice(0, -1);
    const two = (/** @type {number} */ number) => String(Math.floor(number)).padStart(2, "0");
    const size = Math.abs(minutes);
    return `${there}${minutes < 0 ? "-" : "+"}${two(size / 60)}:${two(size % 60)}`;
  }

  /** The name of a note: SHA-256 of its salt and text. @param {string} salt hex @param {string} text */
  async function noteName(salt, text) {
    const salted = (salt.match(/../g) ?? []).map((pair) => parseInt(pair, 16));
    const data = new Uint8Array([...salted, ...new TextEncoder().encode(text)]);
    return hex(new Uint8Array(await crypto.subtle.digest("SHA-256", data)));
  }

  function newSalt() {
    return hex(crypto.getRandomValues(new Uint8Array(SALT_BYTES)));
  }

  /** A free note with its salt and name; null when nothing is written. @param {string} typed */
  async function makeNote(typed, salt = newSalt()) {
    const text = trimmed(typed);
    if (!text) return null;
    return { salt, text, name: await noteName(salt, text) };
  }

  /**
   * @param {string | undefined} typed of a datetime-local field, by the clocks of the studio's zone
   * @param {Date} now @param {string} [zone] this phone's own if it is not known
   */
  function happened(typed, now, zone) {
    const said = trimmed(typed ?? "");
    if (!said) return { happened_at: moment(now) };
    const isLocal = zone && LOCAL.test(said);
    const time_ms = Date.parse(isLocal ? `${said}Z` : said);
    if (Number.isNaN(time_ms)) throw new Slip("happened_at", "not-a-time");
    const happened_at = isLocal ? inZone(time_ms, zone) : moment(new Date(time_ms));
    return { happened_at, said: { typed: said, precision: "minute" } };
  }

  /**
   * The text that is kept on the phone and sent: what was said, and by which form.
   * @param {{ledger: string, device: string, id: string, kind: string, v: number, author: string,
   *   body: Record<string, any>, seq: number, now: Date, happenedAt?: string, zone?: string,
   *   note?: Note | null}} said
   */
  function draft({ ledger, device, id, kind, v, body, author, seq, now, happenedAt, zone, note }) {
    const entry = {
      ledger, id, kind, v,
      body: note ? { ...body, note: note.name } : body,
      author, device, device_seq: seq,
      ...happened(happenedAt, now, zone),
      written_at: moment(now),
    };
    return JSON.stringify(note ? { v: 1, entry, note: { salt: note.salt, text: note.text } } : { v: 1, entry });
  }

  coop.wire = { Slip, nest, readNumber, uuid7, newId, newSalt, moment, noteName, makeNote, draft };
})();
