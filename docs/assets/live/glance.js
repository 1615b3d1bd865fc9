// <loft-home>: the rocket at one look; it is the demo's until the reader has a rig of their own, and only then is the core asked.
// <loft-begin>: a button for each starting rig. Both are complete before this runs. Does no sums and knows no trade.

import { putAnswer } from "./answer.js";
import { button, listOf, whyNot } from "./faults.js";
import { ask } from "./messenger.js";
import { goBack, onRig, replaceRig, standing, startName, typedRig } from "./state.js";

const PLAN = (field) => new URL(`../../plan/#plan-${field}`, import.meta.url).href;
const DEMO = "The demo rig is shown.";

export class LoftHome extends HTMLElement {
  #wanted = 0;
  #end = null;
  #asked = false;

  connectedCallback() {
    if (this.#end) return;
    this.state = this.querySelector(".loft-state");
    this.answer = this.querySelector(".loft-answer");
    this.#end = onRig((why) => why !== "storage" && this.refresh());
  }

  disconnectedCallback() {
    this.#end?.();
    this.#end = null;
  }

  /** The reader's rocket in the place of the demo's. @returns {Promise<void>} */
  async refresh() {
    const mine = (this.#wanted += 1);
    if (standing().built && !this.#asked) return;
    this.#asked = true;
    this.answer.classList.add("loft-waiting"); // it is not yet the rocket that the page is about
    const reply = await ask({ do: "home", fields: typedRig() }).catch((error) => ({ ok: false, broken: error.message }));
    if (mine !== this.#wanted) return;
    if (reply.ok) {
      putAnswer(this.answer, reply.html, reply.mark);
      this.answer.classList.remove("loft-waiting");
      this.answer.dataset.answer = String(Number(this.answer.dataset.answer) + 1);
      this.state.replaceChildren();
    } else if (reply.faults) {
      this.state.replaceChildren(`What is typed cannot be drawn yet. ${DEMO} `, listOf(reply.faults, PLAN));
    } else {
      this.state.textContent = `Your rocket could not be drawn (${whyNot(reply)}). ${DEMO}`;
    }
  }
}

export class LoftBegin extends HTMLElement {
  #end = null;

  connectedCallback() {
    if (this.#end) return;
    this.back = button("Undo: go back to the rig I had", goBack, "loft-back");
    this.back.hidden = true;
    this.append(this.back);
    this.addEventListener("click", ({ target }) => {
      const chosen = target.closest("[data-start]");
      if (chosen) replaceRig({ "rig.start": chosen.dataset.start }, "demo");
    });
    this.#end = onRig(() => this.#show());
    this.#show();
  }

  disconnectedCallback() {
    this.#end?.();
    this.#end = null;
  }

  #show() {
    const { waiting, demo } = standing();
    for (const one of this.querySelectorAll("[data-start]")) one.setAttribute("aria-pressed", String(one.dataset.start === startName()));
    this.back.hidden = !(waiting && demo);
  }
}
