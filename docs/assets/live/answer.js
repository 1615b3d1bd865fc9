// Puts a new answer in the place of the old one without the reader losing their place: open parts stay open, the focus
// stays on the same thing, and what they were reading stays where it was on the screen. Knows no trade and no worker.

import { wakePictures } from "./picture.js";

const FOCUSABLE = "a[href], button, input, select, summary, textarea, [tabindex]";

/** What the reader has scrolled. To ask everything how far it is scrolled would lay out a whole plan. @type {WeakSet<EventTarget>} */
const moved = new WeakSet();
document.addEventListener("scroll", (event) => moved.add(event.target), { capture: true, passive: true });

/** A name for each open part that survives a new answer: its text, and which one of that text. @param {Element} answer */
function parts(answer) {
  const seen = new Map();
  return [...answer.querySelectorAll("details")].map((part) => {
    const text = part.id || part.querySelector("summary")?.textContent.trim() || "";
    const count = (seen.get(text) ?? 0) + 1;
    seen.set(text, count);
    return { part, name: `${count} ${text}` };
  });
}

/**
 * The named thing at the top of the screen, if the answer is what the reader is looking at, or the rest that stands below it.
 * @param {Element} answer
 */
function landmark(answer) {
  const whole = answer.closest(".loft-whole");
  const box = (whole ?? answer).getBoundingClientRect();
  if (box.top >= 0 || box.bottom <= 0) return null;
  const line = innerHeight / 3;
  const topOf = (one) => one.getBoundingClientRect().top;
  const all = whole ? [...whole.children].flatMap((half) => [...half.children]) : [...answer.children];
  const parts = all.filter((part) => topOf(part) <= line);
  for (const part of parts.reverse()) { // only the part at the line is looked into: to lay out a whole plan takes long
    const named = [part, ...part.querySelectorAll("[id]")].filter((one) => one.id && one.getClientRects().length);
    const chosen = named.filter((one) => topOf(one) <= line).at(-1);
    if (chosen) return { id: chosen.id, top: topOf(chosen) };
  }
  return null;
}

/**
 * Leaves what stands there already as it is: the worked example is the demo rig's live answer, and to lay it out again takes long.
 * @param {HTMLElement} answer @param {string} html from our own core, escaped there @param {string} mark of its words, made there too
 */
export function putAnswer(answer, html, mark) {
  if (mark && answer.dataset.mark === mark) return;
  answer.dataset.mark = mark;
  const old = parts(answer);
  const before = new Map(old.map(({ part, name }) => [name, part.open]));
  const focusables = [...answer.querySelectorAll(FOCUSABLE)];
  const focus = focusables.indexOf(document.activeElement);
  const focusPart = old.find(({ part }) => part.querySelector("summary") === document.activeElement)?.name;
  const focusId = focus < 0 ? "" : document.activeElement.id;
  const focusBay = focus < 0 ? "" : (document.activeElement.closest(".loft-bays [data-bay]")?.dataset.bay ?? "");
  const scrolled = [...answer.querySelectorAll(".loft-scroll")].map((box) => (moved.has(box) ? box.scrollLeft : 0));
  const place = landmark(answer);

  answer.classList.add("loft-replaced");
  answer.innerHTML = html;
  wakePictures(answer);

  const now = parts(answer);
  for (const { part, name } of now) if (before.has(name)) part.open = before.get(name);
  [...answer.querySelectorAll(".loft-scroll")].forEach((box, index) => {
    if (scrolled[index]) box.scrollLeft = scrolled[index];
  });
  if (focus >= 0) {
    const chosen = [...answer.querySelectorAll(".loft-bays [data-bay]")].find((one) => one.dataset.bay === focusBay);
    const summary = focusPart && now.find(({ name }) => name === focusPart)?.part.querySelector("summary");
    const again = chosen || (focusId && document.getElementById(focusId)) || summary || answer.querySelectorAll(FOCUSABLE)[focus];
    again?.focus({ preventScroll: true });
  }
  const same = place && document.getElementById(place.id);
  if (same) scrollBy({ top: same.getBoundingClientRect().top - place.top, behavior: "instant" });
}
