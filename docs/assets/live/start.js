// The one script of every page: wakes what is already there. The order matters: the rig first, then what a link brings,
// then the first questions to the core, then the place in the page that the address names.

import { beginBeside, LoftBeside } from "./beside.js";
import { LoftCalculator } from "./calculator.js";
import { LoftBegin, LoftHome } from "./glance.js";
import { LoftHandout } from "./handout.js";
import { takeApart } from "./link.js";
import "./offline.js";
import { LoftInstall } from "./install.js";
import { LoftLogbook, beginBringing } from "./logbook.js";
import { LoftMeasured } from "./measured.js";
import { beginMending } from "./mend.js";
import { beginNext, clearStates } from "./next.js";
import { wakePictures } from "./picture.js";
import { beginPrint } from "./print.js";
import { LoftRigbar } from "./rigbar.js";
import { beginRig, keysOf, onRig, showBay } from "./state.js";
import { goTo, renewStepLinks, unfold } from "./steps.js";
import { beginTheme } from "./theme.js";

const bar = () => document.querySelector("loft-rigbar");
const answering = () => [...document.querySelectorAll("loft-calculator, loft-handout, loft-home")];

clearStates(document);
try {
  sessionStorage.removeItem("loftbook.again"); // how often this page was loaded anew, because its script did not come
} catch {
  // then it never was
}
beginRig();
customElements.define("loft-rigbar", LoftRigbar);
customElements.define("loft-calculator", LoftCalculator);
customElements.define("loft-handout", LoftHandout);
customElements.define("loft-home", LoftHome);
customElements.define("loft-begin", LoftBegin);
customElements.define("loft-measured", LoftMeasured);
customElements.define("loft-logbook", LoftLogbook);
customElements.define("loft-beside", LoftBeside);
customElements.define("loft-install", LoftInstall);
wakePictures(document);
beginPrint();
beginMending();
beginBringing();
beginBeside();
beginTheme();

let newest = 0;

/** Takes in the rig of a link, asks for every answer, and goes where the link points. @param {boolean} [stay] but does not go there */
async function arrive(stay = false) {
  const mine = (newest += 1);
  const anchor = (await bar()?.readLink()) ?? null;
  if (mine !== newest) return; // the reader is on another page
  await Promise.all(answering().map((one) => one.refresh()));
  if (mine !== newest || stay) return;
  const named = anchor || takeApart(location.hash).anchor;
  const [key] = named.split("-");
  if (!document.getElementById(named) && keysOf("cord").includes(key)) {
    showBay(key); // a step of the bay that is not shown
    await Promise.all(answering().map((one) => one.refresh()));
    if (mine !== newest) return;
  }
  const place = document.getElementById(named);
  if (place?.closest("loft-calculator")) goTo(place);
}

// In a live answer a step may be new, so its link is renewed whenever an answer or the rig changes.
document.addEventListener("loft-answer", () => renewStepLinks());
onRig(() => renewStepLinks());

// A link pasted into the address of a page that is open already.
addEventListener("hashchange", () => {
  const { anchor, payload } = takeApart(location.hash);
  if (payload !== null) arrive();
  else unfold(document.getElementById(anchor));
});

// A step's own link is for handing on: following it copies it.
document.addEventListener("click", (event) => {
  const link = event.target.closest?.(".loft-steplink");
  if (!link || event.button !== 0 || event.metaKey || event.ctrlKey || event.shiftKey) return;
  event.preventDefault();
  bar()?.copyLink(link.closest(".loft-step").id);
});

beginNext(arrive);
arrive();
