// A form of thirty fields would stand between the reader and the answer, so what is not asked first is folded away, and in it each
// group of fields to its name and whether it holds anything of the reader's. Which groups are open is remembered while the tab lives. Knows groups and nothing of what is in them.

import { make, write } from "./faults.js";

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

/** The group's name becomes a button. @param {HTMLElement} group @param {() => void} turn */
function nameGroup(group, turn) {
  const legend = group.querySelector("legend");
  const button = make("button", { class: "loft-groupname" }, make("span", { text: legend.textContent.trim() }));
  button.type = "button";
  button.addEventListener("click", turn);
  legend.replaceChildren(button);
  set(group, !group.classList.contains("loft-folded"));
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
 */
export function foldGroups(form, alike) {
  const change = form.querySelector(".loft-change");
  if (WIDE.matches) change?.setAttribute("open", "");
  const groups = [...form.querySelectorAll("fieldset.loft-group:not(.loft-open)")];
  const names = remembered();
  groups.forEach((group) => set(group, names.has(nameOf(group, alike))));
  const turn = (turned) => {
    const [name, opened] = [nameOf(turned, alike), turned.classList.contains("loft-folded")];
    for (const group of groups) if (nameOf(group, alike) === name) set(group, opened);
    remember(name, opened);
  };
  groups.forEach((group) => nameGroup(group, () => turn(group)));
}

/** Says beside the name of a group, and of all that is folded, whether the reader has said anything in it. @param {HTMLFormElement} form @param {(field: HTMLElement) => boolean} mine */
export function tellMine(form, mine) {
  const count = (within) => [...within.querySelectorAll("[data-field]")].filter((field) => !field.hidden && mine(field)).length;
  const say = (place, number) => {
    const words = number ? `${number} yours` : "unchanged";
    const there = place.querySelector(".loft-whosegroup") ?? place.appendChild(make("span", { class: "loft-whosegroup" }));
    write(there, words);
  };
  for (const name of form.querySelectorAll(".loft-groupname")) say(name, count(name.closest(".loft-group")));
  const change = form.querySelector(".loft-change");
  if (change) say(change.querySelector("summary"), count(change));
}
