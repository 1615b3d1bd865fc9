// What would mend it: asks, a few rigs at a time, until all that can be tried was tried; what was found stands behind the button.
// What is taken is in the rig at once, and out of it again at a touch. The rig as it is and what was found can be put beside each other.

import { putAnswer } from "./answer.js";
import { placeBeside, putBeside, tellTaken, whyNotBeside } from "./beside.js";
import { make, whyNot } from "./faults.js";
import { ask } from "./messenger.js";
import { rigWith, takeAll, typedRig } from "./state.js";

/** Which search each place waits for; another touch or another rig ends it. @type {WeakMap<Element, number>} */
const latest = new WeakMap();

/** @param {HTMLElement} asked the button @param {HTMLElement} place */
async function look(asked, place) {
  const number = (latest.get(place) ?? 0) + 1;
  latest.set(place, number);
  const question = { do: "mend", fields: typedRig(), ...JSON.parse(asked.dataset.mend) };
  delete place.dataset.mark; // the last search said the same, perhaps
  delete place.dataset.found;
  place.replaceChildren(make("p", { class: "loft-help", text: "Looking." }));
  for (let tried = 0, over = false; !over; ) {
    const reply = await ask({ ...question, tried }, { timeout: 60000 }).catch((error) => ({ broken: error.message }));
    if (!place.isConnected || latest.get(place) !== number) return;
    if (!reply.ok) return place.replaceChildren(make("p", { class: "loft-help", text: `This could not be looked for: ${whyNot(reply)}` }));
    if (reply.over || String(reply.found) !== place.dataset.found) putAnswer(place, reply.html, reply.mark); // a button must not go from under a finger
    place.dataset.found = reply.found;
    ({ tried, over } = reply);
  }
  return undefined;
}

/** @param {Record<string, string>} texts @param {HTMLElement} from */
function take(texts, from) {
  const said = from.closest("li")?.querySelector("p")?.textContent ?? `${from.textContent}.`;
  tellTaken(said, takeAll(texts), from);
}

/** The table of a search, behind what it found: a search that goes on puts its own words anew. @param {Element} mending */
const besideOf = (mending) => (mending.nextElementSibling?.matches(".loft-sides-place") ? mending.nextElementSibling : null);

/** The rig as it is beside each of the mends. @param {{name: string, texts: Record<string, string>}[]} mends @param {HTMLElement} from */
async function compare(mends, from) {
  const mending = from.closest(".loft-mending");
  const place = besideOf(mending) ?? placeBeside();
  if (!place.isConnected) mending.after(place);
  place.replaceChildren(make("p", { class: "loft-help", text: "Working them out." }));
  delete place.dataset.mark;
  const sides = mends.map(({ name, texts }) => ({ name, fields: rigWith(texts), take: () => takeAll(texts) }));
  const reply = await putBeside(place, [{ name: "As it is", fields: typedRig() }, ...sides]);
  if (reply && !reply.ok) place.replaceChildren(make("p", { class: "loft-help", text: whyNotBeside(reply) }));
}

/** Called once. */
export function beginMending() {
  document.addEventListener("click", ({ target }) => {
    const asked = target.closest?.("[data-mend]");
    if (asked) {
      const place = asked.nextElementSibling?.matches(".loft-mending") ? asked.nextElementSibling : make("div", { class: "loft-mending" });
      if (!place.isConnected) asked.after(place);
      besideOf(place)?.remove(); // of the last search
      look(asked, place);
    }
    const beside = target.closest?.("[data-beside]");
    if (beside) compare(JSON.parse(beside.dataset.beside), beside);
    const offered = target.closest?.("[data-take]");
    if (offered) take(JSON.parse(offered.dataset.take), offered);
  });
}
