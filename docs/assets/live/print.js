// On paper the form is gone, so what was typed is written out in words just before printing.

import { controlOf, make } from "./faults.js";

const textIn = (control) => (control.options ? (control.selectedOptions[0]?.textContent ?? "") : control.value);

function writeOut() {
  wipe();
  for (const form of document.querySelectorAll(".loft-form")) {
    const rows = [...form.querySelectorAll("[data-field]")]
      .filter((field) => !field.hidden && !field.closest(".loft-group")?.hidden)
      .map((field) => {
        const [label, control] = [field.querySelector("label"), controlOf(field)];
        return make("div", {}, make("dt", { text: label.textContent.trim() }), make("dd", { text: textIn(control) }));
      });
    form.after(make("dl", { class: "loft-typed" }, ...rows));
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
