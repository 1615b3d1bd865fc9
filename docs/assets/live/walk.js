// The walk-through's place: what is ticked, the reasons and the name are kept in this browser, each with the mark of the words
// that it was given for: where the words have changed it is open again. It is cleared only when all before the flight is ticked,
// every failed check that takes a reason has one, a name says who looked, and no gate is closed; what comes after the flight has
// an end of its own. Knows the marks in the page, not what they mean.

import { keepAwake } from "./awake.js";
import { Deck } from "./cards.js";
import { button, make, write } from "./faults.js";
import { follow, keep, recall } from "./kept.js";
import { textOf } from "./state.js";

const STORE = "loftbook.walk";
const CHANGED = "Changed since you ticked it: look again.";
const UNMARKED = "Ticked in an earlier edition of this guide: look again.";
const REWORDED = "Changed since you wrote this: look again.";

/** ticks: item → mark of its words (`true` in early editions); whys: reasons and the name, as typed; marks: whose words they were written for. @typedef {{rig?: string, ticks: Record<string, string | boolean>, whys: Record<string, string>, marks: Record<string, string>}} Place */

/** Of a stored table what is text. @param {unknown} table @returns {Record<string, string>} */
const texts = (table) => Object.fromEntries(Object.entries(table ?? {}).filter(([, text]) => typeof text === "string"));

/** @returns {Place} */
function read() {
  try {
    const kept = JSON.parse(recall(STORE) ?? "{}");
    return { rig: typeof kept.rig === "string" ? kept.rig : undefined, ticks: { ...kept.ticks }, whys: texts(kept.whys), marks: texts(kept.marks) };
  } catch {
    return { ticks: {}, whys: {}, marks: {} };
  }
}

/** Changes what is kept, and only that: another tab may have ticked meanwhile. @param {(place: Place) => void} edit @returns {Promise<string>} what is wrong with keeping */
async function change(edit) {
  const place = read();
  edit(place);
  return (await keep(STORE, JSON.stringify(place))) ? "" : " This browser keeps nothing: do not close the page.";
}

/** What else changes the place. @param {() => void} act @returns {() => void} ends it */
const onElsewhere = (act) => follow([STORE], act);

const keyOf = (control) => control.dataset.why ?? control.dataset.name;
const textIn = (place, control) => place.whys[keyOf(control)] ?? "";
/** Whether what was written was written for these words. */
const stands = (place, control) => textIn(place, control).trim() !== "" && place.marks[keyOf(control)] === control.dataset.words;

/** A line in an item that says what became of what the reader gave; none without words. @param {Element} control @param {string} words @param {...Node} more */
function note(control, words, ...more) {
  const item = control.closest(".loft-walk-item");
  const there = item.querySelector(".loft-changed");
  const others = (control.getAttribute("aria-describedby") ?? "").split(" ").filter((id) => id && id !== `${control.id}-changed`);
  const told = words ? [...others, `${control.id}-changed`] : others;
  if (told.length) control.setAttribute("aria-describedby", told.join(" "));
  else control.removeAttribute("aria-describedby");
  if (!words) return there?.remove();
  if (there?.dataset.words === words) return undefined;
  there?.remove();
  const line = make("p", { class: "loft-changed" }, make("span", { text: words }), ...more);
  line.id = `${control.id}-changed`;
  line.dataset.words = words;
  return (control.closest(".loft-card-title") ?? control).after(line);
}

/** The bar that says how far it is: it stays while answers come and go, so that what it says is heard. @param {HTMLElement} answer @param {() => void} next @param {() => void} again */
function makeBar(answer, next, again) {
  const deck = new Deck(answer);
  const said = make("span", { class: "loft-said" });
  said.setAttribute("role", "status");
  const go = button("Next", next, "loft-next-open");
  go.setAttribute("aria-label", "Next that is open");
  const where = make("div", { class: "loft-progress" }, ...deck.bar, deck.whose, said, go);
  answer.before(where);
  answer.parentElement.append(make("p", { class: "loft-again" }, button("Start over", again)));
  return { where, said, go, deck };
}

/** @type {WeakMap<HTMLElement, {bar: ReturnType<typeof makeBar>, next: () => void, again: () => void}>} */
const bars = new WeakMap();

/** The bar of an answer; what its buttons do is that of the last call. */
function barOf(answer, next, again) {
  const there = bars.get(answer);
  if (there) return Object.assign(there, { next, again }).bar;
  const made = { next, again };
  made.bar = makeBar(answer, () => made.next(), () => made.again());
  bars.set(answer, made);
  return made.bar;
}

/**
 * Puts ticks, reasons and the name back, and follows them from now on.
 * @param {HTMLElement} answer @param {string} foreign why nothing of what stands there can be ticked; "" if it is the reader's own rig
 * @param {() => void} forget ends an earlier call for the same place @returns {() => void} ends this one
 */
export function keepPlace(answer, foreign, forget) {
  forget();
  const boxes = [...answer.querySelectorAll("input[data-item]")];
  const reasons = [...answer.querySelectorAll("textarea[data-why]")];
  const names = [...answer.querySelectorAll("input[data-name]")];
  const written = [...reasons, ...names];
  const ends = [...answer.querySelectorAll("[data-end]")];
  const gates = [...answer.querySelectorAll("[data-gate]")];
  const grounded = gates.length ? answer.querySelector(".loft-grounded strong").textContent : "";
  let trouble = "";

  const openBoxes = () => boxes.filter((box) => !box.checked);
  const unsaidIn = (controls) => controls.filter((control) => !stands(read(), control));
  const next = () => {
    const [open] = [...gates, ...openBoxes().filter((box) => !box.disabled), ...unsaidIn(reasons), ...unsaidIn(names)];
    open?.scrollIntoView({ block: "center" });
    (open?.querySelector(".loft-mend a") ?? open)?.focus({ preventScroll: true });
  };
  const again = () => {
    if (!confirm("Forget all ticks, reasons and the name?")) return;
    deck.restart();
    save((place) => Object.assign(place, { rig: undefined, ticks: {}, whys: {}, marks: {} }));
  };
  const { where, said, go, deck } = barOf(answer, next, again);

  const confirmed = (control) => {
    save((place) => (place.marks[keyOf(control)] = control.dataset.words));
    control.focus({ preventScroll: true });
  };
  const show = () => {
    const place = read();
    for (const box of boxes) {
      const kept = place.ticks[box.dataset.item];
      box.checked = kept === box.dataset.words;
      box.disabled = foreign !== "" || box.closest("[data-closed]") !== null;
      note(box, !kept || box.checked || foreign ? "" : kept === true ? UNMARKED : CHANGED);
    }
    for (const control of written) {
      const text = textIn(place, control);
      if (control.value !== text) control.value = text;
      control.disabled = foreign !== "" || control.closest("[data-closed]") !== null;
      const changed = text.trim() !== "" && !stands(place, control) && !foreign;
      note(control, changed ? REWORDED : "", ...(changed && !control.disabled ? [button(control.dataset.again, () => confirmed(control))] : []));
    }
    tell(place);
  };
  /** Which of the two ends is reached, by its name. @param {Place} place */
  const reachedOf = (place) => {
    const ticked = (chain) => foreign === "" && openBoxes().every((box) => box.closest("[data-chain]").dataset.chain !== chain);
    const written = unsaidIn(reasons).length === 0 && names.every((name) => stands(place, name));
    const demo = answer.querySelector(".loft-band").dataset.whose === "demo"; // nobody's rocket
    const lent = answer.querySelector("[data-lent]"); // nobody's ground test
    return { flight: ticked("flight") && written && gates.length === 0 && !demo && !lent, ground: ticked("ground") };
  };
  const tell = (place) => {
    const [open, unsaid, unnamed] = [openBoxes().length, unsaidIn(reasons).length, unsaidIn(names).length];
    const changed = answer.querySelectorAll(".loft-changed").length;
    const reached = reachedOf(place);
    const done = reached.flight && reached.ground;
    const much = done ? "Done: all ticked." : `${boxes.length - open} of ${boxes.length} ticked.`;
    const words = [
      foreign || grounded,
      much,
      reached.flight && !done ? "Cleared to fly." : "",
      changed ? `${changed} changed since: look again.` : "",
      unsaid && !grounded ? `${unsaid} failed ${unsaid === 1 ? "check wants" : "checks want"} a reason before this is done.` : "",
      unnamed && open === 0 && !grounded ? "Who looked at it is not written down." : "",
      place.rig && place.rig !== textOf("rig.name") ? `The ticks were made for ${place.rig}: start over for another rocket.` : "",
    ];
    const text = words.filter(Boolean).join(" ") + trouble;
    write(said, text);
    said.dataset.plain = text === [grounded, much].filter(Boolean).join(" ") ? "yes" : "no"; // nothing that a card's bar does not say
    where.dataset.done = done ? "yes" : "no";
    where.dataset.cleared = reached.flight ? "yes" : "no";
    where.dataset.grounded = grounded ? "yes" : "no";
    go.hidden = done;
    const isOpen = (card) => {
      const control = card.querySelector("input[data-item], textarea[data-why], input[data-name]");
      if (card.dataset.gate) return true;
      if (card.dataset.end) return !reached[card.dataset.end];
      return control?.dataset.item ? !control.checked : Boolean(control) && !stands(place, control);
    };
    for (const end of ends) {
      const { end: name } = end.dataset;
      const left = [...answer.querySelectorAll(`[data-chain="${name}"] .loft-walk-item:not([data-end])`)].filter(isOpen).length;
      end.dataset.reached = reached[name] ? "yes" : "no";
      end.querySelector(".loft-left").textContent = left === 1 ? "One card is open." : `${left} cards are open.`;
    }
    for (const line of answer.querySelectorAll(".loft-looked-name")) line.textContent = names.map((name) => (stands(place, name) ? textIn(place, name).trim() : "")).join("");
    keepAwake(!done && !foreign);
    deck.renew({
      isOpen,
      stands: (control) => stands(place, control),
      isWritten: (control) => textIn(place, control).trim() !== "",
      confirm: confirmed,
      again,
      foreign,
      started: Object.values(place.ticks).some(Boolean) || Object.values(place.whys).some((text) => text.trim() !== ""),
      reached,
    }, said);
  };
  const save = (edit) => {
    change(edit).then((wrong) => {
      if (wrong === trouble) return;
      trouble = wrong;
      show();
    });
    show();
  };
  const changed = ({ target }) => {
    if (!target.dataset.item && !keyOf(target)) return;
    save((place) => {
      if (keyOf(target)) {
        place.whys[keyOf(target)] = target.value;
        place.marks[keyOf(target)] = target.dataset.words;
      } else if (target.checked) place.ticks[target.dataset.item] = target.dataset.words;
      else delete place.ticks[target.dataset.item];
      if (!place.rig || Object.values(place.ticks).filter(Boolean).length <= 1) place.rig = textOf("rig.name");
    });
  };
  answer.addEventListener("input", changed);
  const end = onElsewhere(show);
  deck.begin();
  show();
  return () => {
    answer.removeEventListener("input", changed);
    deck.end();
    keepAwake(false);
    end();
  };
}

/**
 * Writes the name onto a card as long as it was given for what the card says; else there is a line to sign on.
 * @param {HTMLElement} answer @param {() => void} forget ends an earlier call for the same place @returns {() => void} ends this one
 */
export function showName(answer, forget) {
  forget();
  const show = () => {
    const place = read();
    for (const line of answer.querySelectorAll("[data-name]")) line.textContent = stands(place, line) ? textIn(place, line).trim() : "";
  };
  show();
  return onElsewhere(show);
}
