// The switch between the bays, canopies or cords of a rig, which is the core's, and which groups of a form belong to the one that
// is shown. What is chosen is a field of the rig, so it is remembered and travels in links.

import { keysOf, showBay, shownKey } from "./state.js";

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

/** What a click on any switch means. @param {Event} event */
export function followSwitch({ target }) {
  const chosen = target.closest?.(".loft-bays [data-bay]");
  if (chosen) showBay(chosen.dataset.bay);
}
