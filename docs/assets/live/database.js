// The browser's own database: the logbook, and what is typed. Opened once for a page. Knows its rooms, not what lies in them.

import { openDB } from "idb";

export const HEADS = "entries"; // what lists want to know of each entry of the logbook
export const LINES = "lines"; // the entries themselves, as text
export const TYPED = "typed"; // what kept.js keeps

/** A write is told as done only when it is on the disk, so that a browser that is killed right after loses nothing that was told. */
export const STRICT = { durability: "strict" };

/** @type {Promise<import("idb").IDBPDatabase> | null} */
let opening = null;

export function open() {
  const forget = () => (opening = null);
  opening ??= Promise.resolve()
    .then(() =>
      openDB("loftbook", 1, {
        upgrade(database, _, __, { done }) {
          done.catch(() => {}); // where there is no room for it, to open it fails too, and that is told
          const heads = database.createObjectStore(HEADS, { keyPath: "name" });
          for (const index of ["replaces", "bears", "of", "kind"]) heads.createIndex(index, index);
          heads.createIndex("day", ["of", "day", "made"]); // entries of their own stand apart from what was added to one
          database.createObjectStore(LINES);
          database.createObjectStore(TYPED);
        },
        blocking: (_, __, event) => event.target.close(),
        terminated: forget,
      }),
    )
    .catch((error) => {
      forget();
      throw error;
    });
  return opening;
}
