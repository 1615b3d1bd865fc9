// The form in which the memory image travels: the head that Pyodide made for it, then the memory behind that. What the program brings
// itself, its tables and texts, is in the memory before Python starts and hardly changes: the image is laid over it so that what is
// the same is zero. Half of all is empty pages, which are left out: a count of stretches, the start and length of each in bytes, then
// their contents one after another. Packed by scripts/snapshot.mjs, unpacked by the worker.

const PAGE = 4096;

/** @param {Uint8Array} bytes whose start is the start of a word @param {number} [length] */
const words = ({ buffer, byteOffset, length: all }, length = all) => new Uint32Array(buffer, byteOffset, length >> 2);

/** Lays some memory over other: once takes out what is the same, twice puts it back. @param {Uint8Array} memory @param {Uint8Array} other */
function layOver(memory, other) {
  const [mine, others] = [words(memory, Math.min(memory.length, other.length)), words(other)];
  for (let index = 0; index < mine.length; index += 1) mine[index] ^= others[index];
}

/**
 * @param {Uint8Array} head as long as some words @param {Uint8Array} memory is laid over the program's
 * @param {Uint8Array} brought the memory up to where the program's own ends, before Python starts @returns {Uint8Array}
 */
export function pack(head, memory, brought) {
  layOver(memory, brought);
  const stretches = [];
  for (let at = 0, last; at < memory.length; at += PAGE) {
    const page = memory.subarray(at, at + PAGE);
    if (page.every((byte) => byte === 0)) continue;
    if (last?.end === at) last.end += page.length;
    else stretches.push((last = { start: at, end: at + page.length }));
  }
  const table = new Uint32Array([stretches.length, ...stretches.flatMap(({ start, end }) => [start, end - start])]);
  const parts = [head, new Uint8Array(table.buffer), ...stretches.map(({ start, end }) => memory.subarray(start, end))];
  const packed = new Uint8Array(parts.reduce((size, { length }) => size + length, 0));
  let at = 0;
  for (const part of parts) {
    packed.set(part, at);
    at += part.length;
  }
  return packed;
}

/**
 * Fills the memory in which the program has begun to run. What lies behind `used` is as empty as the system gave it.
 * @param {Uint8Array} packed @param {number} headSize @param {Uint8Array} memory @param {Uint8Array} brought @param {number} used
 */
export function unpack(packed, headSize, memory, brought, used) {
  memory.set(brought);
  memory.fill(0, brought.length, used);
  const [count] = new Uint32Array(packed.buffer, headSize, 1);
  const table = new Uint32Array(packed.buffer, headSize + 4, 2 * count);
  let from = headSize + 4 + table.byteLength;
  for (let index = 0; index < table.length; index += 2) {
    const [start, length] = table.subarray(index, index + 2);
    const part = packed.subarray(from, from + length);
    if (start < brought.length) layOver(part, brought.subarray(start));
    memory.set(part, start);
    from += length;
  }
}

/**
 * A sum over a packed image, or over what the program brings, fast enough to take at every start (some 6 ms where a cryptographic digest takes 60). It finds damage,
 * which is all it is for: who can change files of the site needs no forged image.
 * @param {Uint8Array} bytes from the start of its buffer @returns {string}
 */
export function checksum(bytes) {
  const all = words(bytes);
  let sum = all.length;
  for (let index = 0; index < all.length; index += 1) sum = (Math.imul(sum, 31) + all[index]) | 0;
  return (sum >>> 0).toString(16).padStart(8, "0");
}
