// Makes the memory image that the worker boots from: Python started, our package and all it uses imported, tables read.
// Run by runtime.py with the pinned Node: node snapshot.mjs PYODIDE_DIR OUT LIBRARY.zip STDLIB.zip NAME; prints facts of it.
// The same input gives the same bytes, so everything that differs from one run to the next is held still before Pyodide is loaded.
import { createRequire } from "node:module";
import { readFileSync, writeFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { resolve } from "node:path";
import { checksum, pack } from "../docs/assets/live/image.js";

const [pyodideDir, out, library, stdlib, name] = process.argv.slice(2);
const MOMENT = Date.UTC(2024, 0, 1);

function holdStill() {
  const RealDate = Date;
  globalThis.Date = class extends RealDate {
    constructor(...args) {
      if (args.length) super(...args);
      else super(MOMENT);
    }
    static now() {
      return MOMENT;
    }
  };
  Object.defineProperty(performance, "timeOrigin", { value: MOMENT });
  performance.now = () => 0;
  Math.random = () => 0.5;
  const fill = (view) => {
    new Uint8Array(view.buffer, view.byteOffset, view.byteLength).fill(42);
    return view;
  };
  Crypto.prototype.getRandomValues = fill;
  const nodeCrypto = createRequire(import.meta.url)("node:crypto");
  nodeCrypto.randomFillSync = fill;
  nodeCrypto.randomBytes = (count) => Buffer.alloc(count, 42);
  process.argv[1] = "snapshot";
}

/**
 * Where the engine can tell how many arguments a function takes (`ref.test` in a module of 106 bytes), Pyodide puts the place of a
 * function that does so into Python's memory. From an image that place would be read in every engine, and where nothing is there, as
 * in WebKit, Python can't start. So this one module may not be made here: the image then holds no place, and Python asks the slower
 * way until worker.js lets it look again. Returns how often it was refused.
 */
function refuseRefTest() {
  const REF_TEST = Buffer.from([251, 20]);
  let refused = 0;
  WebAssembly.Module = new Proxy(WebAssembly.Module, {
    construct(Module, [code]) {
      if (code.length > 255 || !Buffer.from(code).includes(REF_TEST)) return new Module(code);
      refused += 1;
      throw new Error("not in an image");
    },
  });
  return () => refused;
}

/**
 * Fill the free memory with zeros: what was freed there is of no use to anyone and costs a tenth of the image's size on the wire.
 * Takes ever smaller pieces until none is left below the end of what was used, wipes each, and gives them all back.
 * Asking for the first may make the memory grow, and then its old view is gone: it is looked up anew each time.
 */
function wipeFreeMemory(module) {
  const take = module._emscripten_builtin_malloc;
  const giveBack = module._emscripten_builtin_free;
  const end = module._sbrk(0);
  const held = [];
  for (let size = 1 << 20; size >= 8; size -= size > 64 ? size >> 1 : 8) {
    for (let at = take(size); ; at = take(size)) {
      if (!at || at + size > end) {
        giveBack(at);
        break;
      }
      module.HEAPU8.fill(0, at, at + module._malloc_usable_size(at));
      held.push(at);
    }
  }
  held.forEach((at) => giveBack(at));
  module.HEAPU8.fill(0, module._emscripten_stack_get_end(), module._emscripten_stack_get_current());
}

/** Looks at the memory as the program brings it, up to the last word that is not zero. @returns {() => Uint8Array} */
function watchProgram() {
  const { instantiate } = WebAssembly;
  let seen = null;
  WebAssembly.instantiate = async (program, imports) => {
    const made = await instantiate(program, imports);
    if (imports?.env) seen ??= new Uint32Array(imports.env.memory.buffer.slice()); // a small module of Pyodide's has none
    return made;
  };
  return () => new Uint8Array(seen.buffer, 0, 4 * (1 + seen.findLastIndex((word) => word !== 0)));
}

async function makeImage() {
  const refusals = refuseRefTest();
  const { loadPyodide } = await import(pathToFileURL(resolve(pyodideDir, "pyodide.mjs")).href);
  const pyodide = await loadPyodide({
    indexURL: resolve(pyodideDir) + "/",
    stdLibURL: resolve(stdlib),
    env: { HOME: "/home/pyodide", PYTHONHASHSEED: "0", PYTHONOPTIMIZE: "2", TZ: "UTC" },
    _makeSnapshot: true,
  });
  if (refusals() !== 1) throw new Error(`Pyodide looks for ref.test in another way now (${refusals()}): see refuseRefTest`);
  pyodide.unpackArchive(new Uint8Array(readFileSync(library)), "zip", { extractDir: "/lib/python3.13/site-packages" });
  pyodide.runPython(readFileSync(new URL("snapshot.py", import.meta.url), "utf8"));
  pyodide.runPython(`loftbook.IMAGE = ${JSON.stringify(name)}`); // the worker refuses an image of another name
  wipeFreeMemory(pyodide._module);
  return pyodide.makeMemorySnapshot();
}

holdStill();
try {
  const seen = watchProgram();
  const image = await makeImage();
  const brought = seen();
  const [, headSize] = new Uint32Array(image.buffer, 0, 2); // Pyodide's own head says so
  const memory = image.subarray(headSize);
  const packed = pack(image.subarray(0, headSize), memory, brought);
  writeFileSync(out, packed);
  console.log(JSON.stringify({ headSize, memorySize: memory.length, packedSize: packed.length, imageSum: checksum(packed), programSize: brought.length, programSum: checksum(brought) }));
} catch (error) {
  console.error(String(error?.message ?? error)); // not the error itself: Node would print a source line of a megabyte
  process.exit(1);
}
