// Beside each field a small mark says whose its value is: the starting rig's, yours, or measured. It opens on a tap, and there
// the reader says otherwise. Equal text proves nothing: a tube of 75 mm that its owner confirmed is theirs.

import { button, controlOf, make } from "./faults.js";
import { claim, originOf, textOf } from "./state.js";

const WORDS = { start: "the starting rig's", typed: "yours", measured: "measured" };
const UNMARKED = /^(rig|compare)\./; // how things are shown, not what the rocket is

/** @param {HTMLElement} field */
const markOf = (field) => field.querySelector(".loft-mark");

/** What opens under the mark: made when it is first wanted. @param {HTMLElement} field @param {string} path */
function panel(field, path) {
  const mine = button("It is mine too", () => {
    claim(path, false);
    (measured ?? markOf(field)).focus();
  }, "loft-mine");
  const countable = !controlOf(field).options; // a choice is made, not measured
  const measured = countable ? button("Measured", () => claim(path, originOf(path) !== "measured"), "loft-measured") : null;
  const whose = make("span", { text: `This is ${WORDS.start}.` });
  const made = make("span", { class: "loft-claim" }, whose, mine, ...(measured ? [measured] : []));
  made.id = `${controlOf(field).id}-claim`;
  markOf(field).setAttribute("aria-controls", made.id);
  field.querySelector(".loft-origin").append(made);
  return made;
}

/** @param {HTMLElement} field @param {string} path */
function turn(field, path) {
  const mark = markOf(field);
  const open = mark.getAttribute("aria-expanded") !== "true";
  mark.setAttribute("aria-expanded", String(open));
  (field.querySelector(".loft-claim") ?? panel(field, path)).hidden = !open;
  showOrigin(field, path);
}

/** Puts a mark beside a field. @param {HTMLElement} field @param {string} path */
export function wakeOrigin(field, path) {
  const place = field.querySelector(".loft-origin");
  if (!place || UNMARKED.test(path)) return;
  const mark = make("button", { class: "loft-mark" });
  mark.type = "button";
  mark.setAttribute("aria-expanded", "false");
  mark.addEventListener("click", () => turn(field, path));
  place.replaceChildren(mark);
  place.hidden = false;
}

/** Lets the mark say how things stand now. @param {HTMLElement} field @param {string} path */
export function showOrigin(field, path) {
  const [mark, origin] = [markOf(field), originOf(path)];
  if (!mark) return;
  if (mark.dataset.origin !== origin) {
    mark.dataset.origin = origin;
    mark.textContent = WORDS[origin];
    mark.setAttribute("aria-label", `${WORDS[origin]}: ${field.querySelector("label").textContent}`);
  }
  const claims = field.querySelector(".loft-claim");
  if (!claims) return;
  const [whose, mine, measured] = [...claims.children];
  whose.hidden = mine.hidden = origin !== "start";
  if (measured) measured.setAttribute("aria-pressed", String(origin === "measured"));
}

/** A sign for paper. @param {string} path */
export const signOf = (path) => (UNMARKED.test(path) || textOf(path) === "" ? "" : { start: " ○", typed: "", measured: " ●" }[originOf(path)]);
