// Links to single steps: each step's own link carries the rig, and a reader who follows one lands on that step.

import { openGroup } from "./groups.js";
import { pack, stepAddress } from "./link.js";
import { typedRig } from "./state.js";

let newest = 0;

/** Gives every step's link the rig as it is now. @param {Element} [within] */
export async function renewStepLinks(within = document) {
  const mine = (newest += 1);
  if (!within.querySelector(".loft-steplink") || typeof CompressionStream === "undefined") return;
  const payload = await pack(typedRig());
  if (mine !== newest) return;
  for (const link of document.querySelectorAll(".loft-step[id] .loft-steplink")) {
    link.setAttribute("href", stepAddress(link.closest(".loft-step").id, payload));
  }
}

/** What is folded inside a place that a link led to. @param {HTMLElement | null} place */
export function unfold(place) {
  const folded = place?.closest(".loft-wreck")?.querySelector(":scope > .loft-whys");
  if (folded) folded.open = true;
}

/** Brings a step, a field or any other place to the reader. @param {HTMLElement} place */
export function goTo(place) {
  openGroup(place);
  for (let part = place.closest("details"); part; part = part.parentElement.closest("details")) part.open = true;
  unfold(place);
  place.scrollIntoView({ block: "start", behavior: "instant" });
  if (!place.matches("a, button, input, select, textarea")) place.setAttribute("tabindex", "-1");
  place.focus({ preventScroll: true });
}
