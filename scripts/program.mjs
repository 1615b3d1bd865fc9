// Cuts Pyodide's program and its glue down to what the glue calls: the rest is there for packages of machine code, which the guide has none of.
// Run by runtime.py with the pinned Node: node program.mjs PYODIDE_DIR OUT_DIR. To be run before the memory image is made, which is an
// image of this program and no other. And the places of its functions and texts, which it would write into its own data at every start, stand in
// the data of the file: what writes them is an eighth of all its code.
import { execFileSync } from "node:child_process";
import { readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";

const [pyodideDir, out] = process.argv.slice(2);
const PROGRAM = "pyodide.asm.wasm";
const GLUE = "pyodide.asm.js";
// What the program uses of WebAssembly, one by one: with all that there is the cutter would write what no browser reads yet.
const FEATURES = ["exception-handling", "bulk-memory", "bulk-memory-opt", "mutable-globals", "sign-ext", "nontrapping-float-to-int", "reference-types", "multivalue", "extended-const"];
const NAMED = /var \w+=(?:Module\["\w+"\]=)?wasmExports\["(\w+)"\];/g; // a function of the program gets its name in the glue
const PLACES = "__wasm_apply_data_relocs"; // the function that writes the places
const PLACES_CALL = `__RELOC_FUNCS__.push(wasmExports["${PLACES}"]);`;
const [DATA_AT, TABLE_AT] = [1024, 1]; // where data begin in memory, and functions in the table, as the glue has them
const PLACED = /var (\w+)=Module\["\w+"\]=\d+;/g; // and a place in its memory

const glue = readFileSync(join(pyodideDir, GLUE), "utf8");
const loader = readFileSync(join(pyodideDir, "pyodide.mjs"), "utf8");
const image = readFileSync(new URL("snapshot.mjs", import.meta.url), "utf8"); // which calls some itself
const program = readFileSync(join(pyodideDir, PROGRAM));

/** @param {...string} texts @returns {Set<string>} all that could be a name */
const words = (...texts) => new Set(texts.flatMap((text) => text.match(/[A-Za-z_$][\w$]*/g)));

/** The program's data, the last thing in the file. @param {Buffer} file @returns {Buffer} a view of them */
function dataOf(file) {
  let at = 8;
  const number = () => {
    let value = 0;
    for (let shift = 0; ; shift += 7) {
      const byte = file[at];
      at += 1;
      value |= (byte & 127) << shift;
      if (byte < 128) return value;
    }
  };
  for (let kind = 0; kind !== 11; ) {
    kind = file[at];
    at += 1;
    const size = number();
    if (kind !== 11) at += size;
  }
  const ONE_AT_THE_BASE = [1, 0, 0x23, 0, 0x0b];
  if (!ONE_AT_THE_BASE.every((byte, index) => file[at + index] === byte)) throw new Error("the program's data are not one stretch any more: see program.mjs");
  at += ONE_AT_THE_BASE.length;
  const length = number();
  if (at + length !== file.length) throw new Error("something stands behind the program's data: see program.mjs");
  return file.subarray(at);
}

/** The memory after the program wrote the places into its data. @param {number} other what stands for all that the places do not hang on */
function placed(other) {
  const module = new WebAssembly.Module(program);
  const memory = new WebAssembly.Memory({ initial: 512, maximum: 65536 });
  const place = (value, mutable = true) => new WebAssembly.Global({ value: "i32", mutable }, value);
  const given = {
    memory,
    __indirect_function_table: new WebAssembly.Table({ initial: 20_000, element: "anyfunc" }),
    __memory_base: place(DATA_AT, false),
    __table_base: place(TABLE_AT, false),
    __heap_base: place(Number(glue.match(/var ___heap_base=(\d+);/)[1])), // where the program begins to take more
  };
  const imports = {};
  for (const { module: from, name, kind } of WebAssembly.Module.imports(module)) {
    imports[from] ??= {};
    imports[from][name] = given[name] ?? { function: () => 0, global: place(other), tag: kind === "tag" && new WebAssembly.Tag({ parameters: ["i32"] }) }[kind];
  }
  new WebAssembly.Instance(module, imports).exports[PLACES]();
  return Buffer.from(memory.buffer);
}

const BASES = [`___memory_base=new WebAssembly.Global({value:"i32",mutable:false},${DATA_AT})`, `___table_base=new WebAssembly.Global({value:"i32",mutable:false},${TABLE_AT})`];
if (!BASES.every((one) => glue.includes(one))) throw new Error("the glue lays the program's data or functions elsewhere now: see program.mjs");
const data = dataOf(program);
const memory = placed(0);
if (!memory.equals(placed(1))) throw new Error("the program's data hang on more than where they lie: see program.mjs");
if (memory.subarray(DATA_AT + data.length).some(Boolean)) throw new Error("places are written beside the program's data: see program.mjs");
memory.copy(data, 0, DATA_AT);

const said = words(glue.replace(NAMED, "").replace(PLACED, ""), loader, image);
const isSaid = (name) => name !== PLACES && (said.has(name) || said.has(`_${name}`));
const exported = WebAssembly.Module.exports(new WebAssembly.Module(program)).map(({ name }) => name);
const kept = exported.filter(isSaid);
const cut = glue.replace(PLACES_CALL, "").replace(NAMED, (whole, name) => (isSaid(name) ? whole : "")).replace(PLACED, (whole, name) => (said.has(name) ? whole : ""));
if (kept.length < 200 || kept.length > exported.length / 10 || cut.length > 0.8 * glue.length || !glue.includes(PLACES_CALL)) throw new Error("Pyodide's glue names the program's functions in another way now: see program.mjs");

const full = join(out, "full.wasm");
writeFileSync(full, program);
const graph = join(out, "graph.json");
writeFileSync(graph, JSON.stringify([{ name: "the page", root: true, reaches: kept }, ...exported.map((name) => ({ name, export: name }))]));
const cutter = createRequire(import.meta.url).resolve("binaryen/bin/wasm-metadce");
execFileSync(process.execPath, [cutter, full, "-f", graph, "-o", join(out, PROGRAM), ...FEATURES.map((one) => `--enable-${one}`)], { stdio: ["ignore", "ignore", "inherit"] });
rmSync(full);
rmSync(graph);
writeFileSync(join(out, GLUE), cut);
