// The library and the scripts as they stand in the page: packed by zstd, and written in printed characters.

/** Bytes from "COUNT DIGITS": two digits are 13 bits, the lowest first. The 91 digits are what ASCII prints but ", & and <, of which HTML
 * makes something else. */
function bytesOf(text) {
  const values = new Uint8Array(128);
  let next = 0;
  for (let code = 33; code < 127; code += 1) {
    if ([34, 38, 60].includes(code)) continue;
    values[code] = next;
    next += 1;
  }
  const bytes = new Uint8Array(Number.parseInt(text, 10));
  let [bits, held, at] = [0, 0, 0];
  for (let k = text.indexOf(" ") + 1; k + 1 < text.length; k += 2) {
    bits |= (values[text.charCodeAt(k)] * 91 + values[text.charCodeAt(k + 1)]) << held;
    for (held += 13; held >= 8; held -= 8) {
      bytes[at] = bits & 255;
      at += 1;
      bits >>>= 8;
    }
  }
  return bytes;
}

/** The bytes of what stands packed in the page. */
const unpacked = (text) => decompress(bytesOf(text));
