// The worker that holds Python. It boots from the memory image; if that is refused, the ordinary way from local wheels.
// Takes {kind: "start", how} once and {kind: "ask", number, text}; gives {kind: "state"} and {kind: "answer", number, text}.
// Knows nothing of pages and does no sums: text goes to `loftbook.live.answer`, text comes back.
import { checksum } from "./checksum.js";
import { RUNTIME } from "./runtime.js"; // written by the build, which then joins the three into one file

const FOLDER = new URL(RUNTIME.folder, import.meta.url).href;
const BARE_LOCK = JSON.stringify({ info: RUNTIME.info, packages: {} });

/** @type {(text: string) => string} */
let answer;
/** What was asked before Python was there; null from then on. @type {{number: number, text: string}[] | null} */
let early = [];

/** The last state that was told; null before the start. */
let told = null;

/** @param {"starting" | "live" | "failed"} phase @param {number} progress @param {"snapshot" | "ordinary" | null} how @param {string} message */
function state(phase, progress, how, message) {
  told = { kind: "state", phase, progress, how, message };
  self.postMessage(told);
}

/** @param {number} progress @param {string} message */
const tell = (progress, message) => state("starting", progress, null, message);

/** The memory image, if it is there and whole. */
async function fetchImage() {
  const response = await fetch(FOLDER + RUNTIME.image);
  if (!response.ok) throw new Error(`the memory image is not there (${response.status})`);
  const image = new Uint8Array(RUNTIME.imageSize);
  const reader = response.body.getReader();
  let filled = 0;
  for (let counted = 0, part = await reader.read(); !part.done; part = await reader.read()) {
    if (filled + part.value.length > image.length) throw new Error("the memory image is damaged (too long)");
    image.set(part.value, filled);
    filled += part.value.length;
    if (filled - counted < image.length / 10) continue;
    counted = filled;
    tell(0.9 * (filled / image.length), "Fetching the calculators");
  }
  if (filled < image.length || checksum(image.buffer) !== RUNTIME.imageSum) throw new Error("the memory image is damaged");
  return image;
}

/** @param {object} pyodide */
function connect(pyodide) {
  answer = pyodide.pyimport("loftbook.live").answer;
  const about = JSON.parse(answer('{"do":"about"}'));
  if (about.ok !== true || about.version !== RUNTIME.version) throw new Error("the calculators are of another version");
}

/**
 * Compile the program while the image is still on its way. Pyodide itself begins only when it has the image, so it is handed the
 * response and the finished module through the two functions that it calls. Returns the way back.
 */
function compileEarly() {
  const { fetch } = self;
  const { instantiateStreaming } = WebAssembly;
  const response = fetch(FOLDER + RUNTIME.program);
  const program = WebAssembly.compileStreaming(response);
  program.catch(() => {}); // comes up again where it is awaited
  self.fetch = (url, options) => (url === FOLDER + RUNTIME.program ? response : fetch(url, options));
  WebAssembly.instantiateStreaming = async (_, imports) => {
    const module = await program;
    return { module, instance: await WebAssembly.instantiate(module, imports) };
  };
  return () => {
    self.fetch = fetch;
    WebAssembly.instantiateStreaming = instantiateStreaming;
  };
}

async function bootFromImage() {
  const image = fetchImage(); // begins before Pyodide is there
  image.catch(() => {}); // awaited below; until then a failure is not an unhandled one
  import(FOLDER + RUNTIME.glue).catch(() => {}); // Pyodide asks for it later, and says so if it fails
  const undo = compileEarly();
  try {
    await bootWith(image);
  } finally {
    undo();
  }
}

/** @param {Promise<Uint8Array>} image */
async function bootWith(image) {
  const { loadPyodide } = await import(FOLDER + "pyodide.mjs");
  const pyodide = await loadPyodide({
    indexURL: FOLDER,
    stdLibURL: FOLDER + RUNTIME.noLibrary,
    lockFileContents: BARE_LOCK,
    _loadSnapshot: image,
  });
  if (pyodide.runPython("__import__('loftbook').IMAGE") !== RUNTIME.made) throw new Error("the memory image is of another build");
  connect(pyodide);
}

async function bootOrdinarily() {
  const { loadPyodide } = await import(FOLDER + "pyodide.mjs");
  const pyodide = await loadPyodide({ indexURL: FOLDER, lockFileURL: FOLDER + RUNTIME.lock, packageBaseUrl: FOLDER });
  tell(0.6, "Unpacking the calculators");
  await pyodide.loadPackage(RUNTIME.packages, { messageCallback() {} });
  connect(pyodide);
}

/** @param {"snapshot" | "ordinary"} how @param {string} message */
function live(how, message) {
  state("live", 1, how, message);
  const questions = early;
  early = null;
  questions.forEach(reply);
}

/** @param {"snapshot" | "ordinary"} how */
async function start(how) {
  let refusal = "";
  tell(0, "Starting the calculators");
  if (how === "snapshot") {
    try {
      await bootFromImage();
      return live(how, "");
    } catch (error) {
      refusal = String(error?.message ?? error);
      tell(0.1, "Starting the calculators the slower way");
    }
  }
  try {
    await bootOrdinarily();
    live("ordinary", refusal);
  } catch (error) {
    state("failed", 0, null, String(error?.message ?? error));
  }
}

/** @param {{number: number, text: string}} question */
function reply({ number, text }) {
  try {
    text = answer(text);
  } catch (error) {
    text = JSON.stringify({ ok: false, broken: String(error?.message ?? error).trim().split("\n").at(-1) });
  }
  self.postMessage({ kind: "answer", number, text });
}

self.addEventListener("message", ({ data }) => {
  if (data.kind === "start" && told) self.postMessage(told); // started by the page's head, and now taken over
  else if (data.kind === "start") start(data.how);
  else if (early) early.push(data);
  else reply(data);
});
