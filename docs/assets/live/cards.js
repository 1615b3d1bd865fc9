// The walk-through a card at a time: which card is shown, and what its buttons say and do. What stands on a card, what is ticked
// and what is open is the page's and walk.js's: here an item is only shown, ticked by its own box, and turned.

import { button, make } from "./faults.js";

const VIEW = "loftbook.walk.view";
const SWIPE = 60; // px that a finger goes sideways
const TYPING = "input:not([type=checkbox]), textarea, select, [contenteditable], .loft-chart, [role=dialog]";

/**
 * How the walk stands, told by walk.js: what is open, what closes a card, whose rig it is, and the acts that change what is kept.
 * @typedef {{isOpen: (card: Element) => boolean, stands: (control: Element) => boolean, isWritten: (control: Element) => boolean,
 *   confirm: (control: Element) => void, again: () => void, foreign: string, started: boolean, reached: Record<string, boolean>}} Told
 */

/** @type {"cards" | "list" | null} where nothing can be stored */
let memory = null;

function viewKept() {
  try {
    return memory ?? localStorage.getItem(VIEW) ?? "cards";
  } catch {
    return "cards";
  }
}

function keepView(view) {
  memory = view;
  try {
    localStorage.setItem(VIEW, view);
  } catch {
    // then it is kept while the page is open
  }
}

const boxOf = (card) => card.querySelector("input[data-item]");
const textOf = (card) => card.querySelector("textarea[data-why], input[data-name]");
const chainOf = (card) => card.closest("[data-chain]").dataset.chain;
const titleOf = (card) => [...card.querySelectorAll(".loft-card-title")].find((title) => title.getClientRects().length) ?? card;

/** The buttons of the cards of one answer: they stay while answers come and go. */
export class Deck {
  #answer;
  #host;
  /** @type {Told} */
  #told;
  #said;
  #at = "";
  #turned = false;
  #ends = [];
  #swipe = null;

  /** @param {HTMLElement} answer */
  constructor(answer) {
    this.#answer = answer;
    this.#host = answer.closest("loft-handout");
    this.at = make("strong", { class: "loft-at" });
    this.back = button("←", () => this.#step(-1), "loft-turn-card");
    this.on = button("→", () => this.#step(1), "loft-turn-card");
    this.back.setAttribute("aria-label", "The card before");
    this.on.setAttribute("aria-label", "The next card");
    this.view = button("", () => this.#change(), "loft-view");
    const offline = make("loft-offline");
    offline.setAttribute("brief", "");
    this.whose = make("p", { class: "loft-band" }); // where a card scrolls, what stands across the sheet would scroll away
    this.strip = make("p", { class: "loft-strip" });
    this.bar = [this.back, make("p", { class: "loft-count" }, this.at, " · ", offline), this.on, this.view];
    this.not = button("Not right", () => this.#notRight(), "loft-not-right");
    this.main = button("", () => this.#act(), "loft-button-first loft-main");
    this.acts = make("div", { class: "loft-walk-acts" }, this.strip, this.not, this.main);
    answer.after(this.acts);
  }

  #cards() {
    return [...this.#answer.querySelectorAll(".loft-walk-item")];
  }

  #card() {
    return this.#answer.querySelector(".loft-now");
  }

  /** What a card is called through answers that come and go. */
  static #nameOf = (card) => card.id || card.querySelector(".loft-card-title").id;

  /** The card to begin with: what must be made safe first, then what is open, failures before all else. */
  #first() {
    const cards = this.#cards();
    const { foreign, started, reached, isOpen } = this.#told;
    const open = (chain) => cards.find((card) => chainOf(card) === chain && isOpen(card));
    const ends = (chain) => cards.find((card) => card.dataset.end === chain);
    if (foreign || !started) return cards[0];
    if (reached.ground) return reached.flight ? ends("ground") : open("flight");
    const down = cards.some((card) => chainOf(card) === "ground" && boxOf(card)?.checked);
    if (down) return open("ground");
    return reached.flight ? ends("flight") : open("flight");
  }

  /**
   * Shows things as they stand. What is said of the whole walk stands over the buttons, where it moves no card; in a list in the bar.
   * @param {Told} told @param {HTMLElement} said
   */
  renew(told, said) {
    this.#said = said;
    this.#told = told;
    const view = viewKept();
    this.#host.dataset.view = view;
    this.view.textContent = view === "cards" ? "As a list" : "As cards";
    if (view === "cards") this.not.before(said);
    else this.back.before(said);
    const band = this.#answer.querySelector(".loft-band");
    this.whose.textContent = band.textContent;
    this.whose.dataset.whose = band.dataset.whose;
    this.strip.textContent = this.#answer.querySelector(":scope > :is(.loft-strip, .loft-grounded)")?.textContent ?? "";
    const cards = this.#cards();
    const there = cards.find((card) => Deck.#nameOf(card) === this.#at);
    this.#put(there && this.#turned ? there : this.#first());
  }

  /** @param {Element} card */
  #put(card) {
    const cards = this.#cards();
    for (const one of cards) one.classList.toggle("loft-now", one === card);
    this.#at = Deck.#nameOf(card);
    const chain = cards.filter((one) => chainOf(one) === chainOf(card));
    this.at.textContent = `${chain.indexOf(card) + 1} of ${chain.length}`;
    this.back.disabled = card === cards[0];
    this.on.disabled = card === cards.at(-1);
    const [main, not] = this.#words(card);
    this.main.textContent = main;
    this.not.textContent = not;
    this.not.hidden = not === "";
    const details = card.querySelector(".loft-not");
    if (details) this.not.setAttribute("aria-expanded", String(details.open));
    else this.not.removeAttribute("aria-expanded");
    this.#host.dataset.ticked = boxOf(card)?.checked ? "yes" : "no";
  }

  /** What the two buttons say. @param {HTMLElement} card */
  #words(card) {
    const { foreign, isOpen, stands, isWritten, reached } = this.#told;
    const [box, text, end] = [boxOf(card), textOf(card), card.dataset.end];
    const not = card.querySelector(".loft-not") ? "Not right" : "";
    if (end === "flight") return [reached.flight ? "Down again: after landing" : "To what is open", reached.flight ? "" : "Called off"];
    if (end) return [reached.ground ? "Start over for another flight" : "To what is open", ""];
    if (card.dataset.gate) return ["Change the rig", "Read on"];
    if (foreign) return ["Next", not];
    if ((box ?? text)?.disabled) return ["Closed: to what fails", not];
    if (box) return [box.checked ? "Ticked: to what is open" : card.dataset.act, not];
    if (text) return [stands(text) ? "Written: to what is open" : isWritten(text) ? text.dataset.again : card.dataset.act, ""];
    return [isOpen(card) ? card.dataset.act : "Go on", not];
  }

  #act() {
    const { foreign, stands, isWritten, confirm, again, reached } = this.#told;
    const card = this.#card();
    const [box, text, end] = [boxOf(card), textOf(card), card.dataset.end];
    if (end) {
      if (end === "ground" && reached.ground) return again();
      return end === "flight" && reached.flight ? this.#step(1) : this.#toOpen(card);
    }
    if (card.dataset.gate) return (card.querySelector(".loft-mend a[href*='#']") ?? card.querySelector(".loft-mend a")).click();
    if (foreign) return this.#step(1);
    if ((box ?? text)?.disabled) return this.go(this.#cards().find((one) => one.dataset.gate) ?? this.#cards()[0]);
    if (text && !stands(text)) {
      if (isWritten(text)) confirm(text);
      else return text.focus();
    }
    const details = card.querySelector(".loft-not");
    if (details) details.open = false;
    if (box && !box.checked) box.click();
    return box || text ? this.#toOpen(card) : this.#step(1);
  }

  /** What is not right is not ticked either. */
  #notRight() {
    const card = this.#card();
    if (card.dataset.end) return this.go(this.#cards().find((one) => chainOf(one) === "ground"));
    const details = card.querySelector(".loft-not");
    if (!details) return this.#step(1);
    details.open = !details.open;
    this.not.setAttribute("aria-expanded", String(details.open));
    if (!details.open) return undefined;
    const box = boxOf(card);
    if (box.checked && !box.disabled) box.click();
    const said = details.querySelector("p");
    said.setAttribute("tabindex", "-1");
    said.focus({ preventScroll: true });
    return said.scrollIntoView({ block: "nearest", behavior: "instant" });
  }

  /** The next card of the same chain that is open, else an earlier one, else its end. @param {Element} card */
  #toOpen(card) {
    const chain = this.#cards().filter((one) => chainOf(one) === chainOf(card));
    const from = chain.indexOf(card) + 1;
    const open = [...chain.slice(from), ...chain.slice(0, from - 1)].find((one) => !one.dataset.end && this.#told.isOpen(one));
    this.go(open ?? chain.at(-1));
  }

  #step(by) {
    const cards = this.#cards();
    const next = cards[cards.indexOf(this.#card()) + by];
    if (next) this.go(next);
  }

  /** Back to where it begins. */
  restart() {
    this.#turned = false;
  }

  /** Turns to a card: its heading is heard. @param {HTMLElement} card */
  go(card) {
    this.#turned = true;
    this.#put(card);
    if (this.#host.dataset.view !== "cards") return;
    this.#toTop();
    titleOf(card).focus({ preventScroll: true });
  }

  /** The card's top comes to stand under the bar, which is as high as what it has to say. */
  #toTop() {
    const bar = this.whose.parentElement;
    this.#answer.style.scrollMarginTop = `${bar.offsetHeight + parseFloat(getComputedStyle(bar).top)}px`;
    this.#answer.scrollIntoView({ block: "start", behavior: "instant" });
  }

  #change() {
    const view = viewKept() === "cards" ? "list" : "cards";
    keepView(view);
    this.#turned = false;
    this.renew(this.#told, this.#said);
    const card = this.#card();
    if (view === "cards") this.#toTop();
    else card.scrollIntoView({ block: "center", behavior: "instant" });
    this.view.focus({ preventScroll: true });
  }

  // --- a finger and the arrow keys ---------------------------------------------------------------

  begin() {
    const on = (target, name, act) => {
      target.addEventListener(name, act);
      this.#ends.push(() => target.removeEventListener(name, act));
    };
    on(document, "keydown", (event) => {
      const way = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
      if (!way || event.defaultPrevented || event.altKey || event.ctrlKey || event.metaKey || event.shiftKey) return;
      if (this.#host.dataset.view !== "cards" || event.target.closest?.(TYPING)) return;
      event.preventDefault();
      this.#step(way);
    });
    on(this.#answer, "focusin", () => (this.#turned = true)); // what the reader has a hand on is not turned for them
    on(this.#answer, "pointerdown", (event) => {
      this.#turned = true;
      const counts = event.pointerType === "touch" && event.isPrimary && !event.target.closest(TYPING);
      this.#swipe = counts ? { x: event.clientX, y: event.clientY } : null;
    });
    on(this.#answer, "pointercancel", () => (this.#swipe = null));
    on(this.#answer, "pointerup", (event) => {
      const from = this.#swipe;
      this.#swipe = null;
      if (!from || this.#host.dataset.view !== "cards") return;
      const [x, y] = [event.clientX - from.x, event.clientY - from.y];
      if (Math.abs(x) > SWIPE && Math.abs(x) > 2 * Math.abs(y)) this.#step(x < 0 ? 1 : -1);
    });
    // a link to what fails, from an item that is closed by it
    on(this.#answer, "click", (event) => {
      if (!event.target.closest("a[href='#walk-grounded']")) return;
      const gate = this.#cards().find((card) => card.dataset.gate);
      if (gate && this.#host.dataset.view === "cards") this.#put(gate);
    });
  }

  end() {
    for (const end of this.#ends.splice(0)) end();
  }
}
