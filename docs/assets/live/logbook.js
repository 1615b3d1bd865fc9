// <loft-logbook>: what is written down, and the forms for it. The core reads what is typed, names the entry and says it in words;
// book.js keeps it. Does no sums and knows no trade.

import { addedTo, bearing, count, keep, lineOf, lines, newest, onBook } from "./book.js";
import { putAnswer } from "./answer.js";
import { button, controlOf, faultsOf, listOf, make, markField } from "./faults.js";
import { fileName, hand } from "./file.js";
import { keep as keepText, recall, takeNewer } from "./kept.js";
import { ask } from "./messenger.js";
import { keysOf, onRig, replaceRig, textOf, typedRig } from "./state.js";

const PLAN = new URL("../../plan/", import.meta.url).href;
const DRAFT = "loftbook.log.draft"; // what is typed and not yet written down
const BROUGHT = "loftbook.log.brought"; // what another page found of a flight
const AT_ONCE = 50; // entries that are shown before one asks for more
const LONGEST_WAIT = 120_000; // ms; a book of years
const LARGEST_FILE = 240_000_000; // bytes: four are the most that a character takes
const WIDEST = 1280; // px of a picture that is kept
const NOT_KEPT = "This browser keeps no logbook (a private window, storage switched off, or no room left).";
const DRAFT_LOST = "This browser keeps nothing of what is typed here (a private window, storage switched off, or no room left): it is gone when you leave this page.";

/** What another page found of a flight, as it was handed over; with null it is forgotten. @param {object | null} [thing] @returns {{told: string, found: object} | null} */
function brought(thing) {
  try {
    if (thing === undefined) {
      const there = JSON.parse(sessionStorage.getItem(BROUGHT) ?? "null");
      return typeof there?.told === "string" && typeof there.found === "object" ? there : null;
    }
    if (thing === null) sessionStorage.removeItem(BROUGHT);
    else sessionStorage.setItem(BROUGHT, JSON.stringify(thing));
  } catch {
    // then the entry is written without it
  }
  return null;
}

/** On any page: what a link brings of a flight is handed to the logbook's form. Called once. */
export function beginBringing() {
  document.addEventListener("click", ({ target }) => {
    const link = target.closest?.("[data-brings]");
    if (link) brought(JSON.parse(link.dataset.brings));
  });
}

const asked = (question, timeout) => ask(question, timeout ? { timeout } : undefined).catch((error) => ({ ok: false, broken: error.message }));

/** A picture small enough to keep, without what a camera writes beside it. @param {File} file */
async function shrunk(file) {
  const picture = await createImageBitmap(file);
  for (let wide = WIDEST; ; wide /= 1.5) {
    const scale = Math.min(1, wide / Math.max(picture.width, picture.height));
    const canvas = Object.assign(document.createElement("canvas"), { width: Math.max(1, picture.width * scale), height: Math.max(1, picture.height * scale) });
    canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
    const data = canvas.toDataURL("image/jpeg", 0.8);
    if (data.length < 500_000 || wide < 100) return data;
  }
}

export class LoftLogbook extends HTMLElement {
  #ends = [];
  #shown = AT_ONCE;
  #replaces = ""; // the entry that is being corrected
  #wanted = 0;
  #knew = 0;

  connectedCallback() {
    this.kinds = this.querySelector(".loft-kinds");
    this.forms = new Map([...this.querySelectorAll("form[data-kind]")].map((form) => [form.dataset.kind, form]));
    this.answer = this.querySelector(".loft-answer");
    if (!this.kinds || !this.answer || this.#ends.length) return;
    this.kinds.inert = false;
    this.note = make("div", { class: "loft-note" });
    this.note.setAttribute("role", "status");
    this.kinds.before(this.note);
    this.unkept = make("p", { class: "loft-trouble", text: DRAFT_LOST });
    this.unkept.setAttribute("role", "status");
    this.known = this.answer.querySelector(".loft-knownof");
    this.list = this.answer.querySelector(".loft-loglist");
    this.chooser = this.#chooser(".jsonl,.csv,.txt,.json,text/*", "A logbook's file", (file) => this.#bring(file));
    this.pictures = this.#chooser("image/*", "A picture", (file) => this.#addPicture(file));
    const row = make(
      "div",
      { class: "loft-row loft-noprint" },
      button("Save the book to a file", () => this.#save("jsonl")),
      button("Save it as a table", () => this.#save("csv")),
      button("Open a saved book", () => this.chooser.click()),
      button("Keep this rocket by name", () => this.#keepRocket()),
      this.chooser,
      this.pictures,
    );
    this.example = this.answer.querySelector(".loft-logexample"); // stands as long as nothing is in the book
    this.answer.append(row);
    for (const [kind, form] of this.forms) {
      form.addEventListener("submit", (event) => {
        event.preventDefault();
        this.#write(form, event.submitter);
      });
      form.addEventListener("input", () => this.#keepDraft(form));
      form.querySelector("[data-away]").addEventListener("click", () => this.#open(""));
      this.kinds.querySelector(`[data-kind="${kind}"]`).addEventListener("click", () => this.#open(form.hidden ? kind : ""));
    }
    const named = () => this.forms.has(location.hash.slice(1)) && this.#open(location.hash.slice(1));
    addEventListener("hashchange", named);
    this.known.addEventListener("click", ({ target }) => target.dataset.rocket && this.#openRocket(target.dataset.rocket));
    this.#ends = [
      () => removeEventListener("hashchange", named),
      onBook(() => this.#show()),
      onRig((why) => why !== "storage" && this.#tellKnown()),
    ];
    this.#recall();
    takeNewer([DRAFT]).then((were) => were && this.#recall());
    named();
    this.#show();
  }

  disconnectedCallback() {
    for (const end of this.#ends) end();
    this.#ends = [];
  }

  /** @param {string} accept @param {string} label @param {(file: File) => void} act */
  #chooser(accept, label, act) {
    const one = Object.assign(make("input"), { type: "file", accept, hidden: true });
    one.setAttribute("aria-label", label);
    one.addEventListener("change", () => {
      const [file] = one.files;
      one.value = "";
      if (file) act(file);
    });
    return one;
  }

  #say(text, faults = [], ...more) {
    this.note.replaceChildren(make("p", { text }), ...(faults.length ? [listOf(faults)] : []), ...more);
    this.note.scrollIntoView({ block: "nearest" });
  }

  // --- writing ---------------------------------------------------------------------------------------

  /** Opens the form of a kind and puts the others away. @param {string} kind "" for none @param {Record<string, string>} [values] */
  #open(kind, values) {
    this.#replaces = "";
    for (const [name, form] of this.forms) {
      form.hidden = name !== kind;
      this.kinds.querySelector(`[data-kind="${name}"]`).setAttribute("aria-expanded", String(name === kind));
    }
    const form = this.forms.get(kind);
    if (!form) return;
    this.#fit(form, values?.about);
    const day = form.elements.namedItem("day");
    day.value ||= new Date().toLocaleDateString("sv"); // year, month, day, as it is here
    for (const [name, value] of Object.entries(values ?? {})) {
      const control = form.elements.namedItem(name);
      if (control) control.value = value;
    }
    this.#tellBrought(form);
    form.querySelector("h2").focus({ preventScroll: true });
    form.scrollIntoView({ block: "start" });
  }

  /** The choice between what this rig has of it, and what a corrected entry was about. @param {HTMLFormElement} form @param {string} [also] */
  #fit(form, also) {
    const about = form.elements.namedItem("about");
    if (!about) return;
    const here = keysOf(form.dataset.each);
    const keys = also === undefined || here.includes(also) ? here : [...here, also];
    for (const option of about.options) option.hidden = option.disabled = !keys.includes(option.value);
    if (!keys.includes(about.value)) [about.value] = keys;
    about.closest(".loft-field").hidden = keys.length < 2;
  }

  /** What another page found of a flight goes into its entry. @param {HTMLFormElement} form */
  #tellBrought(form) {
    const line = form.querySelector(".loft-brought");
    const there = form.dataset.kind === "flight" ? brought() : null;
    line.hidden = !there;
    if (!there) return;
    line.replaceChildren(make("span", { text: `${there.told} ` }), button("Leave it out", () => {
      brought(null);
      line.hidden = true;
    }, "loft-quiet"));
  }

  /** @param {HTMLFormElement} form @returns {Record<string, string>} */
  static #valuesOf = (form) => Object.fromEntries(new FormData(form));

  async #keepDraft(form) {
    const kept = await keepText(DRAFT, JSON.stringify({ kind: form.dataset.kind, values: LoftLogbook.#valuesOf(form), replaces: this.#replaces }));
    if (kept) this.unkept.remove();
    else if (this.unkept.parentElement !== form) form.querySelector("h2").after(this.unkept);
  }

  #recall() {
    const draft = (() => {
      try {
        return JSON.parse(recall(DRAFT) ?? "null");
      } catch {
        return null; // nobody may look, or it is none of ours
      }
    })();
    if (!this.forms.has(draft?.kind)) return;
    this.#open(draft.kind, draft.values);
    this.#replaces = draft.replaces ?? "";
    this.#say("What you had typed and not yet written down is here again.");
  }

  /** @param {HTMLFormElement} form @param {HTMLButtonElement} by */
  async #write(form, by) {
    const { day, about = "", ...said } = LoftLogbook.#valuesOf(form);
    const there = form.querySelector(".loft-brought").hidden ? null : brought();
    by.disabled = true;
    const reply = await this.#enter({ kind: form.dataset.kind, day, about: form.dataset.each === "rig" ? "" : about, said, first: await this.#first(this.#replaces), found: there?.found ?? {} });
    by.disabled = false;
    const faults = reply.ok ? [] : faultsOf(reply);
    for (const field of form.querySelectorAll("[data-field]")) {
      markField(field, faults.filter((fault) => fault.field === field.dataset.field), (text) => {
        controlOf(field).value = text;
        controlOf(field).focus();
        this.#keepDraft(form);
      });
    }
    const others = faults.filter(({ field }) => ![...form.querySelectorAll("[data-field]")].some(({ dataset }) => dataset.field === field));
    const list = form.querySelector(":scope > .loft-faults");
    list.hidden = !others.length;
    list.replaceChildren(...listOf(others, (field) => `${PLAN}#plan-${field}`).children);
    if (!reply.ok) return form.querySelector("[aria-invalid]")?.focus();
    if (there) brought(null);
    keepText(DRAFT, null);
    form.reset();
    return this.#open("");
  }

  /** The line of the entry that is corrected: the new one is of the same rig. @param {string} name */
  #first = async (name) => (name && (await lineOf(name).catch(() => ""))) || "";

  /** Has the core read an entry, and keeps it. @param {object} told @returns {Promise<object>} the core's reply, or why it is not kept */
  async #enter(told) {
    const reply = await asked({ do: "enter", fields: typedRig(), made: new Date().toISOString(), ...told });
    if (!reply.ok) return reply;
    const { ok, ...entry } = reply;
    try {
      await keep([entry]);
      this.#say(`Written down and kept on this device: ${entry.told}. A browser may forget: save the book to a file now and then.`);
    } catch (error) {
      const save = button("Save this entry to a file", () => hand(`${entry.line}\n`, "application/jsonl", fileName(`${entry.rig} ${entry.day}`, "jsonl")));
      this.#say(`${NOT_KEPT} ${error.message} What is typed stays here.`, [], save);
      return { ok: false, faults: [{ field: "", message: "It is not kept: save it to a file above, or write it down elsewhere." }] };
    }
    return reply;
  }

  // --- the list ----------------------------------------------------------------------------------------

  async #show() {
    const mine = (this.#wanted += 1);
    try {
      const begun = performance.now();
      const [{ heads, more }, all] = [await newest(this.#shown), await count()];
      if (mine !== this.#wanted) return;
      const open = new Set([...this.list.querySelectorAll("details[open]")].map(({ dataset }) => dataset.name));
      const rows = heads.map((head) => this.#row(head, open.has(head.name)));
      const title = make("h2", { text: heads.length ? "What is written down" : "Nothing is written down on this device yet" });
      this.list.replaceChildren(title, ...rows, ...(more ? [button("Show older entries", () => ((this.#shown += AT_ONCE), this.#show()))] : []));
      this.list.dataset.count = all;
      this.example.hidden = all > 0;
      performance.measure("loftbook.book", { start: begun });
    } catch (error) {
      this.list.replaceChildren(make("p", { class: "loft-trouble", text: `${NOT_KEPT} ${error.message}` }));
    }
    await this.#tellKnown();
  }

  /** @param {import("./book.js").Entry} head @param {boolean} open */
  #row(head, open) {
    const body = make("div", { class: "loft-logbody" });
    const row = make("details", { class: "loft-logrow" }, make("summary", {}, make("span", { class: "loft-logday", text: head.day }), " ", make("span", { text: head.told }), make("span", { class: "loft-logrig", text: ` ${head.rig}` })), body);
    row.dataset.name = head.name;
    row.addEventListener("toggle", () => row.open && !body.childElementCount && this.#tellOf(head, body));
    row.open = open;
    return row;
  }

  /** @param {import("./book.js").Entry} head @param {HTMLElement} body */
  async #tellOf(head, body) {
    const line = await lineOf(head.name);
    const [reply, pictures] = [await asked({ do: "entry", lines: [line] }), await addedTo(head.name)];
    if (!reply.ok) return body.replaceChildren(listOf(faultsOf(reply)));
    const place = make("div");
    place.innerHTML = reply.entries[head.name]; // from our own core, escaped there
    const entry = JSON.parse(line);
    const row = make(
      "div",
      { class: "loft-row loft-noprint" },
      button("Correct it", () => this.#correct(head, entry)),
      button("Add a picture", () => ((this.pictures.dataset.of = head.name), this.pictures.click())),
      button("Strike it", () => this.#strike(head)),
    );
    const shown = pictures.map((one) => Object.assign(make("img", { class: "loft-logpicture" }), { src: JSON.parse(one).said["picture.data"], alt: `Picture added to: ${head.told}` }));
    return body.replaceChildren(place, ...shown, row);
  }

  #correct(head, entry) {
    this.#open(head.kind, { ...entry.said, day: head.day, about: entry.about ?? "" });
    this.#replaces = head.name;
    this.#say("What you write takes the place of that entry; the first stays in the book’s file.");
  }

  async #strike(head) {
    if (!confirm(`Strike this entry, with what it was before it was corrected? It counts no more; it stays in the book’s file.\n${head.told}`)) return;
    const reply = await this.#enter({ kind: "struck", day: head.day, said: {}, first: await this.#first(head.name) });
    if (!reply.ok) this.#say("It is not struck.", faultsOf(reply));
  }

  async #keepRocket() {
    const reply = await this.#enter({ kind: "kept", day: new Date().toLocaleDateString("sv"), said: {} });
    if (!reply.ok) this.#say("It is not kept.", faultsOf(reply));
  }

  /** A rocket of the shelf in place of the rig; the one that was there waits. @param {string} said */
  #openRocket(said) {
    if (replaceRig(JSON.parse(said), "file")) this.#say("It is the rig now. The one you had waits behind the rig’s bar.");
    else this.#say("It is the rig already.");
  }

  /** @param {File} file */
  async #addPicture(file) {
    const { of } = this.pictures.dataset;
    try {
      const data = await shrunk(file);
      const reply = await this.#enter({ kind: "picture", day: new Date().toLocaleDateString("sv"), said: { "picture.of": of, "picture.data": data } });
      if (!reply.ok) this.#say("The picture is not kept.", faultsOf(reply));
    } catch {
      this.#say(`${file.name} is no picture that this browser can read.`);
    }
  }

  /** What the book knows of the rig as it is typed. */
  async #tellKnown() {
    const mine = (this.#knew += 1);
    const bears = await bearing().catch(() => []);
    if (!bears.length) return this.known.replaceChildren();
    const reply = await asked({ do: "known", fields: typedRig(), lines: bears }, LONGEST_WAIT); // the core looks for `do` at the front
    if (mine !== this.#knew) return undefined;
    if (!reply.ok) return this.known.replaceChildren(listOf(faultsOf(reply), (field) => `${PLAN}#plan-${field}`));
    const part = (title) => make("section", {}, make("h2", { text: title }), make("div"));
    if (this.known.childElementCount !== 2) this.known.replaceChildren(part("Measured by you, of this rig"), part("Kept by name"));
    const [measured, shelf] = this.known.children;
    shelf.hidden = !reply.shelf;
    putAnswer(shelf.lastElementChild, reply.shelf, "");
    return putAnswer(measured.lastElementChild, reply.html, reply.mark);
  }

  // --- in and out ------------------------------------------------------------------------------------------

  /** @param {"jsonl" | "csv"} as */
  async #save(as) {
    try {
      const all = await lines();
      if (!all.length) return this.#say("There is nothing in the book yet.");
      const name = fileName(`${textOf("rig.name")} logbook ${new Date().toLocaleDateString("sv")}`, as);
      if (as === "jsonl") hand(`${all.join("\n")}\n`, "application/jsonl", name);
      else {
        const reply = await asked({ do: "table", lines: all }, LONGEST_WAIT);
        if (!reply.ok) return this.#say("The table could not be made.", faultsOf(reply));
        hand(reply.text, "text/csv", name);
      }
      return this.#say(`Saved as ${name}, where your browser puts downloads: ${all.length} entries, every picture and correction with them.`);
    } catch (error) {
      return this.#say(`The book could not be saved. ${error.message}`);
    }
  }

  /** @param {File} file */
  async #bring(file) {
    try {
      if (file.size > LARGEST_FILE) throw new Error("It is larger than a logbook can be.");
      const reply = await asked({ do: "book", text: await file.text() }, LONGEST_WAIT);
      if (!reply.ok) return this.#say(`${file.name} was not taken. Nothing in the book has changed.`, faultsOf(reply));
      const fresh = await keep(reply.entries);
      return this.#say(`${file.name}: ${fresh} new ${fresh === 1 ? "entry" : "entries"}; ${reply.entries.length - fresh} were in the book already.`);
    } catch (error) {
      return this.#say(`${file.name} was not taken. Nothing in the book has changed. ${error.message}`);
    }
  }
}
