// The logbook as this browser keeps it: entries that are never changed, each under its name. A write is told as done only when it is
// on the disk. Knows the browser's storage, not what entries say.

import { HEADS, LINES, STRICT, open } from "./database.js";

/** An entry as the core hands it over. @typedef {{name: string, day: string, made: string, kind: string, rig: string, of: string, replaces: string, bears: string, told: string, line: string}} Entry */

/** Where other tabs hear of a change; Firefox lets a page that may keep nothing have none, and there is no book to tell of. */
const channel = (() => {
  try {
    return new BroadcastChannel("loftbook.book");
  } catch {
    return null;
  }
})();
/** @type {Set<() => void>} */
const listeners = new Set();

const tell = () => listeners.forEach((listener) => listener());
channel?.addEventListener("message", tell);

/** Called at every change, in this tab or another. @param {() => void} listener @returns {() => void} ends it */
export function onBook(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** Keeps entries; those that are there already stay as they are. @param {Entry[]} entries @returns {Promise<number>} how many are new, once all are on the disk */
export async function keep(entries) {
  const database = await open();
  const work = database.transaction([HEADS, LINES], "readwrite", STRICT);
  const there = new Set(await work.objectStore(HEADS).getAllKeys());
  const fresh = entries.filter(({ name }) => !there.has(name));
  const writes = fresh.flatMap(({ line, ...head }) => [work.objectStore(HEADS).put(head), work.objectStore(LINES).put(line, head.name)]);
  await Promise.all([...writes, work.done]);
  tell();
  channel?.postMessage("");
  return fresh.length;
}

/** How many entries stand in the book, whatever became of them. */
export const count = async () => (await open()).count(HEADS);

/**
 * The newest that count, without what was added to them. @param {number} most
 * @returns {Promise<{heads: Entry[], more: boolean}>} whether there are older ones
 */
export async function newest(most) {
  const work = (await open()).transaction(HEADS);
  const { store } = work;
  const heads = [];
  const own = IDBKeyRange.bound([""], ["", []]);
  let cursor = await store.index("day").openCursor(own, "prev");
  for (; cursor && heads.length < most; cursor = await cursor.continue()) {
    const replaced = await store.index("replaces").getKey(cursor.value.name);
    if (!replaced && cursor.value.kind !== "struck") heads.push(cursor.value);
  }
  return { heads, more: cursor !== null };
}

/** @param {string[]} names @returns {Promise<string[]>} the entries as text */
async function linesOf(names) {
  const { store } = (await open()).transaction(LINES);
  return Promise.all(names.map((name) => store.get(name)));
}

/** One entry's text. @param {string} name */
export const lineOf = async (name) => (await open()).get(LINES, name);

/** All of the book as text. @returns {Promise<string[]>} */
export const lines = async () => (await open()).getAll(LINES);

/** What was added to an entry and counts. @param {string} name @returns {Promise<string[]>} */
export async function addedTo(name) {
  const { store } = (await open()).transaction(HEADS);
  const names = await store.index("of").getAllKeys(name);
  const gone = await Promise.all(names.map((one) => store.index("replaces").getKey(one)));
  return linesOf(names.filter((_, place) => !gone[place]));
}

/** Entries by values of indexes, and what took another's place. @param {...[string, string]} wanted @returns {Promise<string[]>} */
async function by(...wanted) {
  const { store } = (await open()).transaction(HEADS);
  const found = await Promise.all(wanted.map(([index, value]) => store.index(index).getAllKeys(value)));
  const corrects = await store.index("replaces").getAllKeys(IDBKeyRange.lowerBound("", true));
  return linesOf([...new Set([...found.flat(), ...corrects])]);
}

const MENDS = [["kind", "inspection"], ["kind", "repair"]];

/** What measured something of a rig, and what was mended since. */
export const bearing = () => by(["bears", "yes"], ...MENDS);

/** What says how often and how it flew, and what was looked at since; null where there is no entry at all. @returns {Promise<string[] | null>} */
export const service = async () => ((await count()) ? by(["kind", "flight"], ["kind", "test"], ["kind", "repack"], ...MENDS) : null);
