// The switch between the bays, canopies or cords of a rig, and which groups of a form belong to the one that is shown. The
// switch in an answer is the core's; the one in the form is made here. What is chosen is a field of the rig, so it is
// remembered and travels in links.

import { make } from "./faults.js";
import { keysOf, showBay, shownKey, titleOf } from "./state.js";

/**
 * Whether a group of fields says anything about what is shown: the whole rig's groups, those of the bay shown, of the bay that
 * a canopy is packed in with another, and of a canopy that is a guest in the bay shown.
 * @param {HTMLElement} group @param {string} each "canopy", "bay", "cord", or "rig" for all of them
 */
export function belongs(group, each) {
  const { bay } = group.dataset;
  if (!bay || each === "rig") return true;
  const [shown, bays, canopies] = [shownKey(each), keysOf("bay"), keysOf("canopy")];
  if (bay === shown || shown === undefined) return true;
  if (each === "bay") return canopies.includes(bay) && !bays.includes(bay);
  return !bays.includes(shown) && bays.includes(bay) && group.dataset.group === `${bay}.bay`;
}

/** The switch of a form, for a calculator about one key at a time. @param {string} each @returns {HTMLElement} */
export function makeSwitch(each) {
  const row = make("div", { class: "loft-bays" });
  row.setAttribute("role", "group");
  row.setAttribute("aria-label", `Show which ${each}`);
  return row;
}

/** Lets the switch of a form say what there is to choose, and what is shown. @param {HTMLElement} row @param {string} each */
export function showSwitch(row, each) {
  const [keys, shown] = [keysOf(each), shownKey(each)];
  const there = [...row.children].map((one) => one.dataset.bay);
  if (keys.join(" ") !== there.join(" ")) {
    row.replaceChildren(
      ...keys.map((key) => {
        const one = make("button");
        Object.assign(one, { type: "button" }).dataset.bay = key;
        return one;
      }),
    );
  }
  for (const one of row.children) {
    const title = titleOf(one.dataset.bay);
    one.textContent = title[0].toUpperCase() + title.slice(1);
    one.setAttribute("aria-pressed", String(one.dataset.bay === shown));
  }
  row.hidden = keys.length < 2;
}

/** What a click on any switch means. @param {Event} event */
export function followSwitch({ target }) {
  const chosen = target.closest?.(".loft-bays [data-bay]");
  if (chosen) showBay(chosen.dataset.bay);
}
