// Keeps the screen on while somebody works with both hands: wherever a browser can, and silently not where it can't.
// A browser lets go of it by itself when the page is hidden; it is asked for again when the page comes back.

let wanted = false;
/** @type {WakeLockSentinel | null} */
let lock = null;
let asking = false;

async function take() {
  if (!wanted || lock || asking || document.hidden || !navigator.wakeLock) return;
  asking = true;
  try {
    const taken = await navigator.wakeLock.request("screen");
    taken.addEventListener("release", () => lock === taken && (lock = null));
    lock = taken;
  } catch {
    // a weak battery, or a browser that is told not to: then the screen goes dark as ever
  }
  asking = false;
  if (!wanted) drop();
}

function drop() {
  lock?.release().catch(() => {});
  lock = null;
}

document.addEventListener("visibilitychange", take);

/** @param {boolean} on */
export function keepAwake(on) {
  wanted = on;
  if (on) take();
  else drop();
}
