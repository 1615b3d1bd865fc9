// The one way from a page to Python: numbered questions to one worker, and every promise settles.
// Knows the worker's messages and nothing of pages, fields or rockets.

/** @typedef {{phase: "idle" | "starting" | "live" | "failed", progress: number, how: "snapshot" | "ordinary" | null, message: string}} State */

const START_LIMIT = 120_000; // ms; a first visit over a slow line
const ASK_LIMIT = 15_000;

/** @type {State} */
let state = { phase: "idle", progress: 0, how: null, message: "" };
/** @type {Set<(state: State) => void>} */
const listeners = new Set();
/** @type {Map<number, {text: string, resolve: (reply: object) => void, reject: (fault: Error) => void, limit: number, timer?: number}>} */
const pending = new Map();
/** Questions that a worker was lost over: not twice over the same. @type {Set<string>} */
const deadly = new Set();
/** @type {Worker | null} */
let worker = null;
let startTimer = 0;
let lastNumber = 0;
let restarts = 0;
let sayAnswered;
/** Settles with the first answer of this visit: what may wait until the reader has one waits for this. */
export const firstAnswer = new Promise((resolve) => (sayAnswered = resolve));

/** @param {State} next */
function setState(next) {
  state = Object.freeze(next);
  for (const listener of listeners) listener(state);
}

/** Called at once and at every change. Returns a function that ends it. @param {(state: State) => void} callback */
export function onState(callback) {
  listeners.add(callback);
  callback(state);
  return () => listeners.delete(callback);
}

/** The limit of an answer counts from when the worker can give it. */
function watch(call) {
  clearTimeout(call.timer);
  call.timer = setTimeout(() => died("It took too long to answer."), call.limit);
}

/** @param {MessageEvent} event */
function receive({ data }) {
  if (data.kind === "state") {
    if (data.phase === "failed") return died(data.message, true);
    if (data.phase === "live") {
      clearTimeout(startTimer);
      pending.forEach(watch);
    }
    return setState({ phase: data.phase, progress: data.progress, how: data.how, message: data.message });
  }
  const call = pending.get(data.number);
  if (!call) return undefined; // late: its asker was told long ago
  clearTimeout(call.timer);
  pending.delete(data.number);
  deadly.delete(call.text);
  restarts = 0;
  sayAnswered();
  try {
    return call.resolve(JSON.parse(data.text));
  } catch {
    return call.reject(new Error("The answer could not be read."));
  }
}

/** The worker is lost: everyone who waits is told, and one new worker is tried. @param {string} why @param {boolean} [final] */
function died(why, final = false) {
  const wasStarting = state.phase === "starting";
  const again = [...pending.values()].some(({ text }) => deadly.has(text));
  clearTimeout(startTimer);
  worker?.terminate();
  worker = null;
  for (const call of pending.values()) {
    clearTimeout(call.timer);
    deadly.add(call.text);
    call.reject(new Error(why));
  }
  pending.clear();
  if (final || again || restarts > 0) return setState({ phase: "failed", progress: 0, how: null, message: why });
  restarts += 1;
  return begin(wasStarting ? "ordinary" : "snapshot");
}

/** The worker that the page's head has started already (put there by the build), if it is there and well. @returns {Worker | null} */
function takeEarly() {
  const early = self.loftbookEarly ?? null;
  self.loftbookEarly = null;
  if (early) early.onerror = null;
  return early;
}

/** @param {"snapshot" | "ordinary"} how */
function begin(how) {
  setState({ phase: "starting", progress: 0, how: null, message: "Starting the calculators" });
  try {
    worker = takeEarly() ?? new Worker(new URL("./worker.js", import.meta.url), { type: "module", name: "loftbook" });
  } catch (error) {
    return died(`This browser cannot run the calculators (${error.message}).`, true);
  }
  const mine = worker;
  const lost = (why) => mine === worker && died(why);
  mine.addEventListener("message", (event) => mine === worker && receive(event));
  mine.addEventListener("error", (event) => {
    event.preventDefault();
    lost(`The calculators stopped (${event.message || "their program did not load"}).`);
  });
  mine.addEventListener("messageerror", () => lost("The calculators sent something that could not be read."));
  startTimer = setTimeout(() => lost("The calculators took too long to start."), START_LIMIT);
  return mine.postMessage({ kind: "start", how });
}

/**
 * Ask Python. The worker starts with the first question. A fault in what was asked is an ordinary reply ({ok: false, ...});
 * the promise is rejected only if no answer came.
 * @param {object} request @param {{timeout?: number}} [options] @returns {Promise<object>}
 */
export function ask(request, { timeout = ASK_LIMIT } = {}) {
  return new Promise((resolve, reject) => {
    if (state.phase === "failed") return reject(new Error(state.message));
    const number = (lastNumber += 1);
    const text = JSON.stringify(request);
    const call = { text, resolve, reject, limit: timeout };
    pending.set(number, call);
    if (!worker) begin("snapshot");
    if (state.phase === "live") watch(call);
    return worker?.postMessage({ kind: "ask", number, text }); // a starting worker keeps it until it is live
  });
}
