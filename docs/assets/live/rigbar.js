// <loft-rigbar>: which rig is on the page, and the ways to keep it, hand it on and get it back.

import { button, faultsOf, listOf, make, write } from "./faults.js";
import { LARGEST_FILE, readRig, saveRig } from "./file.js";
import { BadLink, address, pack, stepAddress, takeApart, unpack } from "./link.js";
import { ask } from "./messenger.js";
import { goBack, onRig, replaceRig, standing, startName, startNames, textOf, typedRig } from "./state.js";

const LEFT = {
  link: "This rig came out of a link. Your own rig is kept.",
  file: "This rig came out of a file. The rig you had is kept.",
  demo: "This is a starting rig. The rig you had is kept.",
  typed: "Another rig of yours is kept.",
  back: "Another rig of yours is kept.",
};
const BACK = { link: "Go back to my own rig", file: "Go back to the rig I had", demo: "Undo: go back to the rig I had" };

const SIZE = `A rig file is TOML or JSON of ${LARGEST_FILE / 1024} kB at most; one with all that can be said has about 9.`;
const MARKS = "The mark beside a field says whose its value is: ○ the starting rig's, ◐ yours, ● measured by you. Touch it to say otherwise.";

export class LoftRigbar extends HTMLElement {
  #end = null;

  connectedCallback() {
    if (this.#end) return;
    this.name = make("strong");
    this.whence = make("span", { class: "loft-whence" });
    this.back = make("p", { class: "loft-kept" });
    this.note = make("div", { class: "loft-note" });
    this.note.setAttribute("role", "status");
    this.chooser = make("input");
    Object.assign(this.chooser, { type: "file", accept: ".toml,.json", hidden: true });
    this.chooser.setAttribute("aria-label", "A rig file");
    this.chooser.addEventListener("change", () => this.#open());
    const row = make(
      "div",
      { class: "loft-row" },
      button("Save rig to a file", () => this.#save()),
      button("Open a rig file", () => this.chooser.click()),
      button("Copy a link with this rig", () => this.copyLink("")),
      button("Print", () => print()),
      this.chooser,
    );
    this.starts = make("div", { class: "loft-row loft-starts" }, make("span", { text: "Start from" }), ...startNames().map((name) => this.#start(name)));
    this.starts.setAttribute("role", "group");
    this.starts.setAttribute("aria-label", "Start from");
    const summary = make("summary", {}, "Rig: ", this.name, " ", this.whence);
    const fold = make("details", { class: "loft-rigfold" }, summary, row, this.starts, make("p", { class: "loft-marks", text: MARKS }), make("p", { class: "loft-marks", text: SIZE }));
    // where the demo is met first, the other starting rigs are one touch away
    fold.open = matchMedia("(min-width: 60em)").matches && document.querySelector('loft-calculator[name="plan"]') !== null;
    this.replaceChildren(fold, this.back, this.note);
    this.#end = onRig(() => this.#show());
    this.#show();
  }

  disconnectedCallback() {
    this.#end?.();
    this.#end = null;
  }

  /** @param {string} name of a starting rig */
  #start(name) {
    const one = button(name, () => {
      if (replaceRig({ "rig.start": name }, "demo")) this.tell(`This is the starting rig “${name}” now.${standing().waiting ? " The button above undoes it." : ""}`);
    });
    one.dataset.start = name;
    return one;
  }

  #show() {
    const { from, touched, waiting, trouble, demo } = standing();
    write(this.name, textOf("rig.name") || "without a name");
    const whence = demo ? "a starting rig" : from === "link" ? "from a link" : from === "file" ? "from a file" : "yours";
    write(this.whence, trouble ? `${whence}, not kept` : `${whence}${touched ? ", kept in this browser" : ""}`);
    for (const one of this.starts.querySelectorAll("button")) one.setAttribute("aria-pressed", String(demo && one.dataset.start === startName()));
    this.back.replaceChildren(
      ...(trouble ? [make("span", { class: "loft-trouble", text: `${trouble} Calculators work all the same; save the rig to a file.` })] : []),
      ...(waiting ? [make("span", { text: LEFT[from] ?? LEFT.typed }), button(BACK[from] ?? "Go to the other rig", () => this.#goBack())] : []),
    );
  }

  /** @param {string} text @param {object[]} [faults] @param {...Node} more */
  tell(text, faults = [], ...more) {
    const close = button("Close this note", () => this.note.replaceChildren(), "loft-quiet");
    this.note.replaceChildren(make("p", { text }), ...(faults.length ? [listOf(faults)] : []), ...more, close);
  }

  #goBack() {
    goBack();
    this.tell("The rig you had before is back.");
  }

  async #save() {
    try {
      const done = await saveRig();
      if (done.ok) this.tell(`Saved as ${done.name}, where your browser puts downloads.`);
      else this.tell("This rig cannot be saved as it stands:", faultsOf(done));
    } catch (error) {
      this.tell(`The rig could not be saved. ${error.message}`);
    }
  }

  async #open() {
    const [file] = this.chooser.files;
    this.chooser.value = "";
    if (!file) return;
    try {
      const read = await readRig(file);
      if (!read.ok) return this.tell(`${file.name} is not a rig that Loftbook can use. Nothing was changed.`, faultsOf(read));
      const changed = replaceRig(read.fields, "file");
      this.tell(changed ? `${file.name} is open.` : `${file.name} holds the rig you have already.`);
    } catch (error) {
      this.tell(`${file.name} could not be read. Nothing was changed. ${error.message}`);
    }
    return undefined;
  }

  /** @param {string} anchor "" or the id of a step */
  async copyLink(anchor) {
    const what = anchor ? "The link to this step with this rig" : "The link with this rig";
    let link = "";
    try {
      const payload = await pack(typedRig());
      link = anchor ? stepAddress(anchor, payload) : address("", payload);
      await navigator.clipboard.writeText(link);
      this.tell(`${what} is copied. Whoever has it can read the rig.`, [], ...this.#toLook(anchor, link));
    } catch {
      if (!link) return this.tell("This browser cannot put a rig into a link. Save the rig to a file instead.");
      const box = make("input", { class: "loft-linkbox" });
      Object.assign(box, { type: "text", readOnly: true, value: link });
      box.setAttribute("aria-label", what);
      this.tell(`${what} is below; this browser does not let a page copy it.`, [], box);
      box.select();
    }
    return undefined;
  }

  #toLook(anchor, link) {
    if (!anchor) return [];
    const look = make("a", { class: "loft-button", text: "Look at it" });
    look.href = link;
    return [look];
  }

  /** Reads the rig in the page's address, if there is one. @returns {Promise<string | null>} the anchor, if a rig was there */
  async readLink() {
    const { anchor, payload } = takeApart(location.hash);
    if (payload === null) return null;
    const bare = anchor ? `#${anchor}` : location.pathname + location.search;
    try {
      this.tell("Reading the rig in the link…");
      const read = await ask({ do: "read", text: await unpack(payload), name: "link" });
      this.#bare(bare); // so that loading the page again does not undo what is typed after
      if (!read.ok) this.tell("The rig in this link cannot be used. Your own rig is as it was.", faultsOf(read));
      else if (replaceRig(read.fields, "link")) this.tell("The rig in the link is on the page.");
      else this.note.replaceChildren();
    } catch (error) {
      if (error instanceof BadLink) this.#bare(bare);
      this.tell(`${error.message} Your own rig is as it was.`);
    }
    return anchor;
  }

  /** The address without a rig, if the reader is still on this page. @param {string} address */
  #bare(address) {
    if (this.isConnected) history.replaceState(history.state, "", address);
  }
}
