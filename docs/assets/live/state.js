// The rig: what the reader typed, one flat object of path → text, shared by every page, calculator and browser tab.
// Knows the browser's storage; nothing of forms, workers or the trade. Nothing typed is ever thrown away: a rig that is
// displaced (by a link, a file, the demo rig) waits on a pile until the reader asks for it back.

/** @typedef {Record<string, string>} Rig */
/** @typedef {"typed" | "link" | "file" | "demo" | "back" | "elsewhere"} Why */

const NOW = "loftbook.rig";
const BEFORE = "loftbook.rig.before";
const EARLIER = "loftbook.rig.earlier";
const ABOUT = "loftbook.rig.about";
const MOST_EARLIER = 8;

/** Told of every change: `(why, paths)`. @type {Set<(why: Why | "storage", paths: string[]) => void>} */
const listeners = new Set();

/** @type {Rig} */
let demo = {};
/** @type {Rig} */
let now = {};
/** @type {Rig | null} */
let before = null;
/** @type {Rig[]} */
let earlier = [];
/** Where the rig on the page came from, and whether the reader has typed in it since. @type {{from: Why, touched: boolean}} */
let about = { from: "demo", touched: false };
let trouble = "";

const tell = (why, paths = []) => {
  for (const listener of listeners) listener(why, paths);
};

/** @param {unknown} thing @returns {thing is Rig} */
export const isRig = (thing) =>
  typeof thing === "object" &&
  thing !== null &&
  !Array.isArray(thing) &&
  Object.values(thing).every((text) => typeof text === "string");

/** @param {Rig} one @param {Rig} other */
export function sameRig(one, other) {
  const [left, right] = [{ ...demo, ...one }, { ...demo, ...other }];
  return Object.keys({ ...left, ...right }).every((path) => left[path] === right[path]);
}

// --- storage -----------------------------------------------------------------------------------

/** @param {string} why */
function storageFailed(why) {
  if (trouble) return;
  trouble = why;
  tell("storage");
}

/** @param {string} key @param {(thing: unknown) => boolean} fits */
function stored(key, fits) {
  const text = localStorage.getItem(key);
  if (text === null) return null;
  try {
    const thing = JSON.parse(text);
    if (fits(thing)) return thing;
  } catch {
    // told below, like any other text that is not ours
  }
  trouble = "What this browser had kept of a rig could not be read.";
  return null;
}

/** @param {string} key @param {unknown} thing */
function store(key, thing) {
  try {
    if (thing === null) localStorage.removeItem(key);
    else localStorage.setItem(key, JSON.stringify(thing));
  } catch {
    storageFailed("This browser keeps nothing for this page (a private window, or no room left).");
  }
}

function storeAll() {
  store(NOW, about.from === "demo" && !about.touched ? null : now);
  store(BEFORE, before);
  store(EARLIER, earlier.length ? earlier : null);
  store(ABOUT, about.from === "demo" && !about.touched ? null : about);
}

function recall() {
  try {
    const kept = stored(NOW, isRig);
    now = { ...demo, ...kept };
    before = stored(BEFORE, isRig);
    earlier = stored(EARLIER, (thing) => Array.isArray(thing) && thing.every(isRig)) ?? [];
    const said = stored(ABOUT, (thing) => typeof thing?.from === "string" && typeof thing?.touched === "boolean");
    about = said ?? (kept ? { from: "typed", touched: true } : { from: "demo", touched: false });
  } catch {
    trouble = "This browser keeps nothing for this page (a private window, or storage is switched off).";
  }
}

// --- what the rest of the page uses ----------------------------------------------------------------

/** Reads the page's demo rig and what storage has kept. Called once, before anything else here. */
export function beginRig() {
  const element = document.getElementById("loft-default-rig");
  demo = element ? JSON.parse(element.textContent) : {};
  now = { ...demo };
  recall();
  addEventListener("storage", (event) => {
    if (event.key !== null && ![NOW, BEFORE, EARLIER, ABOUT].includes(event.key)) return;
    recall();
    tell("elsewhere", Object.keys(now));
  });
  addEventListener("pageshow", (event) => {
    if (!event.persisted || trouble) return;
    recall();
    tell("elsewhere", Object.keys(now));
  });
}

/** The demo rig, complete. @returns {Rig} */
export const demoRig = () => ({ ...demo });

/** The rig as typed, complete, only with paths that this release knows. @returns {Rig} */
export const wholeRig = () => Object.fromEntries(Object.keys(demo).map((path) => [path, now[path]]));

/** Only what differs from the demo rig. @returns {Rig} */
export const differences = () => Object.fromEntries(Object.entries(wholeRig()).filter(([path, text]) => text !== demo[path]));

/** @param {string} path */
export const textOf = (path) => now[path];

/** One field as the reader types it. @param {string} path @param {string} text */
export function type(path, text) {
  if (now[path] === text) return;
  now[path] = text;
  about = { ...about, touched: true };
  store(NOW, now);
  store(ABOUT, about);
  tell("typed", [path]);
}

/** Puts another rig in place; one that the reader has typed in is kept. @param {Rig} fields @param {Why} from */
export function replaceRig(fields, from) {
  const next = { ...demo, ...fields };
  if (sameRig(next, now)) return false;
  if (about.touched) {
    if (before) earlier = [before, ...earlier].slice(0, MOST_EARLIER);
    before = now;
  }
  now = next;
  about = { from, touched: false };
  storeAll();
  tell(from, Object.keys(now));
  return true;
}

/** The rig that the reader had before comes back; the present one takes its place if it was typed in. */
export function goBack() {
  if (!before) return;
  const [back, rest] = [before, about.touched ? [...earlier, now] : earlier];
  [now, before, earlier] = [{ ...demo, ...back }, rest[0] ?? null, rest.slice(1)];
  about = { from: "typed", touched: true };
  storeAll();
  tell("back", Object.keys(now));
}

/** How things stand: where the rig came from, whether it was typed in, what waits, and what is wrong with storage. */
export const standing = () => ({ ...about, waiting: before !== null, trouble, demo: sameRig(now, demo) });

/** Called at every change. @param {(why: Why | "storage", paths: string[]) => void} listener @returns {() => void} ends it */
export function onRig(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}
