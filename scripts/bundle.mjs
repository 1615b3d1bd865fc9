// Makes one small file of a module or a style and all that it imports: node bundle.mjs IN OUT small|plain [PATTERN of imports to leave alone].
// Prints the files that went in, as JSON. Any warning is a failure.
import { resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

/** @param {string} entry @param {string} outfile @param {import("esbuild").BuildOptions} [options] @returns {Promise<string[]>} */
export async function bundle(entry, outfile, options = {}) {
  const { warnings, metafile } = await build({
    entryPoints: [entry],
    outfile,
    bundle: true,
    format: "esm",
    target: "es2022",
    logLevel: "silent",
    metafile: true,
    ...options,
  });
  if (warnings.length) throw new Error(warnings.map(({ text }) => text).join("\n"));
  return Object.keys(metafile.inputs).map((input) => resolve(input));
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const [entry, outfile, how, ...external] = process.argv.slice(2);
  console.log(JSON.stringify(await bundle(entry, outfile, { external, minify: how === "small" })));
}
