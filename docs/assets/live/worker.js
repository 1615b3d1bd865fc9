// The worker that holds Python. It boots from the memory image, or the ordinary way from local wheels; once, and one way only: where
// that fails it says whether the image was refused or the line was cut, and messenger.js starts another worker.
// Takes {kind: "start", how} once and {kind: "ask", number, text}; gives {kind: "state"} and {kind: "answer", number, text}.
// Knows nothing of pages and does no sums: text goes to `loftbook.faces.live.answer`, text comes back.
import { checksum, unpack } from "./image.js";
import { RUNTIME } from "./runtime.js"; // written by the build, which then joins the three into one file

const FOLDER = new URL(RUNTIME.folder, import.meta.url).href;
const plainFetch = self.fetch.bind(self); // handOverLate puts another in its place for a while
const BEAT = 5000; // ms; so often it says at the least that something comes
// The image holds all of the library that is there. To fetch even nothing takes a worker through its page, which is busy just then.
const NO_LIBRARY = `${FOLDER}nothing.zip`;
const EMPTY_ZIP = Uint8Array.from({ length: 22 }, (_, at) => [0x50, 0x4b, 5, 6][at] ?? 0);
const BARE_LOCK = JSON.stringify({ info: RUNTIME.info, packages: {} });

/** @type {(text: string) => string} */
let answer;
let python;
/** That the late modules are there. @type {Promise<void> | null} */
let late = null;
/** What was asked before Python was there; null from then on. @type {{number: number, text: string}[] | null} */
let early = [];

const SLOWER = "Starting the calculators the slower way";

/** The last state that was told; null before the start. */
let told = null;

/** What broke off on its way over the line: worth another try. */
class Cut extends Error {}

/** @template T @param {Promise<T>} promise of what comes over the line @returns {Promise<T>} */
const overLine = (promise) =>
  promise.catch((error) => {
    throw error instanceof TypeError || error?.name === "AbortError" || error?.name === "NetworkError" ? new Cut(String(error.message)) : error;
  });

/** How a start ends is told once and stays: what was still on its way says no more. @param {"starting" | "live" | "refused" | "cut" | "failed"} phase @param {number} progress @param {"snapshot" | "ordinary" | null} how @param {string} message */
function state(phase, progress, how, message) {
  if (told && told.phase !== "starting") return;
  told = { kind: "state", phase, progress, how, message };
  self.postMessage(told);
}

/** @param {number} progress @param {string} message */
const tell = (progress, message) => state("starting", progress, null, message);

/**
 * The two large files are taken straight from what offline.js keeps, past the service worker, which is busy with the page just then.
 * Their folder is named by its content, so they can't be of another release. @param {string} name @returns {Promise<Response>}
 */
async function keptOrFetched(name) {
  const kept = await self.caches?.match(FOLDER + name).catch(() => undefined);
  return kept ?? overLine(plainFetch(FOLDER + name));
}

/** The memory image as it travels, if it is there and whole. */
async function fetchPacked() {
  const response = await keptOrFetched(RUNTIME.image);
  if (!response.ok) throw new Error(`the memory image is not there (${response.status})`);
  const packed = new Uint8Array(RUNTIME.packedSize);
  const reader = response.body.getReader();
  let filled = 0;
  const next = () => overLine(reader.read());
  for (let counted = 0, at = Date.now(), part = await next(); !part.done; part = await next()) {
    if (filled + part.value.length > packed.length) throw new Error("the memory image is damaged (too long)");
    packed.set(part.value, filled);
    filled += part.value.length;
    if (filled - counted < packed.length / 10 && Date.now() - at < BEAT) continue;
    [counted, at] = [filled, Date.now()];
    tell(0.9 * (filled / packed.length), "Fetching the calculators");
  }
  if (filled < packed.length || checksum(packed) !== RUNTIME.imageSum) throw new Error("the memory image is damaged");
  return packed;
}

/**
 * What few ask for is not in the memory image: its modules are fetched with the first question that lacks one, and the question is
 * asked again. @param {object} pyodide
 */
async function fetchLate(pyodide) {
  const response = await keptOrFetched(RUNTIME.late);
  if (!response.ok) throw new Error(`a part of the calculators is not there (${response.status})`);
  pyodide.unpackArchive(await response.arrayBuffer(), "zip", { extractDir: RUNTIME.modules });
  pyodide.pyimport("importlib").invalidate_caches();
}

/** @param {object} pyodide */
function connect(pyodide) {
  python = pyodide;
  answer = pyodide.pyimport("loftbook.faces.live").answer;
  const about = JSON.parse(answer('{"do":"about"}'));
  if (about.ok !== true || about.version !== RUNTIME.version) throw new Error("the calculators are of another version");
}

/**
 * Let Pyodide get ready while image and program are on their way. It would begin only when it had the whole image, though until its
 * program runs it wants no more than the memory's size; so it gets a stand-in at once, and the program, compiled early, when the
 * image is there. It is handed the program through the two functions that it calls for it. At last it copies the image into the
 * program's memory: it asks the stand-in for all behind the head, and the memory is filled then, without a second one on the way.
 * Returns the stand-in, the way back, and what lets Python look anew what this engine can: the image fits every engine, since it holds nothing of the one that made it, and where an
 * engine can tell how many arguments a function takes, answers come a tenth sooner (see refuseRefTest in scripts/snapshot.mjs).
 * Where the program does not start, Pyodide never settles: `broken` is rejected then, and never settles else.
 * @param {Promise<Uint8Array>} packed @param {Promise<Response>} response the program's
 * @returns {{standIn: Uint8Array, program: Promise<WebAssembly.Module>, broken: Promise<never>, lookAnew: () => void, undo: () => void}}
 */
function handOverLate(packed, response) {
  const { instantiateStreaming } = WebAssembly;
  const program = compiled(response);
  const given = { [FOLDER + RUNTIME.program]: response, [NO_LIBRARY]: Promise.resolve(new Response(EMPTY_ZIP)) };
  self.fetch = (url, options) => given[url] ?? plainFetch(url, options);
  const head = new Uint8Array(RUNTIME.headSize);
  let lookAnew, fail, fill;
  const broken = new Promise((_, reject) => (fail = reject));
  const standIn = Object.defineProperties(head, {
    length: { value: RUNTIME.memorySize },
    subarray: { value: (from, to) => (from < head.byteLength ? head.slice(from, to) : fill()) },
  });
  const begin = async (imports) => {
    const [module, image] = await Promise.all([program, packed]);
    const instance = await WebAssembly.instantiate(module, imports);
    const { memory } = imports.env;
    const brought = new Uint8Array(memory.buffer.slice(0, RUNTIME.programSize));
    if (checksum(brought) !== RUNTIME.programSum) throw new Error("the program is damaged"); // its share of the image would be, too
    head.set(new Uint8Array(image.buffer, 0, head.byteLength));
    fill = () => {
      unpack(image, head.byteLength, new Uint8Array(memory.buffer), brought, instance.exports.sbrk(0));
      return new Uint8Array(0); // is left for Pyodide to copy
    };
    return { module, instance };
  };
  WebAssembly.instantiateStreaming = async (_, imports) => {
    lookAnew = imports.env._PyEM_InitTrampoline_js;
    return begin(imports).catch((error) => {
      fail(error);
      return broken;
    });
  };
  const undo = () => {
    self.fetch = plainFetch;
    WebAssembly.instantiateStreaming = instantiateStreaming;
  };
  return { standIn, program, broken, lookAnew: () => lookAnew(), undo };
}

/** The program, while it comes; from a host that does not know its type as well. @param {Promise<Response>} response @returns {Promise<WebAssembly.Module>} */
async function compiled(response) {
  const there = await response;
  if (!there.ok) throw new Error(`the program is not there (${there.status})`);
  const typed = there.headers.get("Content-Type")?.startsWith("application/wasm");
  return typed ? overLine(WebAssembly.compileStreaming(there)) : WebAssembly.compile(await overLine(there.arrayBuffer()));
}

/** @param {Uint8Array} image */
async function bootWith(image) {
  const { loadPyodide } = await overLine(import(FOLDER + "pyodide.mjs"));
  return loadPyodide({
    indexURL: FOLDER,
    stdLibURL: NO_LIBRARY,
    lockFileContents: BARE_LOCK,
    _loadSnapshot: image,
  });
}

async function bootFromImage() {
  const response = keptOrFetched(RUNTIME.program);
  const packed = fetchPacked();
  const { standIn, program, broken, lookAnew, undo } = handOverLate(packed, response);
  const glue = overLine(import(FOLDER + RUNTIME.glue)); // Pyodide asks for it later
  try {
    const whole = Promise.all([bootWith(standIn), packed, program, glue]); // where one is cut, Pyodide may wait for ever
    const [pyodide] = await Promise.race([whole, broken]);
    lookAnew();
    const made = pyodide.runPython("__import__('loftbook').IMAGE");
    if (made !== RUNTIME.made) throw new Error("the memory image is of another build");
    connect(pyodide);
  } catch (error) {
    await glue; // where that was cut, Pyodide says so too, now and then first and in words of its own
    throw error;
  } finally {
    undo();
  }
}

/** The program comes first: where its way is cut, Pyodide never settles. */
async function bootOrdinarily() {
  const { loadPyodide } = await overLine(import(FOLDER + "pyodide.mjs"));
  const response = await keptOrFetched(RUNTIME.program);
  if (!response.ok) throw new Error(`the program is not there (${response.status})`);
  const program = await overLine(response.arrayBuffer());
  tell(0.3, SLOWER);
  self.fetch = (url, options) =>
    String(url) === FOLDER + RUNTIME.program ? Promise.resolve(new Response(program, { headers: { "Content-Type": "application/wasm" } })) : plainFetch(url, options);
  const pyodide = await overLine(loadPyodide({ indexURL: FOLDER, lockFileURL: FOLDER + RUNTIME.lock, packageBaseUrl: FOLDER }));
  self.fetch = plainFetch;
  tell(0.6, "Unpacking the calculators");
  await overLine(pyodide.loadPackage(RUNTIME.packages, { messageCallback() {} }));
  connect(pyodide);
}

/** @param {"snapshot" | "ordinary"} how */
function live(how) {
  state("live", 1, how, "");
  const questions = early;
  early = null;
  questions.forEach(reply);
}

/** @param {"snapshot" | "ordinary"} how */
async function start(how) {
  tell(0, how === "snapshot" ? "Starting the calculators" : SLOWER);
  try {
    await (how === "snapshot" ? bootFromImage() : bootOrdinarily());
    live(how);
  } catch (error) {
    state(error instanceof Cut ? "cut" : how === "snapshot" ? "refused" : "failed", 0, null, String(error?.message ?? error));
  }
}

/** @param {string} text @returns {Promise<string>} */
async function replyTo(text) {
  try {
    return answer(text);
  } catch (error) {
    if (!["ModuleNotFoundError", "ImportError"].includes(error?.type)) throw error; // the other is that of a name in a package
  }
  late ??= fetchLate(python);
  await late.catch((error) => {
    late = null; // tried anew with the next question
    throw error;
  });
  return answer(text);
}

/** @param {{number: number, text: string}} question */
async function reply({ number, text }) {
  try {
    text = await replyTo(text);
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
