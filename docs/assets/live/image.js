// The form in which the memory image travels. What the program brings itself, its tables and texts, is in the memory before Python
// starts and hardly changes: the image is laid over it so that what is the same is zero. Half of all is empty pages, which are left
// out: a count of stretches, the start and length of each in bytes, then their contents one after another. Packed by
// scripts/snapshot.mjs, unpacked by the worker.

const PAGE = 4096;

/**
 * Lays the memory that the program brings over the image of Python's: once takes out what is the same, twice puts it back.
 * @param {Uint8Array} image its header says where the memory in it begins @param {Uint8Array} program as it is before Python starts
 */
export function layOver(image, program) {
  const [, start] = new Uint32Array(image.buffer, 0, 2);
  const words = new Uint32Array(image.buffer, start, program.length >> 2);
  const others = new Uint32Array(program.buffer, program.byteOffset, words.length);
  for (let index = 0; index < words.length; index += 1) words[index] ^= others[index];
}

/** @param {Uint8Array} image @returns {Uint8Array} */
export function pack(image) {
  const stretches = [];
  for (let at = 0, last; at < image.length; at += PAGE) {
    const page = image.subarray(at, at + PAGE);
    if (page.every((byte) => byte === 0)) continue;
    if (last?.end === at) last.end += page.length;
    else stretches.push((last = { start: at, end: at + page.length }));
  }
  const table = new Uint32Array([stretches.length, ...stretches.flatMap(({ start, end }) => [start, end - start])]);
  const parts = [new Uint8Array(table.buffer), ...stretches.map(({ start, end }) => image.subarray(start, end))];
  const packed = new Uint8Array(parts.reduce((size, { length }) => size + length, 0));
  let at = 0;
  for (const part of parts) {
    packed.set(part, at);
    at += part.length;
  }
  return packed;
}

/** @param {Uint8Array} packed @param {Uint8Array} image as large as the image, and empty */
export function unpack(packed, image) {
  const [count] = new Uint32Array(packed.buffer, 0, 1);
  const table = new Uint32Array(packed.buffer, 4, 2 * count);
  let from = 4 * (1 + table.length);
  for (let index = 0; index < table.length; index += 2) {
    const [start, length] = table.subarray(index, index + 2);
    image.set(packed.subarray(from, from + length), start);
    from += length;
  }
}

/**
 * A sum over a packed image, or over what the program brings, fast enough to take at every start (some 6 ms where a cryptographic digest takes 60). It finds damage,
 * which is all it is for: who can change files of the site needs no forged image.
 * @param {Uint8Array} packed from the start of its buffer @returns {string}
 */
export function checksum(packed) {
  const words = new Uint32Array(packed.buffer, 0, packed.length >> 2);
  let sum = words.length;
  for (let index = 0; index < words.length; index += 1) sum = (Math.imul(sum, 31) + words[index]) | 0;
  return (sum >>> 0).toString(16).padStart(8, "0");
}
