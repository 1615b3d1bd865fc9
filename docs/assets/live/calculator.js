// <loft-calculator>: a form and an answer that are complete before this runs; this makes the answer follow the form.
// Passes texts to the core and puts what comes back in place. Does no sums and knows nothing of rockets.

import { putAnswer } from "./answer.js";
import { belongs, followSwitch } from "./bays.js";
import { button, controlOf, listOf, make, markField, whyNot } from "./faults.js";
import { foldGroups, openGroup, tellMine } from "./groups.js";
import { ask, onState } from "./messenger.js";
import { showOrigin, wakeOrigin } from "./origin.js";
import { onRig, originOf, standing, textOf, type, typedRig } from "./state.js";

/** Where every field of a rig has its place. @param {string} field */
const placeOf = (field) => new URL(`../../plan/#plan-${field}`, import.meta.url).href;

const STALE = "These figures do not match what is typed.";
const DEMO = "What stands below is for the demo rig.";
const ELSEWHERE = new Set(["rig.start", "rig.bay", "rig.measured"]); // the rig bar, the switch and the marks say these
const CHATTER = 500; // ms without typing before a screen reader is told the result

/** @typedef {{ok: boolean, html?: string, mark?: string, summary?: string, broken?: string, faults?: import("./faults.js").Fault[]}} Reply */

/** What a field hangs on: `path=value|value&path=value`. @param {HTMLElement} field */
function conditionsOf(field) {
  const parts = field.dataset.when?.split("&") ?? [];
  return parts.map((part) => {
    const [path, values] = part.split(/=(.*)/s);
    return { path, values: values.split("|") };
  });
}

/** To hide what is hidden is work for the browser. @param {HTMLElement} one @param {boolean} away */
function hide(one, away) {
  if (one.hidden !== away) one.hidden = away;
}

/** What is the starting rig's is there to be typed over; who types before the next picture keeps that, and who has gone on is not taken back. @param {FocusEvent} event */
function selectStarting({ target }) {
  const starts = () => document.activeElement === target && originOf(target.closest("[data-field]").dataset.field) === "start";
  if (target.matches("input[type=text]") && starts()) requestAnimationFrame(() => starts() && target.select());
}

export class LoftCalculator extends HTMLElement {
  #conditions = new Map(); // what each field hangs on
  #wanted = 0;
  #led = 0; // of which question what leads is in place
  #answered = 0; // and of which one all is, or its refusal
  #run = null; // the question on its way
  #live = false; // an answer of the runtime is in place
  #phase = { phase: "idle", progress: 0, message: "" };
  #lost = false; // the last question got no answer at all
  #faulty = false; // the last answer was a refusal
  #faults = [];
  #summary = "";
  #said = "";
  /** Of which question an open part holds the answer, or waits for it. @type {WeakMap<Element, number>} */
  #filled = new WeakMap();
  #ends = [];
  #timer = 0;

  connectedCallback() {
    this.form = this.querySelector(".loft-form");
    this.state = this.querySelector(".loft-state");
    this.answer = this.querySelector(".loft-answer");
    this.more = this.querySelector(".loft-more"); // what is asked for behind that; the start has none
    if (!this.form || !this.state || !this.answer || this.#ends.length) return;
    this.answer.id ||= `${this.getAttribute("name")}-answer`;
    this.each = this.dataset.each ?? "rig";
    this.more?.addEventListener("toggle", ({ target }) => this.#fill([target]), true);
    this.fields = new Map([...this.form.querySelectorAll("[data-field]")].map((field) => [field.dataset.field, field]));
    for (const [path, field] of this.fields) {
      this.#conditions.set(field, conditionsOf(field));
      wakeOrigin(field, path);
    }
    foldGroups(this.form, this.each !== "rig");
    this.#adopt();
    this.#show();
    this.addEventListener("click", followSwitch);
    this.form.addEventListener("input", this);
    this.form.addEventListener("change", this);
    this.form.addEventListener("submit", this);
    this.form.addEventListener("focusin", selectStarting);
    this.#ends = [
      onRig((why) => {
        if (why === "storage") return;
        this.#show();
        this.refresh();
      }),
      onState((state) => {
        this.#phase = state;
        if (state.phase === "live" && this.#lost) this.refresh();
        else this.#tell();
      }),
    ];
  }

  disconnectedCallback() {
    for (const end of this.#ends) end();
    this.#ends = [];
    this.#wanted += 1; // an answer on its way is for nobody
    clearTimeout(this.#timer);
    this.removeEventListener("click", followSwitch);
  }

  /** @param {Event} event */
  handleEvent(event) {
    if (event.type === "submit") return event.preventDefault();
    const { name, value } = event.target;
    return name && this.fields.has(name) ? type(name, value) : undefined;
  }

  /** What was typed while this program was still on its way is the reader's, too. */
  #adopt() {
    const [arrival] = performance.getEntriesByType("navigation");
    if (arrival?.type !== "navigate") return; // a browser that puts old texts back after a reload
    for (const [path, field] of this.fields) {
      const control = controlOf(field);
      const given = control.options ? [...control.options].find((one) => one.defaultSelected)?.value : control.defaultValue;
      if (given !== undefined && control.value !== given) type(path, control.value);
    }
  }

  /** The rig's texts into the controls, and away with fields that say nothing about this rig or about what is shown of it. */
  #show() {
    for (const [path, field] of this.fields) {
      const [control, text] = [controlOf(field), textOf(path)];
      if (text !== undefined && control.value !== text) control.value = text;
      showOrigin(field, path);
    }
    for (const group of this.form.querySelectorAll(".loft-group")) {
      const here = belongs(group, this.each);
      const fields = [...group.querySelectorAll("[data-field]")];
      for (const field of fields) hide(field, !(here && this.#matters(field)) && !controlOf(field).hasAttribute("aria-invalid"));
      hide(group, fields.every((field) => field.hidden));
    }
    tellMine(this.form, ({ dataset }) => originOf(dataset.field) !== "start");
  }

  /** Whether a field says anything about this rig: all it hangs on have such values, and matter themselves. @param {HTMLElement} field */
  #matters(field) {
    if (ELSEWHERE.has(field.dataset.field)) return false;
    return this.#conditions.get(field).every(({ path, values }) => {
      const above = this.fields.get(path);
      return values.includes(textOf(path)) && (!above || this.#matters(above));
    });
  }

  /**
   * Asks for the answer to what is typed now: for what leads, then for the rest. One question is on its way at a time, then the
   * newest; a late answer is dropped. @returns {Promise<void>} when the newest answer is in place, all of it
   */
  refresh() {
    this.#wanted += 1;
    this.#tell();
    this.#run ??= this.#ask().finally(() => (this.#run = null));
    return this.#run;
  }

  async #ask() {
    while (this.#answered !== this.#wanted && this.isConnected) {
      const number = this.#wanted;
      const question = { calculator: this.getAttribute("name"), fields: typedRig() };
      let reply = await ask({ do: this.dataset.do ?? "calculate", ...question }).catch(() => null);
      if (number === this.#wanted && reply?.ok) {
        this.#lead(reply, number);
        if (this.more) reply = await ask({ do: "more", ...question }).catch(() => null);
        if (this.more && number === this.#wanted && reply?.ok) {
          putAnswer(this.more, reply.html, reply.mark);
          await this.#fill([...this.more.querySelectorAll("[data-part][open]")]);
        }
      }
      if (number === this.#wanted) this.#settle(reply, number);
    }
  }

  /** What leads goes in place; the rest stays the earlier rig's until it comes, and is marked so. @param {Reply} reply @param {number} number */
  #lead(reply, number) {
    [this.#led, this.#live, this.#lost] = [number, true, false];
    this.#summary = reply.summary ?? "";
    this.#mark([]);
    putAnswer(this.answer, reply.html, reply.mark);
    this.answer.dataset.led = String(number);
    this.#tell();
  }

  /** What parts of a plan hold is asked for while they are open, all at once, and anew for another rig. @param {HTMLDetailsElement[]} parts */
  async #fill(parts) {
    const number = this.#wanted;
    const open = parts.filter((part) => part.dataset.part && part.open && this.#filled.get(part) !== number);
    if (!open.length) return;
    for (const part of open) {
      this.#filled.set(part, number);
      part.lastElementChild.setAttribute("aria-busy", "true");
    }
    const reply = await ask({ do: "part", names: open.map(({ dataset }) => dataset.part), fields: typedRig() }).catch(() => null);
    for (const [index, part] of open.entries()) {
      if (this.#filled.get(part) !== number) continue;
      const made = reply?.parts?.[index];
      if (number !== this.#wanted || !made) this.#filled.delete(part); // opened again it is asked for again
      if (number === this.#wanted) this.#put(part.lastElementChild, made);
    }
    this.dispatchEvent(new CustomEvent("loft-answer", { bubbles: true, detail: { ok: Boolean(reply?.ok) } }));
  }

  /** @param {HTMLElement} body of a part @param {{html: string, mark: string} | undefined} made */
  #put(body, made) {
    if (made) putAnswer(body, made.html, made.mark);
    else {
      delete body.dataset.mark;
      body.replaceChildren(make("p", { text: "This could not be worked. Look above; then close it and open it again." }));
    }
    body.setAttribute("aria-busy", "false");
  }

  /** The end of a question: the rest, where there is one; or no answer. @param {Reply | null} reply @param {number} number */
  #settle(reply, number) {
    this.#answered = number;
    this.#lost = reply === null;
    if (reply?.ok) {
      this.answer.dataset.answer = String(Number(this.answer.dataset.answer ?? 0) + 1);
    } else if (reply) {
      this.#mark(reply.faults ?? [{ field: "", message: `The calculator itself broke (${whyNot(reply)}). Please report it with a link to this rig.` }]);
    }
    this.#tell();
    this.dispatchEvent(new CustomEvent("loft-answer", { bubbles: true, detail: { ok: Boolean(reply?.ok) } }));
  }

  /** @param {import("./faults.js").Fault[]} faults */
  #mark(faults) {
    if (!faults.length && !this.#faults.length) return; // as after nearly every keystroke: there are many fields
    this.#faulty = faults.length > 0;
    this.#faults = faults;
    for (const [path, field] of this.fields) {
      const mine = faults.filter((fault) => fault.field === path);
      if (mine.length) openGroup(field);
      markField(field, mine, (text) => {
        controlOf(field).focus();
        type(path, text);
      });
    }
    const others = faults.filter((fault) => !this.fields.has(fault.field));
    this.querySelector(":scope > .loft-elsewhere")?.remove();
    if (others.length) {
      this.state.before(make("div", { class: "loft-elsewhere" }, listOf(others, placeOf)));
    }
    this.#show();
  }

  /** Says how things stand, and marks figures that are not those of the rig as typed. */
  #tell() {
    const { phase, progress, message } = this.#phase;
    const current = this.#live ? !this.#faulty && !this.#lost : standing().built;
    const figures = this.#live ? (current ? "" : STALE) : current ? DEMO : `${STALE} ${DEMO}`;
    for (const part of [this.answer, this.more]) part?.classList.toggle("loft-stale", !current);
    const asking = this.#live && this.#answered !== this.#wanted;
    this.answer.setAttribute("aria-busy", String(asking && this.#led !== this.#wanted));
    this.more?.setAttribute("aria-busy", String(asking));
    this.state.dataset.phase = this.#faulty ? "fault" : phase;
    clearTimeout(this.#timer);

    if (phase === "failed") return this.#say(`The live figures have stopped. ${message} ${figures}`, "again");
    if (this.#faulty) {
      const names = [...new Set(this.#faults.map((fault) => fault.label || fault.field).filter(Boolean))].join(", ");
      return this.#say(`${STALE} ${names ? `Look again at: ${names}.` : ""}`);
    }
    if (phase === "starting") return this.#say(`${message || "Starting the live figures"}. ${figures}`, "meter", progress);
    if (!this.#live) return this.#say(DEMO);
    if (this.#answered !== this.#wanted) return undefined;
    const text = this.#summary || "These are the figures for your rig.";
    const first = this.#said.includes(DEMO) || this.state.querySelector("progress");
    this.#timer = setTimeout(() => this.#say(text), first ? 0 : CHATTER);
    return undefined;
  }

  /** @param {string} text @param {"" | "meter" | "again"} [extra] @param {number} [progress] */
  #say(text, extra = "", progress = 0) {
    if (this.#said !== text + extra) {
      this.#said = text + extra;
      const jump = make("a", { class: "loft-jump", text: "See the figures" });
      jump.href = `#${this.answer.id}`;
      const more = extra === "again" ? [button("Load this page again", () => location.reload())] : extra === "meter" ? [make("progress")] : [];
      more[0]?.setAttribute("aria-label", extra === "meter" ? "Starting the live figures" : "Load this page again");
      this.state.replaceChildren(make("span", { text }), ...more, jump);
    }
    const meter = this.state.querySelector("progress");
    if (meter && progress > 0) meter.value = progress;
  }
}
