// From one page of the guide to the next while the calculators live on: the page that a link leads to is fetched and put in the place
// of this one, so that Python need not start again. Where anything is not as expected the browser loads the address as ever: without
// this module links are links. A page of another release is never put in: it has another mark.

import { make } from "./faults.js";
import { onState } from "./messenger.js";
import { wakePictures } from "./picture.js";

const ROOT = new URL("../../", import.meta.url).href;
const PATIENCE = 3000; // ms; then the browser tries, and shows that it does
const IN_HEAD = 'meta[name="description"], link[rel="prev"], link[rel="next"], link[rel="canonical"]';
const IN_BODY = [".md-skip", ".loft-wordmark", ".loft-headtitle", "#__config", ".md-container"];

/** @param {Location | URL} address @returns {string} without its anchor */
const pageOf = ({ origin, pathname, search }) => origin + pathname + search;
/** Of which release a page is: written by scripts/build.py. @param {Document} page */
const markOf = (page) => page.querySelector('meta[name="loftbook-release"]')?.content;

const spoken = make("p", { class: "loft-spoken loft-noprint" });
/** Where the reader was at each address: which element they looked at and how high it stood; and how far all was scrolled. @type {Map<string, {path: number[], top: number, height: number}>} */
const places = new Map();
let shown = pageOf(location);
let answering = false;
let touched = false; // the reader has moved something since the page came
let timer = 0;
/** The page on its way. @type {AbortController | null} */
let coming = null;

/**
 * Where a click leads, if it is a plain one on a link to another page of the guide that nobody else has taken. In a picture a link's
 * `href` is no text, hence attributes. @param {MouseEvent} event @returns {URL | null}
 */
function wanted(event) {
  const link = event.target.closest?.("a[href]");
  if (!link || event.defaultPrevented || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey || event.altKey) return null;
  if (link.hasAttribute("target") || link.hasAttribute("download")) return null;
  const url = new URL(link.getAttribute("href"), document.baseURI);
  return url.href.startsWith(ROOT) && url.pathname.endsWith("/") && pageOf(url) !== shown ? url : null;
}

/** @param {URL | Location} url @param {AbortSignal} signal @returns {Promise<Document>} of this release; rejected for anything else */
async function fetchPage(url, signal) {
  // the theme's script, once it runs, holds on to the page that it found
  if (!answering || !document.getElementById("loft-search-script")) throw new Error("the calculators or the page cannot be kept");
  const response = await fetch(pageOf(url), { redirect: "error", signal });
  if (!response.ok || !response.headers.get("Content-Type")?.startsWith("text/html")) throw new Error("this is no page");
  const page = new DOMParser().parseFromString(await response.text(), "text/html"); // its scripts never run
  if (!markOf(document) || markOf(page) !== markOf(document)) throw new Error("a page of another release");
  return page;
}

/** What an element of a page throws when it wakes reaches nobody else. @param {() => void} act */
function faultless(act) {
  const faults = [];
  const note = ({ error, message }) => faults.push(error ?? new Error(message));
  addEventListener("error", note);
  try {
    act();
  } finally {
    removeEventListener("error", note);
  }
  if (faults.length) throw faults[0];
}

/** A page says of itself that it is not live, until somebody here takes that away. @param {Document} page */
export function clearStates(page) {
  for (const one of page.querySelectorAll(".loft-notlive")) {
    one.classList.remove("loft-notlive");
    one.replaceChildren();
  }
}

/** All that is a page's own in the place of the old page's. @param {Document} page */
function put(page) {
  const drawer = document.getElementById("__drawer");
  if (drawer?.checked) drawer.click();
  delete document.documentElement.dataset.paper; // what a card was printed on
  clearStates(page);
  const menu = () => document.querySelector(".md-sidebar__scrollwrap");
  const scrolled = menu()?.scrollTop ?? 0;
  for (const old of document.head.querySelectorAll(IN_HEAD)) old.remove();
  document.head.append(...page.head.querySelectorAll(IN_HEAD));
  document.title = page.title;
  for (const part of IN_BODY) document.querySelector(part).replaceWith(page.querySelector(part));
  if (scrolled) menu().scrollTop = scrolled;
  wakePictures(document.querySelector(".md-container"));
}

/** Who reads by eye begins at the top, who listens at the heading; a form that has taken the focus as it woke keeps it. */
function show() {
  const heading = document.querySelector(".md-content h1");
  if (!document.querySelector(".md-container").contains(document.activeElement)) {
    heading.setAttribute("tabindex", "-1");
    heading.addEventListener("blur", () => heading.removeAttribute("tabindex"), { once: true });
    heading.focus({ preventScroll: true });
  }
  spoken.textContent = document.title;
}

/** The way down to an element. @param {Element} element @param {Element} whole @returns {number[]} */
const pathTo = (element, whole) => (element === whole ? [] : [...pathTo(element.parentElement, whole), [...element.parentElement.children].indexOf(element)]);

/** Remembers where the reader is: by the element, since what is far from the screen is as high as it is only once it is laid out. */
function remember() {
  if (pageOf(location) !== shown) return;
  const whole = document.querySelector(".md-container");
  const there = document.elementFromPoint(innerWidth / 2, innerHeight / 3);
  const path = whole.contains(there) ? pathTo(there, whole) : [];
  places.set(location.href, { path, top: there?.getBoundingClientRect().top ?? 0, height: scrollY });
}

/** Back to where the reader was. @param {{path: number[], top: number, height: number} | undefined} place */
function comeBack(place) {
  const there = place?.path.reduce((one, at) => one?.children[at], document.querySelector(".md-container"));
  const by = place?.height && there ? there.getBoundingClientRect().top - place.top : (place?.height ?? 0) - scrollY;
  scrollBy({ top: by, behavior: "instant" });
}

const frame = () => new Promise(requestAnimationFrame);

/** What comes near the screen is laid out, and answers come: the place is held until all is there or the reader moves. @param {() => void} aim @param {Promise<void>} arrived */
async function hold(aim, arrived) {
  const again = () => touched || pageOf(location) !== shown || aim();
  for (const wait of [frame, frame, () => arrived, frame, frame]) {
    await wait();
    again();
  }
}

/**
 * @param {URL | Location} url @param {boolean} back whether it is the address already, as the reader goes back or forward
 * @param {(back: boolean) => Promise<void>} arrive asks for all answers of the page
 */
async function turn(url, back, arrive) {
  coming?.abort();
  const mine = (coming = new AbortController());
  const limit = setTimeout(() => mine.abort(), PATIENCE);
  let there = back;
  try {
    const page = await fetchPage(url, mine.signal);
    if (coming !== mine) return;
    if (!there) {
      remember();
      history.pushState(null, "", url);
    }
    there = true;
    shown = pageOf(location);
    scrollTo({ top: 0, behavior: "instant" });
    faultless(() => put(page));
    show();
  } catch {
    if (coming !== mine) return;
    if (there) location.reload();
    else location.assign(url);
    return;
  } finally {
    clearTimeout(limit);
  }
  coming = null;
  touched = false;
  const place = places.get(location.href);
  const named = () => document.getElementById(location.hash.slice(1));
  if (!back && named()) location.replace(location.href); // to the same place: so the browser itself marks it, opens what it is folded in and goes there
  const arrived = arrive(back);
  if (back) hold(() => comeBack(place), arrived);
  else if (named()) hold(() => named()?.scrollIntoView({ behavior: "instant" }), arrived);
}

/** Called once, when the first page is awake. @param {(back: boolean) => Promise<void>} arrive */
export function beginNext(arrive) {
  spoken.setAttribute("role", "status");
  document.body.append(spoken);
  onState(({ phase }) => (answering = phase === "live" || phase === "starting"));
  addEventListener("click", (event) => {
    const url = wanted(event);
    if (!url) return;
    event.preventDefault();
    turn(url, false, arrive);
  });
  addEventListener("popstate", () => {
    if (pageOf(location) !== shown) turn(location, true, arrive);
    else if (coming) coming = coming.abort() ?? null; // there and back again
  });
  // a way back to another page is none to another place in this one
  addEventListener("hashchange", (event) => pageOf(location) !== shown && event.stopImmediatePropagation(), { capture: true });
  addEventListener("scroll", () => {
    clearTimeout(timer);
    timer = setTimeout(remember, 100);
  }, { passive: true });
  for (const kind of ["wheel", "touchmove", "pointerdown", "keydown"]) addEventListener(kind, () => (touched = true), { passive: true, capture: true });
}
