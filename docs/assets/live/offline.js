// Keeps the site on the reader's device, and says honestly how that stands: the element <loft-offline>.
// Importing this module is all it takes. The service worker is registered after the first live answer, not to slow it down.
import { firstAnswer, onState } from "./messenger.js";

/**
 * impossible: this browser has no service workers (here); none: not begun; preparing: being fetched; ready: all is on the device;
 * offered: ready, and a newer release waits for a yes; replaced: another tab said yes, or this release could no longer be had; failed: `why` tells.
 * @typedef {{name: "impossible" | "none" | "preparing" | "ready" | "offered" | "replaced" | "failed", why?: string,
 *   version?: string, since?: number, newer?: string}} Standing
 */

const BASE = new URL("../../", import.meta.url);
const PATIENCE = 2000; // ms that a page on which nobody asks anything may wait before the site is kept
const LONGEST = 60_000; // ms that one may wait whose calculators do not come

/** @type {Standing} */
let standing = { name: "none" };
/** @type {ServiceWorkerRegistration | null} */
let registration = null;
let agreed = false;
/** @type {Set<OfflineElement>} */
const shown = new Set();

/** @param {Standing} next */
function stand(next) {
  if (standing.name === "replaced") return; // stays so until the page is loaded anew
  standing = next;
  for (const element of shown) element.show();
}

/** What a worker keeps. @param {ServiceWorker} worker @returns {Promise<{version: string, name: string, since: number | null}>} */
function about(worker) {
  return new Promise((resolve, reject) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = ({ data }) => resolve(data);
    setTimeout(() => reject(new Error("no reply")), 5000);
    worker.postMessage({ kind: "about" }, [port2]);
  });
}

async function look() {
  const { active, waiting, installing } = registration;
  if (!active) return stand(installing || waiting ? { name: "preparing" } : standing);
  const kept = await about(active);
  if (kept.since === null) return stand({ name: "preparing" }); // the browser has thrown it away; the worker keeps it anew and tells
  const ready = { name: "ready", version: kept.version, since: kept.since };
  return stand(waiting ? { ...ready, name: "offered", newer: (await about(waiting)).version } : ready);
}

/** @param {unknown} error */
const fail = (error) => stand({ ...standing, name: "failed", why: String(error?.message ?? error) });

/** @param {ServiceWorker | null} worker */
function follow(worker) {
  let before = worker?.state;
  worker?.addEventListener("statechange", () => {
    if (worker.state !== "redundant") look().catch(fail);
    else if (before === "installing" && standing.name !== "failed") fail("the files could not all be fetched");
    before = worker.state;
  });
}

async function register() {
  registration = await navigator.serviceWorker.register(new URL("offline-worker.js", BASE), { scope: BASE.pathname, updateViaCache: "none" });
  follow(registration.installing ?? registration.waiting); // where another page began it, it may be between the two
  registration.addEventListener("updatefound", () => follow(registration.installing));
  await look();
}

function begin() {
  const { serviceWorker } = navigator;
  if (!serviceWorker) {
    const why = window.isSecureContext ? "a private window or an old browser" : "the page did not come over https";
    return stand({ name: "impossible", why });
  }
  let controlled = Boolean(serviceWorker.controller);
  serviceWorker.addEventListener("controllerchange", () => {
    if (agreed) location.reload();
    else if (controlled) stand({ ...standing, name: "replaced" });
    controlled = true;
  });
  serviceWorker.addEventListener("message", ({ data, source }) => {
    if (data?.kind === "install-failed") {
      if (source?.state === "activated") stand({ name: "none" }); // it has lost what it kept: no version is ready
      fail(data.why);
    }
    if (data?.kind === "kept" && registration) look().catch(fail);
  });
  serviceWorker.startMessages();
  addEventListener("online", () => standing.name === "failed" && register().catch(fail));
  return whenQuiet().then(register).catch(fail);
}

/** After the first live answer; or after the calculators failed; or when nobody asks them anything; or when that takes too long. */
function whenQuiet() {
  return new Promise((resolve) => {
    firstAnswer.then(resolve);
    onState(({ phase }) => phase === "failed" && resolve());
    setTimeout(() => onState(({ phase }) => phase === "idle" && resolve()), PATIENCE);
    setTimeout(resolve, LONGEST);
  });
}

/** The reader says yes to the newer release. */
function takeNewer() {
  agreed = true;
  registration.waiting?.postMessage({ kind: "take-over" });
}

const day = (since) => new Intl.DateTimeFormat(document.documentElement.lang || "en", { dateStyle: "medium", timeStyle: "short" }).format(since);

/** @type {Record<Standing["name"], (s: Standing) => string>} */
const WORDS = {
  impossible: ({ why }) => `Cannot be kept for offline use in this browser: ${why}.`,
  none: () => "Not yet kept for offline use.",
  preparing: () => "Being kept for offline use…",
  ready: ({ version, since }) => `Ready to use offline: version ${version}${since ? `, kept since ${day(since)}` : ""}.`,
  offered: (s) => `${WORDS.ready(s)} ${s.newer === s.version ? "A newer edition of it" : `Version ${s.newer}`} is here too and waits for you.`,
  replaced: () => "A newer version has taken the place of this one.",
  failed: ({ why, version }) =>
    version ? `Version ${version} is ready to use offline; a newer one could not be kept: ${why}.` : `Could not be kept for offline use: ${why}.`,
};
/** The same in two words, where there is room for no more: the attribute `brief`. @type {Record<Standing["name"], (s: Standing) => string>} */
const BRIEF = {
  impossible: () => "not kept offline",
  none: () => "not offline yet",
  preparing: () => "not offline yet",
  ready: () => "offline ready",
  offered: () => "offline ready",
  replaced: () => "load this page anew",
  failed: ({ version }) => (version ? "offline ready" : "not kept offline"),
};
const ACTS = { offered: ["Use the newer version", takeNewer], replaced: ["Load this page anew", () => location.reload()] };

class OfflineElement extends HTMLElement {
  connectedCallback() {
    this.line = document.createElement("span");
    this.words = this.hasAttribute("brief") ? BRIEF : WORDS;
    if (this.words === WORDS) this.line.setAttribute("role", "status"); // heard once
    this.button = document.createElement("button");
    this.button.type = "button";
    this.button.addEventListener("click", () => ACTS[standing.name]?.[1]());
    this.replaceChildren(this.line);
    shown.add(this);
    this.show();
  }

  disconnectedCallback() {
    shown.delete(this);
  }

  show() {
    this.dataset.standing = standing.name;
    this.line.textContent = this.words[standing.name](standing);
    if (this.words === BRIEF) return;
    this.button.textContent = ACTS[standing.name]?.[0] ?? "";
    if (standing.name in ACTS) this.append(" ", this.button);
    else this.button.remove();
  }
}

customElements.define("loft-offline", OfflineElement);
begin();
