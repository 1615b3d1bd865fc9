// Cuts Pyodide's program and its glue down to what the glue calls: the rest is there for packages of machine code, which the guide has none of.
// Run by runtime.py with the pinned Node: node program.mjs PYODIDE_DIR OUT_DIR. To be run before the memory image is made, which is an
// image of this program and no other.
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
const PLACED = /var (\w+)=Module\["\w+"\]=\d+;/g; // and a place in its memory

const glue = readFileSync(join(pyodideDir, GLUE), "utf8");
const loader = readFileSync(join(pyodideDir, "pyodide.mjs"), "utf8");
const image = readFileSync(new URL("snapshot.mjs", import.meta.url), "utf8"); // which calls some itself
const program = readFileSync(join(pyodideDir, PROGRAM));

/** @param {...string} texts @returns {Set<string>} all that could be a name */
const words = (...texts) => new Set(texts.flatMap((text) => text.match(/[A-Za-z_$][\w$]*/g)));

const said = words(glue.replace(NAMED, "").replace(PLACED, ""), loader, image);
const isSaid = (name) => said.has(name) || said.has(`_${name}`);
const exported = WebAssembly.Module.exports(new WebAssembly.Module(program)).map(({ name }) => name);
const kept = exported.filter(isSaid);
const cut = glue.replace(NAMED, (whole, name) => (isSaid(name) ? whole : "")).replace(PLACED, (whole, name) => (said.has(name) ? whole : ""));
if (kept.length < 200 || kept.length > exported.length / 10 || cut.length > 0.8 * glue.length) throw new Error("Pyodide's glue names the program's functions in another way now: see program.mjs");

const graph = join(out, "graph.json");
writeFileSync(graph, JSON.stringify([{ name: "the page", root: true, reaches: kept }, ...exported.map((name) => ({ name, export: name }))]));
const cutter = createRequire(import.meta.url).resolve("binaryen/bin/wasm-metadce");
execFileSync(process.execPath, [cutter, join(pyodideDir, PROGRAM), "-f", graph, "-o", join(out, PROGRAM), ...FEATURES.map((one) => `--enable-${one}`)], { stdio: ["ignore", "ignore", "inherit"] });
rmSync(graph);
writeFileSync(join(out, GLUE), cut);
