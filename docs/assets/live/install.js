// <loft-install>: what is said of putting the guide on the device stands in the page; where this browser offers it itself, a button does it.

import { button } from "./faults.js";

/** What the browser keeps for the reader's yes; null where it offers nothing. @type {Event | null} */
let offer = null;
/** @type {Set<LoftInstall>} */
const shown = new Set();

addEventListener("beforeinstallprompt", (event) => {
  event.preventDefault(); // nothing comes over what somebody reads
  offer = event;
  for (const one of shown) one.show();
});
addEventListener("appinstalled", () => {
  offer = null;
  for (const one of shown) one.show();
});

export class LoftInstall extends HTMLElement {
  connectedCallback() {
    this.button ??= button("Put it on this device", () => {
      offer?.prompt();
      offer = null;
      this.show();
    });
    shown.add(this);
    this.show();
  }

  disconnectedCallback() {
    shown.delete(this);
  }

  show() {
    if (offer) this.append(" ", this.button);
    else this.button.remove();
  }
}
