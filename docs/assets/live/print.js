// On paper the form is gone, so what was typed is written out in words just before printing.

import { controlOf, make } from "./faults.js";
import { signOf } from "./origin.js";

const textIn = (control) => (control.options ? (control.selectedOptions[0]?.textContent ?? "") : control.value);

/** One group of a form as it is filled in. @param {HTMLElement} group @returns {HTMLElement[]} nothing for a group that is not asked for */
function rowsOf(group) {
  const rows = [...group.querySelectorAll("[data-field]")]
    .filter((field) => !field.hidden)
    .map((field) => {
      const [label, control] = [field.querySelector("label"), controlOf(field)];
      return make("div", {}, make("dt", { text: label.textContent.trim() }), make("dd", { text: textIn(control) + signOf(field.dataset.field) }));
    });
  const heading = make("p", { class: "loft-typed-group", text: group.querySelector("legend").textContent.trim() });
  return group.hidden || !rows.length ? [] : [heading, make("dl", {}, ...rows)];
}

function writeOut() {
  wipe();
  for (const form of document.querySelectorAll(".loft-form")) {
    const groups = [...form.querySelectorAll(".loft-group")].flatMap(rowsOf);
    form.after(make("div", { class: "loft-typed" }, ...groups, make("p", { text: "○ the starting rig's, not said by you; ● measured by you" })));
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
