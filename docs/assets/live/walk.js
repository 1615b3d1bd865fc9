// The walk-through's place: what is ticked and what was written is kept in this browser, and it is done only when all
// is ticked and every failed check has a reason. Knows the marks in the page, not what they mean.

import { button, make } from "./faults.js";
import { textOf } from "./state.js";

const STORE = "loftbook.walk";

/** @returns {{rig?: string, ticks: Record<string, boolean>, whys: Record<string, string>}} */
function stored() {
  try {
    const kept = JSON.parse(localStorage.getItem(STORE) ?? "{}");
    return { rig: kept.rig, ticks: { ...kept.ticks }, whys: { ...kept.whys } };
  } catch {
    return { ticks: {}, whys: {} };
  }
}

let memory = null; // where nothing can be stored

function store(place) {
  memory = place;
  try {
    localStorage.setItem(STORE, JSON.stringify(place));
    return "";
  } catch {
    return " This browser keeps nothing: do not close the page.";
  }
}

/**
 * Puts ticks and reasons back, and follows them from now on.
 * @param {HTMLElement} answer @param {() => void} forget ends an earlier call for the same place
 * @returns {() => void} ends this one
 */
export function keepPlace(answer, forget) {
  forget();
  const place = memory ?? stored();
  const boxes = [...answer.querySelectorAll("input[data-item]")];
  const reasons = [...answer.querySelectorAll("textarea[data-why]")];
  const where = make("p", { class: "loft-progress" });
  const said = make("span");
  said.setAttribute("role", "status");
  const next = button("Next", () => {
    const open = boxes.find((box) => !box.checked) ?? reasons.find((reason) => !reason.value.trim());
    open?.closest(".loft-walk-item").scrollIntoView({ block: "center" });
    open?.focus({ preventScroll: true });
  });
  next.setAttribute("aria-label", "Next that is open");
  where.append(said, next);
  const again = button("Start over", () => {
    if (!confirm("Forget all ticks and reasons?")) return;
    place.ticks = {};
    place.whys = {};
    show();
    save();
  });
  answer.prepend(where, again);

  const show = () => {
    for (const box of boxes) box.checked = place.ticks[box.dataset.item] === true;
    for (const reason of reasons) reason.value = place.whys[reason.dataset.why] ?? "";
  };
  let trouble = "";
  const tell = () => {
    const done = boxes.filter((box) => box.checked).length;
    const open = reasons.filter((reason) => !reason.value.trim()).length;
    const other = place.rig && place.rig !== textOf("rig.name") ? ` The ticks were made for ${place.rig}: start over for another rocket.` : "";
    const whole = done === boxes.length && open === 0;
    said.textContent = (whole ? "Done: all ticked." : `${done} of ${boxes.length} ticked.`) + (open ? ` ${open} failed ${open === 1 ? "check wants" : "checks want"} a reason before this is done.` : "") + other + trouble;
    where.dataset.done = whole ? "yes" : "no";
    next.hidden = whole;
  };
  const save = () => {
    trouble = store(place);
    tell();
  };
  const changed = ({ target }) => {
    if (target.dataset.item) place.ticks[target.dataset.item] = target.checked;
    else if (target.dataset.why) place.whys[target.dataset.why] = target.value;
    else return;
    if (!place.rig || Object.values(place.ticks).filter(Boolean).length <= 1) place.rig = textOf("rig.name");
    save();
  };
  answer.addEventListener("input", changed);
  show();
  tell();
  return () => answer.removeEventListener("input", changed);
}
