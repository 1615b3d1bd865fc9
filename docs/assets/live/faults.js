// What is wrong with what was typed, put where the reader can mend it. Every text goes in as text, never as HTML.

/** @typedef {{field: string, label?: string, message: string, readings?: string[]}} Fault */

/**
 * @param {string} tag @param {{class?: string, text?: string}} [what] @param {...Node} children @returns {HTMLElement}
 */
export function make(tag, what = {}, ...children) {
  const element = document.createElement(tag);
  if (what.class) element.className = what.class;
  if (what.text) element.textContent = what.text;
  element.append(...children);
  return element;
}

/** To write what is written already is work for the browser: every text that goes in or out lets it look at its styles anew. @param {HTMLElement} element @param {string} text */
export function write(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** @param {string} text @param {() => void} act @param {string} [extra] a class */
export function button(text, act, extra = "") {
  const element = make("button", { class: `loft-button ${extra}`.trim(), text });
  element.type = "button";
  element.addEventListener("click", act);
  return element;
}

/** @param {HTMLElement} field @returns {HTMLInputElement | HTMLSelectElement | null} */
export const controlOf = (field) => field.querySelector("input, select, textarea");

/** Why a reply holds no answer, in words. @param {{faults?: Fault[], broken?: string}} reply */
export const whyNot = (reply) => reply.faults?.map(({ message }) => message).join(" ") ?? reply.broken ?? "no reason given";

/** What is wrong with what was asked; of a reply that broke, that. @param {{faults?: Fault[], broken?: string}} reply @returns {Fault[]} */
export const faultsOf = (reply) => reply.faults ?? [{ field: "", message: `This could not be worked out: ${whyNot(reply)}.` }];

/** Marks one field, or clears it. @param {HTMLElement} field @param {Fault[]} faults @param {(text: string) => void} fill */
export function markField(field, faults, fill) {
  const [control, place] = [controlOf(field), field.querySelector(".loft-fault")];
  if (!control || !place) return;
  place.hidden = faults.length === 0;
  if (faults.length) control.setAttribute("aria-invalid", "true");
  else control.removeAttribute("aria-invalid");
  const focused = place.contains(document.activeElement);
  place.replaceChildren(
    ...faults.flatMap(({ message, readings = [] }) => [
      make("p", { text: message }),
      ...readings.map((reading) => button(`Use ${reading}`, () => fill(reading))),
    ]),
  );
  if (focused) control.focus();
}

/** A list of faults that have no field on this page. @param {Fault[]} faults @param {(field: string) => string} [addressOf] */
export function listOf(faults, addressOf) {
  const items = faults.map(({ field, label, message }) => {
    const item = make("li", { text: message });
    if (!field || !addressOf) return item;
    const link = make("a", { text: `Change ${label || field}` });
    link.href = addressOf(field);
    item.append(" ", link);
    return item;
  });
  return make("ul", { class: "loft-faults" }, ...items);
}
