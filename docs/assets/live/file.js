// A rig as a file of the reader's own: out to a download, in from what they choose. The core reads and writes the text.

import { ask } from "./messenger.js";
import { textOf, typedRig } from "./state.js";

export const LARGEST_FILE = 32 * 1024;

/** A safe file name from the rig's own name. @param {string} name @param {string} [ending] */
export const fileName = (name, ending = "toml") =>
  `${(name ?? "").normalize("NFKD").replace(/[^\w ]+/g, "").trim().replace(/\s+/g, "-").toLowerCase().slice(0, 60) || "rig"}.${ending}`;

/** Hands a text to the reader as a file. @param {string} text @param {string} type @param {string} name */
export function hand(text, type, name) {
  const url = URL.createObjectURL(new Blob([text], { type }));
  Object.assign(document.createElement("a"), { href: url, download: name }).click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

/** The pattern of the canopy that is shown, as one picture. @param {"full" | "model"} scale @returns {Promise<object>} the core's reply */
export async function savePattern(scale) {
  const reply = await ask({ do: "outline", fields: typedRig(), scale });
  if (reply.ok) hand(reply.text, "image/svg+xml", fileName(`${textOf("rig.name")} ${reply.bay} ${scale}`, "svg"));
  return reply;
}

/** Hands the rig to the reader as a file. @returns {Promise<{ok: true, name: string} | {ok: false, faults: object[]}>} */
export async function saveRig() {
  const reply = await ask({ do: "write", fields: typedRig(), format: "toml" });
  if (!reply.ok) return reply;
  const name = fileName(textOf("rig.name"));
  hand(reply.text, "application/toml", name);
  return { ok: true, name };
}

/** @param {File} file @returns {Promise<{ok: true, fields: Record<string, string>} | {ok: false, faults: object[]}>} */
export async function readRig(file) {
  if (file.size > LARGEST_FILE) {
    return { ok: false, faults: [{ field: "", message: `This file is larger than ${LARGEST_FILE / 1024} kB. No rig is that large.` }] };
  }
  return ask({ do: "read", text: await file.text(), name: file.name });
}
