// On a narrow page a form of thirty fields stands between the reader and the answer, so there each group of fields folds
// away to its name. Which groups are open is remembered while the tab lives. Knows groups and nothing of what is in them.

import { make } from "./faults.js";

const KEY = "loftbook.open";
const WIDE = matchMedia("(min-width: 1100px)"); // as in calculator.css

function remembered() {
  try {
    return new Set(JSON.parse(sessionStorage.getItem(KEY) ?? "[]"));
  } catch {
    return new Set();
  }
}

/** @param {string} name @param {boolean} open */
function remember(name, open) {
  const names = remembered();
  if (open) names.add(name);
  else names.delete(name);
  try {
    sessionStorage.setItem(KEY, JSON.stringify([...names]));
  } catch {
    // then it is folded again on the next page
  }
}

/** @param {Element} group @param {boolean} open */
function set(group, open) {
  group.classList.toggle("loft-folded", !open);
  group.querySelector(".loft-groupname")?.setAttribute("aria-expanded", String(open));
}

/** What a group is remembered by: where one bay is shown at a time, the group of another bay counts as the same. @param {HTMLElement} group @param {boolean} alike */
const nameOf = ({ dataset }, alike) => (alike && dataset.bay ? dataset.group.slice(dataset.bay.length) : dataset.group);

/**
 * The group's name: a button where groups fold, plain words where they do not.
 * @param {HTMLElement} group @param {() => void} turn @param {boolean} folds on a wide page, too
 */
function nameGroup(group, turn, folds) {
  const legend = group.querySelector("legend");
  const name = legend.textContent.trim();
  if (WIDE.matches && !folds) return legend.replaceChildren(name);
  const button = make("button", { class: "loft-groupname", text: name });
  button.type = "button";
  button.addEventListener("click", turn);
  legend.replaceChildren(button);
  return set(group, !group.classList.contains("loft-folded"));
}

/** Opens the group that something is in. @param {Element} inside */
export function openGroup(inside) {
  const group = inside.closest(".loft-group");
  if (group) set(group, true);
  inside.closest(".loft-change")?.setAttribute("open", "");
}

/**
 * Makes the groups of a form fold.
 * @param {HTMLFormElement} form @param {boolean} alike the same group of every bay opens as one
 * @returns {() => void} ends it
 */
export function foldGroups(form, alike) {
  const change = form.closest(".loft-change"); // a whole rig: on a wide page it stands open, its groups folded
  if (WIDE.matches) change?.setAttribute("open", "");
  const groups = [...form.querySelectorAll(".loft-group:not(.loft-open)")];
  const names = remembered();
  groups.forEach((group) => set(group, names.has(nameOf(group, alike))));
  const turn = (turned) => {
    const [name, opened] = [nameOf(turned, alike), turned.classList.contains("loft-folded")];
    for (const group of groups) if (nameOf(group, alike) === name) set(group, opened);
    remember(name, opened);
  };
  const name = () => groups.forEach((group) => nameGroup(group, () => turn(group), Boolean(change)));
  name();
  WIDE.addEventListener("change", name);
  return () => WIDE.removeEventListener("change", name);
}
