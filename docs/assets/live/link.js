// A rig in a link: `#<anchor>~<payload>`, the payload being base64url of deflate-raw of the JSON of what was typed and
// the name of the starting rig. What comes out of a link is a stranger's: sizes are limited first, then the core reads it like any other file.
// Knows no page and no trade.

const LARGEST_PAYLOAD = 16 * 1024; // characters in the address
const LARGEST_TEXT = 64 * 1024; // bytes when unpacked

/** A link that cannot be used; the message is for the reader. */
export class BadLink extends Error {}

/** @param {string} fragment with or without "#" @returns {{anchor: string, payload: string | null}} */
export function takeApart(fragment) {
  const text = fragment.replace(/^#/, "");
  const at = text.indexOf("~");
  return at < 0 ? { anchor: text, payload: null } : { anchor: text.slice(0, at), payload: text.slice(at + 1) };
}

/** @param {ReadableStream<Uint8Array>} stream @param {number} [largest] */
async function gather(stream, largest = Infinity) {
  const parts = [];
  const reader = stream.getReader();
  for (let size = 0; ; ) {
    const { done, value } = await reader.read();
    if (done) return new Uint8Array(await new Blob(parts).arrayBuffer());
    size += value.length;
    if (size > largest) {
      reader.cancel().catch(() => {});
      throw new BadLink(`The rig in this link unpacks to more than ${LARGEST_TEXT / 1024} kB. No rig is that large.`);
    }
    parts.push(value);
  }
}

/** @param {Record<string, string>} fields what was typed @returns {Promise<string>} */
export async function pack(fields) {
  const bytes = await gather(new Blob([JSON.stringify(fields)]).stream().pipeThrough(new CompressionStream("deflate-raw")));
  const text = Array.from(bytes, (byte) => String.fromCharCode(byte)).join("");
  return btoa(text).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

/** @param {string} payload @returns {Promise<string>} JSON, not yet judged */
export async function unpack(payload) {
  if (payload.length > LARGEST_PAYLOAD) throw new BadLink(`The rig in this link is longer than ${LARGEST_PAYLOAD / 1024} kB. No rig is that long.`);
  if (typeof DecompressionStream === "undefined") throw new BadLink("This browser cannot unpack a rig from a link. Ask for the rig as a file.");
  if (!/^[\w-]+$/.test(payload)) throw new BadLink("The rig in this link is damaged: it has signs in it that no link of ours has.");
  try {
    const bytes = Uint8Array.from(atob(payload.replaceAll("-", "+").replaceAll("_", "/")), (sign) => sign.charCodeAt(0));
    const plain = await gather(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw")), LARGEST_TEXT);
    return new TextDecoder("utf-8", { fatal: true }).decode(plain);
  } catch (error) {
    if (error instanceof BadLink) throw error;
    throw new BadLink("The rig in this link is damaged; perhaps the link was cut short when it was sent.");
  }
}

/** @param {string} anchor "" or the id of a step @param {string} payload */
export const fragment = (anchor, payload) => `#${anchor}~${payload}`;

/** @param {string} anchor @param {string} payload */
export function address(anchor, payload) {
  const url = new URL(location.href);
  url.hash = fragment(anchor, payload);
  return url.href;
}

/** The page that shows one step by itself, with a rig. @param {string} anchor @param {string} payload */
export const stepAddress = (anchor, payload) => new URL(`../../step/${fragment(anchor, payload)}`, import.meta.url).href;
