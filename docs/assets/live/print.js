// On paper the form is gone, so what was typed is written out in words just before printing.

import { controlOf, make } from "./faults.js";
import { signOf } from "./origin.js";
import { originOf } from "./state.js";

const MOST = 60; // fields that are written out on paper; of more only those that the reader said
const OTHERS = "Every field that is not listed is as in the starting rig.";
// what says nothing, or something else, on the sheets that a canopy is sewn from: whether it was bought, and an allowance that only an estimate uses
const OFF_SHEETS = { making: [".make.sewn", ".canopy.seam"] };
const textIn = (control) => (control.options ? (control.selectedOptions[0]?.textContent ?? "") : control.value);

/** @param {HTMLElement} field @returns {boolean} whether it is left off the sheets of its calculator */
function isOff(field) {
  const off = OFF_SHEETS[field.closest("loft-calculator")?.getAttribute("name")] ?? [];
  return off.some((end) => field.dataset.field.endsWith(end));
}

/**
 * One group of a form as it is filled in.
 * @param {HTMLElement} group @param {boolean} own only what the reader said @returns {HTMLElement[]} nothing for a group that is not asked for
 */
function rowsOf(group, own) {
  const rows = [...group.querySelectorAll("[data-field]")]
    .filter((field) => !field.hidden && !isOff(field) && !(own && originOf(field.dataset.field) === "start"))
    .map((field) => {
      const [label, control] = [field.querySelector("label"), controlOf(field)];
      return make("div", {}, make("dt", { text: label.textContent.trim() }), make("dd", { text: textIn(control) + signOf(field.dataset.field) }));
    });
  const title = group.querySelector(".loft-groupname > span") ?? group.querySelector("legend"); // beside it stands whose it is
  const name = title?.textContent ?? group.getAttribute("aria-label");
  const heading = make("p", { class: "loft-typed-group", text: name });
  return group.hidden || !rows.length ? [] : [heading, make("dl", {}, ...rows)];
}

function writeOut() {
  wipe();
  for (const form of document.querySelectorAll(".loft-form:not(.loft-logform)")) { // those of the logbook say nothing of a rig
    const whole = [...form.querySelectorAll("[data-field]")].filter((field) => !field.hidden).length > MOST;
    const groups = [...form.querySelectorAll(".loft-group")].flatMap((group) => rowsOf(group, whole));
    const marks = "○ the starting rig's, not said by you; ● measured by you";
    form.after(make("div", { class: "loft-typed" }, ...groups, make("p", { text: whole ? OTHERS : marks })));
  }
}

function wipe() {
  for (const list of document.querySelectorAll(".loft-typed")) list.remove();
}

/** Called once. */
export function beginPrint() {
  addEventListener("beforeprint", writeOut);
  addEventListener("afterprint", wipe);
}
