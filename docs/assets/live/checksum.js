// A checksum over the memory image, fast enough to take at every start (10 ms where a cryptographic digest takes 90).
// It finds damage, which is all it is for; who can change files of the site needs no forged image.

/** @param {ArrayBuffer} buffer @returns {string} */
export function checksum(buffer) {
  const words = new Uint32Array(buffer, 0, buffer.byteLength >> 2);
  let sum = words.length;
  for (let index = 0; index < words.length; index += 1) sum = (Math.imul(sum, 31) + words[index]) | 0;
  return (sum >>> 0).toString(16).padStart(8, "0");
}
