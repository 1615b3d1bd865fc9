// A rig as a file of the reader's own: out to a download, in from what they choose. The core reads and writes the text.

import { ask } from "./messenger.js";
import { textOf, typedRig } from "./state.js";

const LARGEST_FILE = 32 * 1024;

/** A safe file name from the rig's own name. @param {string} name */
export const fileName = (name) =>
  `${(name ?? "").normalize("NFKD").replace(/[^\w ]+/g, "").trim().replace(/\s+/g, "-").toLowerCase().slice(0, 60) || "rig"}.toml`;

/** Hands the rig to the reader as a file. @returns {Promise<{ok: true, name: string} | {ok: false, faults: object[]}>} */
export async function saveRig() {
  const reply = await ask({ do: "write", fields: typedRig(), format: "toml" });
  if (!reply.ok) return reply;
  const name = fileName(textOf("rig.name"));
  const url = URL.createObjectURL(new Blob([reply.text], { type: "application/toml" }));
  const link = Object.assign(document.createElement("a"), { href: url, download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
  return { ok: true, name };
}

/** @param {File} file @returns {Promise<{ok: true, fields: Record<string, string>} | {ok: false, faults: object[]}>} */
export async function readRig(file) {
  if (file.size > LARGEST_FILE) {
    return { ok: false, faults: [{ field: "", message: `This file is larger than ${LARGEST_FILE / 1024} kB. No rig is that large.` }] };
  }
  return ask({ do: "read", text: await file.text(), name: file.name });
}
