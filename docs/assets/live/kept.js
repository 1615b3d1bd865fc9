// Small texts that must not be lost: the rig, the walk's place, a form that is half filled in. Each goes to localStorage, which can be
// read at once but is written to the disk some seconds later, and to the database, which is on the disk before it says so. Each write
// has a turn; where a browser was killed between the two, the database's is the newer, and is told. Knows nothing of what the texts say.

import { STRICT, TYPED, open } from "./database.js";

const TURNS = "loftbook.turns";
const UNKEPT = "loftbook-unkept"; // a cookie: where nothing else can be kept, that still can

/** What localStorage did not take. @type {Map<string, string | null>} */
const memory = new Map();
/** What is still to be written into the database; the newest of each only. @type {Map<string, {text: string | null, turn: number}>} */
let waiting = new Map();
/** @type {Promise<boolean> | null} */
let writing = null;
/** @type {Set<{keys: string[], act: () => void}>} */
const followers = new Set();
let last = 0;

/** @returns {Record<string, number>} */
function turns() {
  try {
    return JSON.parse(localStorage.getItem(TURNS) ?? "{}") ?? {};
  } catch {
    return {};
  }
}

/** @param {string} key @param {string | null} text @param {number} turn */
function putAtOnce(key, text, turn) {
  try {
    if (text === null) localStorage.removeItem(key);
    else localStorage.setItem(key, text);
    localStorage.setItem(TURNS, JSON.stringify({ ...turns(), [key]: turn }));
    memory.delete(key);
    return true;
  } catch {
    memory.set(key, text);
    return false;
  }
}

/** Writes all that waits; what comes meanwhile is written after it. @returns {Promise<boolean>} whether it is on the disk */
async function write() {
  const now = waiting;
  waiting = new Map();
  try {
    const work = (await open()).transaction(TYPED, "readwrite", STRICT);
    await Promise.all([...[...now].map(([key, one]) => work.store.put(one, key)), work.done]);
    return true;
  } catch {
    return false;
  } finally {
    writing = null;
  }
}

/** @param {boolean} is whether a page before this one could keep nothing */
function markUnkept(is) {
  document.cookie = `${UNKEPT}=${is ? "1" : ""}; path=/; SameSite=Strict${is ? "" : "; Max-Age=0"}`;
}

/** Whether what was typed on the page before could not be kept. */
export const wasUnkept = () => document.cookie.split("; ").includes(`${UNKEPT}=1`);

/** The text of a key as it stands; null for none. Throws where this browser lets nobody look. @param {string} key @returns {string | null} */
export const recall = (key) => (memory.has(key) ? memory.get(key) : localStorage.getItem(key));

/** Keeps a text, or with null forgets it. @param {string} key @param {string | null} text @returns {Promise<boolean>} false where it is kept nowhere */
export async function keep(key, text) {
  last = Math.max(Date.now(), last + 1);
  const here = putAtOnce(key, text, last);
  waiting.set(key, { text, turn: last });
  const there = await (writing ? writing.then(() => (writing ??= write())) : (writing = write()));
  if (!here && !there) markUnkept(true);
  else if (wasUnkept()) markUnkept(false);
  return here || there;
}

/** Where the database has newer texts of some keys, they are put in place. @param {string[]} keys @returns {Promise<boolean>} whether there were any */
export async function takeNewer(keys) {
  try {
    const { store } = (await open()).transaction(TYPED);
    const found = await Promise.all(keys.map((key) => store.get(key)));
    const known = turns();
    const newer = keys.filter((key, place) => !memory.has(key) && found[place] && found[place].turn > (known[key] ?? 0));
    for (const key of newer) {
      const { text, turn } = found[keys.indexOf(key)];
      last = Math.max(last, turn);
      putAtOnce(key, text, turn);
    }
    return newer.length > 0;
  } catch {
    return false; // then what could be read at once holds
  }
}

/** Writes into the database what a page before this one was left with: it could put it in place at once, and not wait for the disk. */
async function handOver() {
  try {
    const known = Object.entries(turns());
    const { store } = (await open()).transaction(TYPED);
    const found = await Promise.all(known.map(([key]) => store.get(key)));
    const behind = known.filter(([key, turn], place) => !waiting.has(key) && turn > (found[place]?.turn ?? 0));
    for (const [key, turn] of behind) waiting.set(key, { text: localStorage.getItem(key), turn });
    if (behind.length) await (writing ??= write());
  } catch {
    // then what can be read at once holds, as long as it does
  }
}

/**
 * Calls when texts of these keys change otherwise than by this page: by another tab, by the way back to a page that the browser had put
 * away, or because the browser was killed before it had written what can be read at once. @param {string[]} keys @param {() => void} act
 * @returns {() => void} ends it
 */
export function follow(keys, act) {
  const follower = { keys, act };
  followers.add(follower);
  takeNewer(keys).then((were) => were && followers.has(follower) && act());
  return () => followers.delete(follower);
}

addEventListener("storage", ({ key }) => {
  for (const { keys, act } of followers) if (key === null || keys.includes(key)) act();
});
addEventListener("pageshow", ({ persisted }) => {
  if (persisted) for (const { act } of followers) act();
});
handOver();
