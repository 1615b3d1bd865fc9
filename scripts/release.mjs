// Turns a built site into an offline release: node release.mjs SITE_DIR VERSION. Writes SITE_DIR/offline-worker.js and prints,
// as JSON, the files that it keeps. Any warning of the tools is a failure; build.py compares the list with what is there.
import { createHash } from "node:crypto";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { getManifest, injectManifest } from "workbox-build";
import { bundle } from "./bundle.mjs";

const [site, version] = process.argv.slice(2);
const BIGGEST = 64 * 1024 * 1024;

const listing = {
  globDirectory: site,
  globPatterns: ["**/*"],
  globIgnores: ["offline-worker.js", "_headers"],
  maximumFileSizeToCacheInBytes: BIGGEST,
  dontCacheBustURLsMatching: /assets\/live\/runtime\/[0-9a-f]{16}\//, // named by content: what the page fetched is reused
  manifestTransforms: [
    (entries) => ({
      warnings: [],
      manifest: entries.map((entry) => {
        const digest = createHash("sha256").update(readFileSync(join(site, entry.url))).digest("base64");
        return { ...entry, integrity: `sha256-${digest}` };
      }),
    }),
  ],
};

const { manifestEntries, warnings } = await getManifest(listing);
const release = createHash("sha256").update(JSON.stringify(manifestEntries)).digest("hex").slice(0, 12);
const scratch = mkdtempSync(join(tmpdir(), "loftbook-"));
try {
  const built = join(scratch, "built.js");
  await bundle(fileURLToPath(new URL("offline-worker.js", import.meta.url)), built, {
    format: "iife",
    minify: true,
    define: { "process.env.NODE_ENV": '"production"', __RELEASE__: JSON.stringify(release), __VERSION__: JSON.stringify(version) },
  });
  const injected = await injectManifest({ ...listing, swSrc: built, swDest: join(site, "offline-worker.js") });
  const complaints = [...warnings, ...injected.warnings];
  if (complaints.length) throw new Error(complaints.join("\n"));
} finally {
  rmSync(scratch, { recursive: true });
}
console.log(JSON.stringify({ release, files: manifestEntries.map((entry) => entry.url) }));
