// The worker that holds Python. It boots from the memory image; if that is refused, the ordinary way from local wheels.
// Takes {kind: "start", how} once and {kind: "ask", number, text}; gives {kind: "state"} and {kind: "answer", number, text}.
// Knows nothing of pages and does no sums: text goes to `loftbook.live.answer`, text comes back.
import { checksum } from "./checksum.js";
import { RUNTIME } from "./runtime.js"; // written by the build

const FOLDER = new URL(RUNTIME.folder, import.meta.url).href;
const BARE_LOCK = JSON.stringify({ info: RUNTIME.info, packages: {} });

/** @type {(text: string) => string} */
let answer;

/** @param {number} progress @param {string} message */
const tell = (progress, message) => self.postMessage({ kind: "state", phase: "starting", progress, how: null, message });

/** The memory image, if it is there and whole. */
async function fetchImage() {
  const response = await fetch(FOLDER + RUNTIME.image);
  if (!response.ok) throw new Error(`the memory image is not there (${response.status})`);
  const image = new Uint8Array(RUNTIME.imageSize);
  const reader = response.body.getReader();
  let filled = 0;
  for (let told = 0, part = await reader.read(); !part.done; part = await reader.read()) {
    if (filled + part.value.length > image.length) throw new Error("the memory image is damaged (too long)");
    image.set(part.value, filled);
    filled += part.value.length;
    if (filled - told < image.length / 10) continue;
    told = filled;
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

async function bootFromImage() {
  const image = fetchImage(); // begins before Pyodide is there
  image.catch(() => {}); // awaited below; until then a failure is not an unhandled one
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

/** @param {"snapshot" | "ordinary"} how */
async function start(how) {
  let refusal = "";
  tell(0, "Starting the calculators");
  if (how === "snapshot") {
    try {
      await bootFromImage();
      return self.postMessage({ kind: "state", phase: "live", progress: 1, how, message: "" });
    } catch (error) {
      refusal = String(error?.message ?? error);
      tell(0.1, "Starting the calculators the slower way");
    }
  }
  try {
    await bootOrdinarily();
    self.postMessage({ kind: "state", phase: "live", progress: 1, how: "ordinary", message: refusal });
  } catch (error) {
    self.postMessage({ kind: "state", phase: "failed", progress: 0, how: null, message: String(error?.message ?? error) });
  }
}

self.addEventListener("message", ({ data }) => {
  if (data.kind === "start") return void start(data.how);
  let text;
  try {
    text = answer(data.text);
  } catch (error) {
    text = JSON.stringify({ ok: false, broken: String(error?.message ?? error).trim().split("\n").at(-1) });
  }
  self.postMessage({ kind: "answer", number: data.number, text });
});
