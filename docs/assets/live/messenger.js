// The one way from a page to Python: numbered questions to one worker, and every promise settles.
// Knows the worker's messages and nothing of pages, fields or rockets.

/** @typedef {{phase: "idle" | "starting" | "live" | "failed", progress: number, how: "snapshot" | "ordinary" | null, message: string}} State */

const SILENCE = 45_000; // ms without a word from a worker that starts; over a slow line it says every few seconds that something comes
const ASK_LIMIT = 15_000;
const WAITS = [1000, 3000, 10_000, 20_000, 30_000]; // ms before it is tried again, after the line was cut

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
let cuts = 0;
let waitTimer = 0;
/** Why the memory image was refused; "" where it was not. */
let refusal = "";
/** How the worker that is wanted starts. @type {"snapshot" | "ordinary"} */
let way = "snapshot";
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
    clearTimeout(startTimer);
    if (data.phase === "failed") return died(data.message, true);
    if (data.phase === "cut") return cut(data.message);
    if (data.phase === "refused") {
      refusal = data.message;
      worker.terminate(); // what the image left behind is nothing to start on
      return begin("ordinary");
    }
    if (data.phase === "live") {
      cuts = 0;
      pending.forEach(watch);
    } else listen();
    return setState({ phase: data.phase, progress: data.progress, how: data.how, message: data.message || (data.phase === "live" ? refusal : "") });
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

/** A worker that starts and says nothing for so long has a line that was cut without a word. */
function listen() {
  const mine = worker;
  clearTimeout(startTimer);
  startTimer = setTimeout(() => mine === worker && cut("nothing comes any more"), SILENCE);
}

/** The line was cut: it is tried again after a while, or as soon as there is a line; who asked waits. @param {string} why */
function cut(why) {
  clearTimeout(startTimer);
  worker?.terminate();
  worker = null;
  const wait = WAITS[cuts];
  cuts += 1;
  if (wait !== undefined) {
    setState({ phase: "starting", progress: 0, how: null, message: `The calculators did not arrive whole (${why}). They are fetched again` });
    waitTimer = setTimeout(begin, wait, way);
    return undefined;
  }
  return way === "snapshot" ? begin("ordinary") : died(`The calculators did not arrive whole: ${why}.`, true);
}

addEventListener("online", () => {
  const waits = state.phase === "starting" && !worker;
  if (!waits && !(state.phase === "failed" && cuts > 0)) return;
  clearTimeout(waitTimer);
  cuts = 0;
  begin("snapshot");
});

/** The worker that the page's head has started already (put there by the build), if it is there and well. @returns {Worker | null} */
function takeEarly() {
  const early = self.loftbookEarly ?? null;
  self.loftbookEarly = null;
  if (early) early.onerror = null;
  return early;
}

/** @param {"snapshot" | "ordinary"} how */
function begin(how) {
  way = how;
  setState({ phase: "starting", progress: 0, how: null, message: "Starting the calculators" });
  try {
    worker = takeEarly() ?? new Worker(new URL("./worker.js", import.meta.url), { type: "module", name: "loftbook" });
  } catch (error) {
    return died(`This browser cannot run the calculators (${error.message}).`, true);
  }
  const mine = worker;
  let heard = false;
  const lost = (why) => mine === worker && died(why);
  mine.addEventListener("message", (event) => {
    heard = true;
    if (mine === worker) receive(event);
  });
  mine.addEventListener("error", (event) => {
    event.preventDefault();
    if (mine === worker && !heard && !event.message) cut("their program did not load");
    else lost(`The calculators stopped (${event.message || "no reason given"}).`);
  });
  mine.addEventListener("messageerror", () => lost("The calculators sent something that could not be read."));
  listen();
  mine.postMessage({ kind: "start", how });
  for (const [number, { text }] of pending) mine.postMessage({ kind: "ask", number, text }); // who asked before waits
  return undefined;
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
    if (state.phase === "idle") begin("snapshot");
    pending.set(number, call);
    if (state.phase === "live") watch(call);
    return worker?.postMessage({ kind: "ask", number, text }); // a starting worker keeps it until it is live, the next one is given it
  });
}
