// The service worker: keeps one whole release of the site on the reader's device and serves every page from it.
// Bundled by release.mjs. A release is whole or absent: each file is checked against its digest when it is fetched, one
// failure fails the installation, and nothing is ever taken from the network in place of a file of the release.
import { PrecacheController, PrecacheRoute } from "workbox-precaching";
import { registerRoute, setCatchHandler, setDefaultHandler } from "workbox-routing";

const RELEASE = Object.freeze({ name: __RELEASE__, version: __VERSION__ }); // both put in by release.mjs
const NOTES = "loftbook-notes";
const NOTE = new URL(`note-of-release-${RELEASE.name}`, self.registration.scope).href;

const LONGEST = 180_000; // ms for one file; a line that was cut without a word says nothing, and the installation would never end

const controller = new PrecacheController({
  fallbackToNetwork: false,
  plugins: [{ requestWillFetch: async ({ request }) => new Request(request, { signal: AbortSignal.timeout(LONGEST) }) }],
});
controller.addToCacheList(self.__WB_MANIFEST);

/** Workbox would end the installation at the first fault, before the pages could be told why; so it gets this for an event. */
const UNHURRIED = { type: "install", waitUntil: (promise) => promise.catch(() => {}) };

/** By the name of what went wrong: what engines themselves say of it differs, and tells a reader little. @type {Record<string, string>} */
const WHY = {
  TypeError: "a file is not there, or not as this release has it, or the line was cut",
  AbortError: "the line was cut",
  TimeoutError: "a file did not come within three minutes",
  QuotaExceededError: "there is no room for it",
};

/** @param {object} message */
async function tellPages(message) {
  for (const page of await self.clients.matchAll({ includeUncontrolled: true })) page.postMessage(message);
}

async function install() {
  try {
    await controller.install(UNHURRIED);
    const notes = await caches.open(NOTES);
    await notes.put(NOTE, Response.json({ ...RELEASE, since: Date.now() }));
  } catch (error) {
    await tellPages({ kind: "install-failed", release: RELEASE, why: WHY[error?.name] ?? String(error?.message ?? error) });
    throw error;
  }
}

async function activate(event) {
  await controller.activate(event);
  const notes = await caches.open(NOTES);
  for (const request of await notes.keys()) if (request.url !== NOTE) await notes.delete(request);
  await self.clients.claim();
}

/** Whether every file of the release is still on the device: a browser may throw away what it keeps. */
async function whole() {
  const there = await (await caches.open(controller.strategy.cacheName)).keys();
  const kept = new Set(there.map(({ url }) => url));
  return [...controller.getURLsToCacheKeys().values()].every((key) => kept.has(key));
}

/** @type {Promise<void> | null} */
let mending = null;
let failedAt = -Infinity;
const PAUSE = 60_000; // ms after a failure in which only a page that asks brings another try, or a browser without room would fetch for ever

/** Keeps the release anew. Where that cannot be had and there is a line, a newer one has its place on the server: it need not wait for this one. */
function mend() {
  mending ??= install()
    .then(() => tellPages({ kind: "kept" }), () => ((failedAt = Date.now()), giveWay()))
    .finally(() => (mending = null));
  return mending;
}

/** To a newer release, which may be there already; without a line nothing is looked for, and nothing changes. */
async function giveWay() {
  if (!(await self.registration.update().then(() => true, () => false))) return;
  const { installing, waiting } = self.registration;
  (installing ?? waiting)?.postMessage({ kind: "take-over" });
}

/** What this worker keeps, and since when: asked for by offline.js. What is no longer whole is kept since never. */
async function about() {
  const note = await (await caches.open(NOTES)).match(NOTE);
  return note && (await whole()) ? note.json() : { ...RELEASE, since: null };
}

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(activate(event)));
self.addEventListener("message", (event) => {
  if (event.data?.kind === "about") event.waitUntil(about().then((answer) => (event.ports[0].postMessage(answer), answer.since ?? mend())));
  if (event.data?.kind === "take-over") event.waitUntil(self.skipWaiting());
});

registerRoute(new PrecacheRoute(controller, { directoryIndex: "index.html", cleanURLs: false, ignoreURLParametersMatching: [/.*/] }));

const GONE = `<!doctype html><html lang="en"><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<meta name="color-scheme" content="light dark"><title>No longer on this device - Loftbook</title><h1>No longer on this device</h1>
<p>This browser had kept this page and has thrown it away. Open it again where there is a network.</p>
<p>Others may still be here: <a href="${self.registration.scope}">the start page</a>, <a href="${self.registration.scope}card/">the field card</a>.</p>`;

/**
 * What was kept of this release and the browser has thrown away: it is kept anew, and meanwhile the line is asked for this very file.
 * @param {string} key @param {FetchEvent} event
 */
async function lost(key, event) {
  if (Date.now() - failedAt > PAUSE) event.waitUntil(mend());
  return fetch(event.request.url, { integrity: controller.getIntegrityForCacheKey(key), cache: "no-cache" }).catch(
    () => new Response(GONE, { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } }),
  );
}

/** A page that this release does not have; the rest of the world is not asked. */
async function missing({ request, event }) {
  const asked = new URL(request.url).origin + new URL(request.url).pathname;
  const key = controller.getCacheKeyForURL(asked) ?? controller.getCacheKeyForURL(`${asked}index.html`);
  if (key) return lost(key, event);
  const asFolder = `${asked}/`;
  if (controller.getCacheKeyForURL(asFolder + "index.html")) return Response.redirect(asFolder, 301);
  const page = request.mode === "navigate" && (await controller.matchPrecache("404.html"));
  return new Response(page ? await page.blob() : "Not in this release.", {
    status: 404,
    headers: page ? page.headers : { "Content-Type": "text/plain" },
  });
}
setDefaultHandler(missing);
setCatchHandler(missing);
