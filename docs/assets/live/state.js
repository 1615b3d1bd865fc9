// The rig: what the reader typed, one flat object of path → text, shared by every page, calculator and browser tab. All that
// they did not type is the starting rig's, and stays apart: equal text is no proof that a value is theirs. Knows the
// browser's storage; nothing of forms, workers or the trade. Nothing typed is ever thrown away: a rig that is displaced (by a
// link, a file, a starting rig) waits on a pile until the reader asks for it back.

import { follow, keep, recall, wasUnkept } from "./kept.js";

/** What was typed, and the name of the starting rig if it is not the first. @typedef {Record<string, string>} Rig */
/** @typedef {"typed" | "link" | "file" | "demo" | "back" | "elsewhere"} Why */
/** @typedef {"start" | "typed" | "measured"} Origin */

const NOW = "loftbook.rig";
const BEFORE = "loftbook.rig.before";
const EARLIER = "loftbook.rig.earlier";
const ABOUT = "loftbook.rig.about";
const MOST_EARLIER = 8;
const START = "rig.start"; // which starting rig
const MEASURED = "rig.measured"; // paths of what was measured, parted by spaces
const VIEW = "rig.bay"; // what the pages show: travels with a rig, says nothing about the rocket

/** Told of every change: `(why, paths)`. @type {Set<(why: Why | "storage", paths: string[]) => void>} */
const listeners = new Set();

/** The starting rigs, complete, by name; the first is the demo rig. @type {Record<string, Rig>} */
let starts = { "": {} };
/** @type {Record<string, {canopy: string[], bay: string[], cord: string[]}>} */
let ways = {};
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
const isRig = (thing) =>
  typeof thing === "object" &&
  thing !== null &&
  !Array.isArray(thing) &&
  Object.values(thing).every((text) => typeof text === "string");

const first = () => Object.keys(starts)[0];

/** The name of the starting rig of a rig. @param {Rig} rig */
const startOf = (rig) => (Object.hasOwn(starts, rig[START]) ? rig[START] : first());

/** What a rig says itself, of what this release knows. @param {Rig} rig @returns {Rig} */
const said = (rig) => Object.fromEntries(Object.entries(rig).filter(([path]) => path !== START && Object.hasOwn(starts[first()], path)));

/** Whether two rigs say the same: equal text that one says and the other leaves to its starting rig is not the same. @param {Rig} one @param {Rig} other */
export function sameRig(one, other) {
  const [left, right] = [said(one), said(other)];
  return startOf(one) === startOf(other) && Object.keys({ ...left, ...right }).every((path) => left[path] === right[path]);
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
  const text = recall(key);
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
async function store(key, thing) {
  const kept = await keep(key, thing === null ? null : JSON.stringify(thing));
  if (!kept) storageFailed("This browser keeps nothing for this page (a private window, or no room left).");
}

function storeAll() {
  const nothing = Object.keys(now).length === 0;
  store(NOW, nothing ? null : now);
  store(BEFORE, before);
  store(EARLIER, earlier.length ? earlier : null);
  store(ABOUT, nothing && about.from === "demo" && !about.touched ? null : about);
}

function recallAll() {
  try {
    const kept = stored(NOW, isRig);
    now = { ...kept };
    before = stored(BEFORE, isRig);
    earlier = stored(EARLIER, (thing) => Array.isArray(thing) && thing.every(isRig)) ?? [];
    const told = stored(ABOUT, (thing) => typeof thing?.from === "string" && typeof thing?.touched === "boolean");
    about = told ?? (kept ? { from: "typed", touched: true } : { from: "demo", touched: false });
  } catch {
    trouble = "This browser keeps nothing for this page (a private window, or storage is switched off).";
  }
}

// --- what the rest of the page uses ----------------------------------------------------------------

/** Reads what the page tells of starting rigs and ways down, and what storage has kept. Called once, before anything else here. */
export function beginRig() {
  const element = document.getElementById("loft-starts");
  if (element) {
    const told = JSON.parse(element.textContent);
    const [whole] = Object.values(told.starts);
    starts = Object.fromEntries(Object.entries(told.starts).map(([name, texts]) => [name, { ...whole, ...texts }]));
    ways = told.ways;
    }
  recallAll();
  if (!trouble && wasUnkept()) trouble = "What was typed on the page before could not be kept (no room left): these are older figures.";
  follow([NOW, BEFORE, EARLIER, ABOUT], () => {
    if (trouble) return;
    recallAll();
    tell("elsewhere", Object.keys(starts[first()]));
  });
}

/** Names of the starting rigs. */
export const startNames = () => Object.keys(starts);

/** The name of this rig's starting rig. */
export const startName = () => startOf(now);

/** What a rig says and the name of its starting rig, only with paths that this release knows. @param {Rig} rig @returns {Rig} */
const known = (rig) => ({ [START]: startOf(rig), ...said(rig) });

/** The same of the rig on the page: what is asked, handed on and kept in files. */
export const typedRig = () => known(now);

/** The rigs that wait on the pile, the last one first. @returns {Rig[]} */
export const keptRigs = () => [before, ...earlier].filter(Boolean).map(known);

/** What a rig is called. @param {Rig} rig */
export const nameOf = (rig) => rig["rig.name"] || starts[startOf(rig)]["rig.name"];

/** The same, short: without what the starting rig says as well, and without what was measured. @returns {Rig} */
export function shortRig() {
  const start = starts[startOf(now)];
  return Object.fromEntries(Object.entries(typedRig()).filter(([path, text]) => path === START || (path !== MEASURED && text !== start[path])));
}

/** @param {string} path */
export const textOf = (path) => (path === START ? startOf(now) : (now[path] ?? starts[startOf(now)][path]));

const measured = (rig = now) => new Set((rig[MEASURED] ?? "").split(/\s+/).filter(Boolean));

/** Where a field's text comes from. @param {string} path @returns {Origin} */
export const originOf = (path) => (!Object.hasOwn(now, path) ? "start" : measured().has(path) ? "measured" : "typed");

/** Says of a field that it was measured, or not, as it stands in a rig. @param {string} path @param {boolean} is @param {Rig} [rig] */
function setMeasured(path, is, rig = now) {
  const paths = measured(rig);
  if (is) paths.add(path);
  else paths.delete(path);
  if (paths.size) rig[MEASURED] = [...paths].join(" ");
  else delete rig[MEASURED];
}

/** Keeps and tells what the reader did to some fields. @param {...string} paths */
function touch(...paths) {
  if (!paths.every((path) => path === VIEW)) about = { ...about, touched: true };
  store(NOW, now);
  store(ABOUT, about);
  tell("typed", paths);
}

/** One field as the reader types it; a text that was measured is not when it changes. @param {string} path @param {string} text */
export function type(path, text) {
  if (now[path] === text) return;
  if (measured().has(path)) setMeasured(path, false);
  now[path] = text;
  touch(path);
}

/**
 * Several fields at once, as the reader takes what is offered; those that it names as measured are. The way back puts back what
 * each was, and whose it was. @param {Rig} texts @returns {() => void}
 */
export function takeAll({ [MEASURED]: found = "", ...texts }) {
  const paths = Object.keys(texts);
  const known = new Set(found.split(/\s+/));
  const was = paths.map((path) => [path, now[path], measured().has(path)]);
  for (const path of paths) {
    now[path] = texts[path];
    setMeasured(path, known.has(path));
  }
  touch(...paths, MEASURED);
  return () => {
    for (const [path, text, known] of was) {
      if (text === undefined) delete now[path];
      else now[path] = text;
      setMeasured(path, known);
    }
    touch(...paths, MEASURED);
  };
}

/** The rig as it would be if the reader took what is offered. @param {Rig} texts @returns {Rig} */
export function rigWith(texts) {
  const rig = { ...typedRig(), ...texts };
  for (const path of Object.keys(texts)) setMeasured(path, false, rig);
  return rig;
}

/** The reader says that a field's text, as it stands, is their own; and whether they measured it. @param {string} path @param {boolean} is */
export function claim(path, is) {
  now[path] = textOf(path);
  setMeasured(path, is);
  touch(path, MEASURED);
}

/** Puts another rig in place; one that the reader has typed in is kept. @param {Rig} fields @param {Why} from */
export function replaceRig(fields, from) {
  if (sameRig(fields, now)) return false;
  if (about.touched) {
    if (before) earlier = [before, ...earlier].slice(0, MOST_EARLIER);
    before = now;
  }
  now = { ...fields };
  about = { from, touched: false };
  storeAll();
  tell(from, Object.keys(starts[first()]));
  return true;
}

/**
 * The same with a way back that puts all as it was; what the reader typed meanwhile waits behind it. Null where it is the rig on the page.
 * @param {Rig} fields @param {Why} from @returns {(() => void) | null}
 */
export function takeRig(fields, from) {
  const was = { now, before, earlier, about };
  if (!replaceRig(fields, from)) return null;
  const taken = now;
  return () => {
    if (now !== taken) replaceRig(was.now, "back"); // another one since: that is kept, too
    else {
      const pile = [was.before, ...was.earlier, about.touched ? now : null].filter(Boolean);
      [now, before, earlier] = [was.now, pile[0] ?? null, pile.slice(1)];
    }
    about = was.about;
    storeAll();
    tell("back", Object.keys(starts[first()]));
  };
}

/** The rig that the reader had before comes back; the present one takes its place if it was typed in. */
export function goBack() {
  if (!before) return;
  const [back, rest] = [before, about.touched ? [...earlier, now] : earlier];
  [now, before, earlier] = [back, rest[0] ?? null, rest.slice(1)];
  about = { from: "typed", touched: true };
  storeAll();
  tell("back", Object.keys(starts[first()]));
}

/**
 * How things stand: where the rig came from, whether it was typed in, what waits, what is wrong with storage, whether it is a
 * starting rig as it is, and whether it is the one that the page was built for and showed.
 */
export function standing() {
  const plain = Object.keys(said(now)).every((path) => path === VIEW);
  const built = plain && startOf(now) === first() && textOf(VIEW) === starts[first()][VIEW];
  return { ...about, waiting: before !== null, trouble, demo: plain, built };
}

// --- bays: which of them this rig has, and which one a page shows -------------------------------------

/** The canopies, bays or cords of this rig's way down, in the order of opening. @param {string} each @returns {string[]} */
export const keysOf = (each) => ways[textOf("flight.way")]?.[each] ?? [];

/** The one that a page shows: the one chosen if there is one, else the main's. @param {string} each */
export function shownKey(each) {
  const [keys, wanted] = [keysOf(each), textOf(VIEW)];
  return [wanted, "main"].find((key) => keys.includes(key)) ?? keys[0];
}

/** @param {string} key */
export const showBay = (key) => type(VIEW, key);

/** Called at every change. @param {(why: Why | "storage", paths: string[]) => void} listener @returns {() => void} ends it */
export function onRig(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}
