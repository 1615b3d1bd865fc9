// Whole rigs beside each other: <loft-beside> with the buttons that put rigs there, and the same table under the mends of a plan. The core
// makes the table; this says which rigs stand in it, and takes one into the page at a touch, and out of it again. Knows no trade.

import { putAnswer } from "./answer.js";
import { button, listOf, make, whyNot, write } from "./faults.js";
import { readRig } from "./file.js";
import { ask, firstAnswer } from "./messenger.js";
import { keptRigs, nameOf, onRig, sameRig, standing, startName, startNames, takeRig, typedRig } from "./state.js";

const MOST = 4;
const PAUSE = 700; // ms without typing before the table follows: the page's calculator goes first

/**
 * A rig that stands in a table; take: puts it into the page and gives the way back, or null where it is there already.
 * @typedef {{name: string, fields: Record<string, string>, take?: () => (() => void) | null}} Side
 */

/** Which rigs the table in a place is of. @type {WeakMap<HTMLElement, Side[]>} */
const shown = new WeakMap();
/** Which question each place waits for. @type {WeakMap<HTMLElement, object>} */
const latest = new WeakMap();

/** A place for a table. */
export const placeBeside = () => make("div", { class: "loft-sides-place" });

/**
 * Asks for one more of them at a time: what was worked out is kept in the core, and others are answered in between.
 * @param {HTMLElement} place @param {Side[]} sides the first is what the others are held against
 * @returns {Promise<object | null>} the core's reply, null if another question was put after it
 */
export async function putBeside(place, sides) {
  latest.set(place, sides);
  const rigs = [];
  let reply = {};
  for (const { name, fields } of sides) {
    rigs.push({ name, fields });
    reply = await ask({ do: "beside", rigs }, { timeout: 60000 }).catch((error) => ({ broken: error.message }));
    if (latest.get(place) !== sides || !place.isConnected) return null;
    if (!reply.ok) break;
  }
  if (reply.ok) {
    shown.set(place, sides);
    putAnswer(place, reply.html, reply.mark);
  }
  return reply;
}

/** Why there is no table. */
export const whyNotBeside = (reply) => `These rigs could not be put beside each other: ${whyNot(reply)}`;

/** Says what is in the rig now, with the way back. @param {string} said @param {() => void} undo @param {HTMLElement} from */
export function tellTaken(said, undo, from) {
  const bar = document.querySelector("loft-rigbar");
  bar?.tell(`Done. ${said}`, [], button("Undo: as it was before", () => {
    undo();
    bar.tell("It is as it was before.");
  }));
  if (from.isConnected) bar?.scrollIntoView({ block: "nearest" });
}

/** Called once. */
export function beginBeside() {
  document.addEventListener("click", ({ target }) => {
    const asked = target.closest?.("[data-rig]");
    const side = asked && shown.get(asked.closest(".loft-sides-place"))?.[asked.dataset.rig];
    if (!side) return;
    const undo = side.take();
    if (undo) tellTaken(`On the page now: ${side.name}.`, undo, asked);
    else document.querySelector("loft-rigbar")?.tell("That is the rig on the page already.");
  });
}

export class LoftBeside extends HTMLElement {
  /** Those behind the rig as it is; null as long as nobody has chosen any. @type {Side[] | null} */
  #chosen = null;
  #asked = false;
  #timer = 0;
  #end = null;

  connectedCallback() {
    this.place = this.querySelector(".loft-sides-place");
    this.state = this.querySelector(".loft-sides-state");
    if (!this.place || !this.state || this.#end) return;
    this.chooser = make("input");
    Object.assign(this.chooser, { type: "file", accept: ".toml,.json", hidden: true });
    this.chooser.setAttribute("aria-label", "A rig file to put beside it");
    this.chooser.addEventListener("change", () => this.#open());
    this.bar = make("div", { class: "loft-sides-rows" });
    const fold = make("details", { class: "loft-sides-bar loft-noprint" }, make("summary", { text: "Put rigs here, leave some out" }), this.bar);
    fold.open = matchMedia("(min-width: 60em)").matches;
    this.faults = make("div");
    this.state.before(fold);
    this.state.after(this.faults);
    this.#end = onRig((why) => {
      if (why === "storage") return;
      this.#tools();
      this.#later();
    });
    this.#tools();
    if (this.#plain()) shown.set(this.place, this.#sides()); // what stands there already
    else firstAnswer.then(() => this.isConnected && this.#later());
  }

  disconnectedCallback() {
    this.#end?.();
    this.#end = null;
    clearTimeout(this.#timer);
  }

  /** Whether the table is to be the one that the page was built with. */
  #plain() {
    return !this.#asked && !this.#chosen && standing().built && !keptRigs().length;
  }

  /** All that are to stand there: the rig as it is, then what was chosen, or what lies nearest. @returns {Side[]} */
  #sides() {
    return [{ name: `As it is: ${nameOf(typedRig())}`, fields: typedRig() }, ...(this.#chosen ?? [this.#nearest()])];
  }

  /** The rig kept before; of one that is the reader's its starting rig; of a starting rig another one. */
  #nearest() {
    const [kept] = keptRigs();
    if (kept) return this.#side(`Kept before: ${nameOf(kept)}`, kept, "typed");
    return this.#start(standing().demo ? startNames().find((name) => name !== startName()) : startName());
  }

  #start(name) {
    return this.#side(`Starting rig: ${name}`, { "rig.start": name }, "demo");
  }

  /** One that can be taken; what was on the page then stands in its place. @param {string} name @param {Record<string, string>} fields @param {import("./state.js").Why} from @returns {Side} */
  #side(name, fields, from) {
    const side = { name, fields };
    side.take = () => {
      const [was, chosen] = [typedRig(), this.#sides().slice(1)];
      const undo = takeRig(fields, from);
      if (!undo) return null;
      const other = this.#side(`As it was: ${nameOf(was)}`, was, "typed");
      this.#choose(chosen.map((one) => (sameRig(one.fields, fields) ? other : one)));
      return () => {
        undo();
        this.#choose(chosen);
      };
    };
    return side;
  }

  /** @param {Side[]} sides */
  #choose(sides) {
    this.#chosen = sides;
    this.#tools();
    return this.refresh();
  }

  #add(side) {
    return this.#choose([...(this.#chosen ?? [this.#nearest()]), side]);
  }

  #later() {
    clearTimeout(this.#timer);
    if (!this.#plain()) this.place.setAttribute("aria-busy", "true"); // what stands there is of the rig before
    this.#timer = setTimeout(() => this.refresh(), PAUSE);
  }

  /** @returns {Promise<void>} */
  async refresh() {
    clearTimeout(this.#timer);
    if (this.#plain()) return;
    this.#asked = true;
    this.place.setAttribute("aria-busy", "true");
    write(this.state, "Working them out.");
    const reply = await putBeside(this.place, this.#sides());
    if (!reply) return;
    this.place.setAttribute("aria-busy", "false");
    this.place.classList.toggle("loft-stale", !reply.ok);
    write(this.state, reply.ok ? "" : whyNotBeside(reply));
  }

  #tools() {
    const sides = this.#sides();
    const full = sides.length >= MOST;
    const add = (text, make_) => {
      const one = button(text, () => this.#add(make_()));
      one.disabled = full;
      return one;
    };
    const file = button("A rig file", () => this.chooser.click());
    file.disabled = full;
    const kept = keptRigs().map((rig, at) => add(`${at ? "Kept earlier" : "The one kept before"}: ${nameOf(rig)}`, () => this.#side(`${at ? "Kept earlier" : "Kept before"}: ${nameOf(rig)}`, rig, "typed")));
    const hold = add("The rig as it is now", () => this.#side(`Held: ${nameOf(typedRig())}`, typedRig(), "typed"));
    const starts = startNames().map((name) => add(name, () => this.#start(name)));
    const out = sides.slice(1).map((side) => button(side.name, () => this.#choose(sides.slice(1).filter((one) => one !== side))));
    const told = full ? "Four are the most: leave one out first" : "Put beside it";
    const focused = this.bar.contains(document.activeElement) ? document.activeElement.textContent : "";
    this.bar.replaceChildren(
      this.#row(told, hold, ...kept, file, this.chooser),
      this.#row("A starting rig", ...starts),
      ...(out.length ? [this.#row("Leave out", ...out)] : []),
    );
    if (focused) ([...this.bar.querySelectorAll("button:not(:disabled)")].find((one) => one.textContent === focused) ?? this.bar.querySelector("button:not(:disabled)"))?.focus({ preventScroll: true });
  }

  /** @param {string} told @param {...Node} inside */
  #row(told, ...inside) {
    const row = make("div", { class: "loft-row loft-starts" }, make("span", { text: told }), ...inside);
    row.setAttribute("role", "group");
    row.setAttribute("aria-label", told);
    return row;
  }

  async #open() {
    const [file] = this.chooser.files;
    this.chooser.value = "";
    if (!file) return;
    this.faults.replaceChildren();
    const read = await readRig(file).catch((error) => ({ ok: false, faults: [{ field: "", message: error.message }] }));
    if (read.ok) this.#add(this.#side(`File: ${file.name}`, read.fields, "file"));
    else this.faults.replaceChildren(make("p", { text: `${file.name} is not a rig that Loftbook can use.` }), listOf(read.faults));
  }
}
