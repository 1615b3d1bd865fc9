// <loft-handout>: one step, the field card, the walk-through or a pattern, made by the core from the reader's rig.
// Static content is in the page already; this follows the rig. Does no sums and knows no trade.

import { putAnswer } from "./answer.js";
import { followSwitch } from "./bays.js";
import { onBook, service } from "./book.js";
import { faultsOf, listOf, make } from "./faults.js";
import { savePattern } from "./file.js";
import { address, fragment, pack, takeApart } from "./link.js";
import { ask, onState } from "./messenger.js";
import { onRig, shortRig, standing, typedRig } from "./state.js";
import { goTo } from "./steps.js";
import { keepPlace, showName } from "./walk.js";

const PLAN = new URL("../../plan/", import.meta.url).href;
const STEP = new URL("../../step/", import.meta.url).href;
const DEMO = "What stands below is for the demo rig.";
const FOLLOWS = "The step that you were sent follows.";
const OTHER = "The step that you were sent cannot be shown. What stands below is another one, of the demo rig.";
const BEFORE = "What stands below is for the rig as it was before.";

const LARGEST_CODE = 2850; // characters of an address that a QR code can hold, with room for the longest anchor

/** The rig as it is now behind an anchor; the short form of it where the whole would not go into a code. @param {string} before */
async function behind(before) {
  const whole = fragment("", await pack(typedRig())).slice(1);
  return before.length + whole.length <= LARGEST_CODE ? whole : fragment("", await pack(shortRig())).slice(1);
}

/** @param {Error} error @returns {{ok: false, broken: string}} as the worker says it of a core that broke */
const broken = ({ message }) => ({ ok: false, broken: message });

export class LoftHandout extends HTMLElement {
  #wanted = 0;
  #ends = [];
  #live = false;
  #keep = () => {};
  #asked = {}; // of a pattern: which paper, which scale
  #run = null; // the newest choice on its way

  connectedCallback() {
    this.kind = this.getAttribute("name");
    this.state = this.querySelector(".loft-state");
    this.answer = this.querySelector(".loft-answer");
    if (!this.state || !this.answer || this.#ends.length) return;
    this.note = make("div", { class: "loft-note" });
    this.note.setAttribute("role", "status");
    this.told = make("div", { class: "loft-note loft-told-here" }); // the answer of a tool, beside its button
    this.told.setAttribute("role", "status");
    this.answer.before(this.note);
    this.#tools();
    document.querySelector(".loft-rigfold")?.removeAttribute("open"); // here the picture comes first
    this.#wake();
    this.answer.classList.toggle("loft-waiting", this.#missing()); // another step is no answer
    const moved = () => this.kind === "step" && takeApart(location.hash).payload === null && this.refresh(true);
    addEventListener("hashchange", moved);
    this.#ends = [
      () => removeEventListener("hashchange", moved),
      onRig((why) => why !== "storage" && this.refresh()),
      onBook(() => ["card", "walk"].includes(this.kind) && this.refresh()),
      onState(({ phase, message }) => {
        this.state.dataset.phase = phase;
        const below = !this.#missing() ? DEMO : phase === "failed" ? OTHER : FOLLOWS;
        if (!this.#live) this.#tell(phase === "idle" || phase === "live" ? "" : `${message.replace(/\.?$/, ".")} ${below}`);
      }),
    ];
  }

  disconnectedCallback() {
    for (const end of this.#ends) end();
    this.#ends = [];
    this.#wanted += 1; // an answer on its way would wake it again
    this.#keep();
  }

  /** @param {boolean} [turned] the reader turned to another step: begin at its top @returns {Promise<void>} */
  async refresh(turned = false) {
    const mine = (this.#wanted += 1);
    if (!this.#live) this.#wake();
    const request = { do: this.kind, fields: typedRig(), ...this.#asked };
    if (this.kind === "step") request.anchor = takeApart(location.hash).anchor;
    if (this.kind === "card" || this.kind === "walk") Object.assign(request, await this.#service());
    if (this.kind === "card" && typeof CompressionStream !== "undefined") request.link = [`${STEP}#`, await behind(STEP)];
    const below = this.#live ? "" : this.#missing() ? OTHER : DEMO;
    if (this.#live) this.answer.setAttribute("aria-busy", "true"); // of the rig before, until the answer comes
    const reply = await ask(request).catch((error) => ({ ok: false, faults: [{ field: "", message: `${error.message} ${below}` }] }));
    if (mine !== this.#wanted) return;
    this.answer.setAttribute("aria-busy", "false");
    this.answer.classList.remove("loft-waiting");
    if (!reply.ok) {
      this.note.replaceChildren(listOf(faultsOf(reply), (field) => `${PLAN}#plan-${field}`));
      this.answer.classList.toggle("loft-stale", this.#live);
      this.#wake();
      return;
    }
    this.#live = true;
    this.#tell("");
    this.note.replaceChildren();
    this.answer.classList.remove("loft-stale");
    putAnswer(this.answer, reply.html, reply.mark);
    this.answer.dataset.answer = String(Number(this.answer.dataset.answer) + 1);
    this.#wake();
    if (turned) {
      this.told.replaceChildren();
      goTo(this.answer.querySelector("h2"));
    }
  }

  /** What the logbook knows of service goes along; of a rig that is nobody's nothing is asked. */
  async #service() {
    const book = await service().catch(() => null);
    return book === null && standing().demo ? {} : { book, today: new Date().toLocaleDateString("sv") };
  }

  #wake() {
    if (this.kind === "walk") this.#keep = keepPlace(this.answer, this.#foreign(), this.#keep);
    if (this.kind === "card") this.#keep = showName(this.answer, this.#keep);
  }

  /** Why what stands there is not the reader's own rig; "" if it is. */
  #foreign() {
    if (this.#live) return this.answer.classList.contains("loft-stale") ? BEFORE : "";
    return standing().built ? "" : DEMO;
  }

  /** Whether the step that was sent is another one than stands here. */
  #missing() {
    const wanted = this.kind === "step" ? takeApart(location.hash).anchor : "";
    return Boolean(wanted) && !document.getElementById(wanted);
  }

  #tell(text) {
    this.state.textContent = text.trim();
  }

  /** What stands in the page already begins to work. */
  #tools() {
    const bar = this.querySelector(".loft-handbar"); // a walk has none
    for (const { dataset } of bar?.querySelectorAll('[data-choice][aria-pressed="true"]') ?? []) this.#asked[dataset.choice] = dataset.value;
    const share = bar?.querySelector('[data-act="share"]');
    if (share) share.hidden = !navigator.share;
    if (bar) bar.inert = false;
    this.addEventListener("click", this);
  }

  /** @param {Event} event */
  handleEvent(event) {
    followSwitch(event);
    const one = event.target.closest(".loft-handbar button");
    if (!one) return;
    const { print: size, choice, act } = one.dataset;
    if (size) this.#print(size);
    else if (choice) this.#choose(one);
    else {
      this.told.replaceChildren();
      one.after(this.told);
      this.#acts[act]();
    }
  }

  #acts = {
    copy: () => this.#give((url) => navigator.clipboard.writeText(url).then(() => this.#say("The link to this step is copied."), () => this.#offer(url))),
    share: () => this.#give((url) => navigator.share({ url, title: document.title })),
    code: () => this.#code(this.#anchor()),
    print: async () => {
      await this.#run; // those of the paper that was just chosen
      if (this.answer.classList.contains("loft-stale")) this.#say("These sheets are not those of the rig as typed: nothing is printed.");
      else print();
    },
    save: async () => {
      const reply = await savePattern(this.#asked.scale).catch(broken);
      if (reply.ok) this.#say("Saved where your browser puts downloads, in millimetres.");
      else this.told.replaceChildren(listOf(faultsOf(reply)));
    },
  };

  /** Which step is shown. */
  #anchor = () => takeApart(location.hash).anchor || this.answer.querySelector("h2").id;

  /** Does something with the address of the step that is shown. @param {(url: string) => Promise<void>} act */
  async #give(act) {
    try {
      await act(address(this.#anchor(), await pack(typedRig())));
    } catch (error) {
      if (error.name !== "AbortError") this.#say(`That did not work: ${error.message}`);
    }
  }

  /** @param {HTMLButtonElement} one of a few */
  #choose(one) {
    this.#asked[one.dataset.choice] = one.dataset.value;
    for (const other of one.parentElement.children) other.setAttribute("aria-pressed", String(other === one));
    this.#run = this.refresh();
  }

  #say(text) {
    this.told.replaceChildren(make("p", { text }));
  }

  /** A link to select by hand, where a page may not copy. @param {string} url */
  #offer(url) {
    const box = make("input", { class: "loft-linkbox" });
    Object.assign(box, { type: "text", readOnly: true, value: url });
    box.setAttribute("aria-label", "Link to this step");
    this.told.replaceChildren(make("p", { text: "This browser does not let a page copy. Copy it from here:" }), box);
    box.select();
  }

  /** @param {string} anchor */
  async #code(anchor) {
    const reply = await ask({ do: "qr", text: `${STEP}#${anchor}${await behind(STEP)}`, name: "This step with this rig" }).catch(broken);
    if (!reply.ok) return this.told.replaceChildren(listOf(faultsOf(reply)));
    const place = make("div", { class: "loft-code" });
    place.innerHTML = reply.html; // from our own core
    this.told.replaceChildren(place);
    return undefined;
  }

  #print(size) {
    document.documentElement.dataset.paper = size;
    print();
  }
}
