// @ts-check
/// <reference lib="webworker" />
// Opens the page for the stairs without signal: keeps one document, /device/offline, and the files
// it names, and nothing else ever. What was written is kept and sent by the page, not here; a form
// that got no answer, and of which no copy is on this phone, is answered with a page to send it again.

(() => {
  "use strict";

  const worker = /** @type {ServiceWorkerGlobalScope} */ (/** @type {unknown} */ (self));
  const CACHE = "coop-offline";
  const DOCUMENT = "/device/offline";
  const NAMED = "/device/offline-files"; // two lists: the files of the document, of the one before
  const FILE = /["'(\s,](\/(?:static|strip)\/[^"'()<>\s,]+)/g;
  const FILES = /^\/(static|strip)\//;
  const TAG = "coop-outbox";
  const UNHEARD = /<template data-unheard="([^"]*)" data-title="([^"]*)">([^]*?)<\/template>/g;
  const DOCUMENT_WAIT_MS = 3_000;
  const PAGE_WAIT_MS = 10_000;

  /** @param {string} address */
  async function kept(address) {
    return (await caches.open(CACHE)).match(address, { ignoreVary: true });
  }

  /** Fetch what is not here yet; nothing is put before all of it came. @param {string[]} files */
  async function gather(files) {
    const there = await Promise.all(files.map(kept));
    const missing = files.filter((_, place) => !there[place]);
    const answers = await Promise.all(
      missing.map(async (file) => ({ file, answer: await fetch(file, { credentials: "same-origin" }) })),
    );
    const bad = answers.find(({ answer }) => !answer.ok);
    if (bad) return bad.answer.status;
    const cache = await caches.open(CACHE);
    await Promise.all(answers.map(({ file, answer }) => cache.put(file, answer)));
    return 0;
  }

  /** Let go of all that neither the document nor the one before names. @param {string[][]} lists */
  async function tidy(lists) {
    const cache = await caches.open(CACHE);
    const wanted = new Set([DOCUMENT, NAMED, ...lists.flat()]);
    for (const request of await cache.keys()) {
      const { pathname, search } = new URL(request.url);
      if (!wanted.has(pathname + search)) await cache.delete(request);
    }
  }

  /** Keep a document, once all it names is here. @param {Response} answer */
  async function keep(answer) {
    const { status } = answer;
    const isPage = answer.headers.get("Content-Type")?.startsWith("text/html");
    if (!answer.ok || answer.redirected || !isPage) return { ok: false, status };
    const text = await answer.clone().text();
    const files = [...new Set([...text.matchAll(FILE)].map((found) => found[1] ?? ""))];
    const failed = await gather(files);
    if (failed) return { ok: false, status: failed };
    const before = (await (await kept(NAMED))?.json()) ?? [];
    const isSame = String(before[0]) === String(files);
    const lists = isSame ? before : [files, ...before.slice(0, 1)];
    const cache = await caches.open(CACHE);
    await cache.put(NAMED, new Response(JSON.stringify(lists)));
    await cache.put(DOCUMENT, answer);
    await tidy(lists);
    return { ok: true, status };
  }

  /** @type {Promise<unknown>} */
  let keeping = Promise.resolve();

  /** One after the other, so that the last one asked for stays. @param {() => Promise<Response>} ask */
  function keepInTurn(ask) {
    const mine = keeping.then(async () => {
      try {
        return await keep(await ask());
      } catch {
        return { ok: false, status: 0 }; // no signal, or no room: what was kept stays
      }
    });
    keeping = mine;
    return mine;
  }

  function renew() {
    return keepInTurn(() =>
      fetch(DOCUMENT, { credentials: "same-origin", cache: "no-store", redirect: "manual" }),
    );
  }

  /** Reading is given up after a while; writing never, it may have arrived. @param {Request} request */
  function ask(request) {
    const isDocument = new URL(request.url).pathname === DOCUMENT;
    /** @type {Promise<never>} */
    const tooLate = new Promise((_, fail) => {
      if (request.method === "GET") setTimeout(fail, isDocument ? DOCUMENT_WAIT_MS : PAGE_WAIT_MS);
    });
    return Promise.race([fetch(request), tooLate]);
  }

  /** Whether a form is on this phone, as a copy or a line by now. @param {string} id @returns {Promise<boolean>} */
  function isHere(id) {
    return new Promise((done) => {
      const asked = indexedDB.open("coop");
      asked.addEventListener("upgradeneeded", () => asked.transaction?.abort()); // make no store
      asked.addEventListener("error", () => done(false));
      asked.addEventListener("success", () => {
        const whole = asked.result.transaction(["about", "drafts"]);
        const found = [whole.objectStore("about").count(`copy:${id}`), whole.objectStore("drafts").count(id)];
        whole.addEventListener("complete", () => done(found.some((one) => one.result > 0)));
        whole.addEventListener("abort", () => done(false));
        asked.result.close();
      });
    });
  }

  /** @param {string} text */
  function quoted(text) {
    return text.replace(/[&"<]/g, (sign) => `&#${sign.charCodeAt(0)};`);
  }

  /** What was typed stands in it, to be sent again. @param {FormData} fields @param {string} path */
  async function notArrived(fields, path) {
    const whole = await kept(DOCUMENT);
    if (!whole) return Response.error();
    const text = await whole.text();
    const sorts = new Map([...text.matchAll(UNHEARD)].map(([, of, ...said]) => [of, said]));
    const [title = "", said = ""] = sorts.get(path) ?? sorts.get("") ?? [];
    const head = text
      .slice(0, text.indexOf("<main"))
      .replace(/<(script)[^>]*><\/\1>/g, "")
      .replace(/<title>[^<]*/, () => `<title>${title}`);
    let inputs = "";
    fields.forEach((value, name) => {
      if (typeof value !== "string") return; // a file is to be chosen again
      inputs += `<input type="hidden" name="${quoted(name)}" value="${quoted(value)}">`;
    });
    const main = said.replace("</form>", () => `${inputs}</form>`);
    const headers = new Headers({ "Content-Type": "text/html; charset=utf-8", "Cache-Control": "no-store" });
    headers.set("Content-Security-Policy", whole.headers.get("Content-Security-Policy") ?? "");
    return new Response(`${head}<main id="main" class="frame stack">${main}</main>`, { status: 503, headers });
  }

  /** A form that got no answer. @param {FormData} fields @param {string} path */
  async function unheard(fields, path) {
    const id = String(fields.get("entry_id") ?? "");
    if (!id || !(await isHere(id))) return notArrived(fields, path);
    return Response.redirect(`${DOCUMENT}#kept/${encodeURIComponent(id)}`, 303);
  }

  /** A page as the studio answers it, else the document kept. @param {FetchEvent} event */
  async function page(event) {
    const { request } = event;
    const { pathname, search } = new URL(request.url);
    const isDocument = request.method === "GET" && pathname + search === DOCUMENT;
    const sent = request.method === "GET" ? null : request.clone();
    try {
      const answer = await ask(request);
      if (!isDocument || answer.type === "opaqueredirect") return answer;
      if (!answer.ok) return (await kept(DOCUMENT)) ?? answer;
      const copy = answer.clone();
      event.waitUntil(keepInTurn(async () => copy));
      return answer;
    } catch {
      if (sent) return unheard(await sent.formData().catch(() => new FormData()), pathname);
      return (await kept(DOCUMENT)) ?? Response.error();
    }
  }

  /** A file never changes under its address. @param {Request} request @param {URL} url */
  async function file(request, { pathname, search }) {
    return (await kept(pathname + search)) ?? fetch(request);
  }

  async function wake() {
    for (const client of await worker.clients.matchAll()) client.postMessage({ type: "wake" });
  }

  worker.addEventListener("fetch", (event) => {
    const url = new URL(event.request.url);
    if (url.origin !== worker.location.origin) return;
    if (event.request.mode === "navigate") event.respondWith(page(event));
    else if (event.request.method === "GET" && FILES.test(url.pathname)) {
      event.respondWith(file(event.request, url));
    }
  });

  worker.addEventListener("activate", (event) => event.waitUntil(worker.clients.claim()));

  worker.addEventListener("message", (event) => {
    if (event.data?.type === "take-over") event.waitUntil(worker.skipWaiting());
    if (event.data?.type === "refresh") {
      event.waitUntil(renew().then((said) => event.ports[0]?.postMessage(said)));
    }
  });

  worker.addEventListener("sync", (/** @type {any} */ event) => {
    if (event.tag === TAG) event.waitUntil(wake());
  });
})();
