// <loft-measured>: altimeters' files and timed descents, held in the page and nowhere else. What the reader says of each goes to
// the core with its text; the core makes every card, with its picture and what is wrong with it. Does no sums and knows no trade.

import { putAnswer } from "./answer.js";
import { faultsOf, listOf, make } from "./faults.js";
import { ask, onState } from "./messenger.js";
import { onRig, typedRig } from "./state.js";

const PLAN = new URL("../../plan/", import.meta.url).href;
const LONGEST_WAIT = 60_000; // ms; several large files, and perhaps the first that the calculators are asked

/** What is said of one flight: its text and name, and what stands in its controls. @typedef {Record<string, string | Record<string, string[]>>} Said */

export class LoftMeasured extends HTMLElement {
  /** By the kind of their cards. @type {{flight: Said[], timed: Said[]}} */
  #open = { flight: [], timed: [] };
  #wanted = 0;
  #ends = [];

  connectedCallback() {
    this.opener = this.querySelector(".loft-opener");
    this.state = this.querySelector(".loft-state");
    this.answer = this.querySelector(".loft-answer");
    if (!this.opener || !this.state || !this.answer || this.#ends.length) return;
    this.chooser = this.opener.querySelector("input[type=file]");
    this.pasted = this.opener.querySelector("textarea");
    this.note = make("div", { class: "loft-note" });
    this.note.setAttribute("role", "status");
    this.opener.after(this.note);
    this.opener.inert = false;
    for (const kind of ["click", "input", "change"]) this.addEventListener(kind, this);
    this.#ends = [
      onRig((why) => why !== "storage" && this.#any() && this.refresh()),
      onState(({ phase, message }) => this.#any() && ["starting", "failed"].includes(phase) && this.#tell(`${message}. What stands below is from before.`)),
    ];
  }

  disconnectedCallback() {
    for (const end of this.#ends) end();
    this.#ends = [];
    for (const kind of ["click", "input", "change"]) this.removeEventListener(kind, this);
  }

  /** @param {Event} event */
  handleEvent({ type, target }) {
    if (type === "click") return this.#act(target.closest("[data-act], [data-fill]"));
    if (target === this.chooser) return type === "change" && this.#read();
    if (!this.#note(target)) return undefined;
    return type === "change" && this.refresh();
  }

  #any = () => this.#open.flight.length + this.#open.timed.length > 0;

  /** The card that something stands in, and what is said there. @param {Element} inside @returns {{rows: Said[], place: number, said: Said} | null} */
  #card(inside) {
    const card = inside.closest("[data-card]");
    if (!card) return null;
    const rows = this.#open[card.dataset.card];
    return { rows, place: Number(card.dataset.place), said: rows[card.dataset.place] };
  }

  /** Keeps what stands in a control; says whether it is one of a card's. @param {HTMLInputElement | HTMLSelectElement} control */
  #note(control) {
    const said = this.#card(control)?.said;
    if (!said || !(control.dataset.said || control.dataset.limit)) return false;
    if (control.dataset.said) said[control.dataset.said] = control.value;
    else {
      const ends = [...control.closest("fieldset").querySelectorAll("input")].map(({ value }) => value);
      said.limits = { ...said.limits, [control.dataset.limit]: ends };
    }
    return true;
  }

  /** @param {HTMLElement | null} button */
  #act(button) {
    if (!button) return undefined;
    if (button.dataset.fill) {
      const control = document.getElementById(button.dataset.fill);
      control.value = button.dataset.text;
      control.focus();
      this.#note(control);
      return this.refresh();
    }
    const card = this.#card(button);
    switch (button.dataset.act) {
      case "open":
        return this.chooser.click();
      case "paste":
        if (this.#add("flight", { text: this.pasted.value, name: "pasted" })) this.pasted.value = "";
        return this.refresh();
      case "time":
        if (this.#add("timed", {})) this.refresh().then(() => document.getElementById(`timed-${this.#open.timed.length - 1}-high`)?.focus());
        return undefined;
      case "remove":
        card.rows.splice(card.place, 1);
        return this.refresh();
      case "found":
        delete card.said.limits;
        return this.refresh();
    }
    return undefined;
  }

  /** One more, if the core will take so many and so much. @param {"flight" | "timed"} kind @param {Said} said */
  #add(kind, said) {
    const { largest, together, most } = this.opener.dataset;
    const size = this.#open.flight.reduce((sum, { text }) => sum + text.length, said.text?.length ?? 0);
    const why =
      this.#open[kind].length >= Number(most) ? `more than ${most} are open` :
      said.text?.length > Number(largest) ? `it is longer than ${largest} characters` :
      size > Number(together) ? `all that is open would be longer than ${together} characters` : "";
    if (why) this.note.append(make("p", { text: `${said.name ?? "It"} was not opened: ${why}.` }));
    else this.#open[kind].push(said);
    return !why;
  }

  async #read() {
    const files = [...this.chooser.files];
    this.chooser.value = "";
    this.note.replaceChildren();
    for (const file of files) {
      try {
        // four bytes are the most that a character takes
        if (file.size > Number(this.opener.dataset.largest) * 4) throw new Error("It is larger than an altimeter's file can be.");
        this.#add("flight", { text: await file.text(), name: file.name });
      } catch (error) {
        this.note.append(make("p", { text: `${file.name} could not be read. ${error.message}` }));
      }
    }
    if (this.#any()) await this.refresh();
  }

  /** Asks for all that is open; a late answer is dropped. @returns {Promise<void>} */
  async refresh() {
    const mine = (this.#wanted += 1);
    this.#tell("Working it out.");
    const question = { do: "measured", fields: typedRig(), flights: this.#open.flight, timed: this.#open.timed }; // the core looks for `do` at the front
    const reply = await ask(question, { timeout: LONGEST_WAIT }).catch((error) => ({ broken: error.message }));
    if (mine !== this.#wanted) return;
    this.answer.classList.toggle("loft-stale", !reply.ok);
    if (!reply.ok) {
      const faults = faultsOf(reply);
      this.note.replaceChildren(listOf(faults, (field) => `${PLAN}#plan-${field}`));
      return this.#tell("What stands below is from before.");
    }
    this.note.querySelector(".loft-faults")?.remove();
    const { id, selectionStart, selectionEnd } = document.activeElement ?? {};
    putAnswer(this.answer, reply.html, reply.mark);
    this.#putBack();
    if (selectionStart !== null && this.answer.contains(document.activeElement) && document.activeElement.id === id) {
      document.activeElement.setSelectionRange?.(selectionStart, selectionEnd);
    }
    this.answer.dataset.answer = String(Number(this.answer.dataset.answer) + 1);
    this.dispatchEvent(new CustomEvent("loft-measured", { bubbles: true, detail: reply }));
    return this.#tell("What is open is told below.");
  }

  /** What was typed while the question was on its way goes over what was asked with. */
  #putBack() {
    for (const control of this.answer.querySelectorAll("[data-said], [data-limit]")) {
      const { said } = this.#card(control);
      const kept = control.dataset.said ? said[control.dataset.said] : said.limits?.[control.dataset.limit]?.[control.id.endsWith("-to") ? 1 : 0];
      if (kept !== undefined && control.value !== kept) control.value = kept;
    }
  }

  #tell(text) {
    this.state.textContent = text;
  }
}
