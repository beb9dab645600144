// The library as it stands in the page: packed by gzip, and written in printed characters. A browser that cannot unpack gzip itself has it
// done here.

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

/** What `gzip --no-name` packed (RFC 1952): blocks as RFC 1951 has them between a head of ten bytes and the size. */
function inflated(packed) {
  const out = new Uint8Array(new DataView(packed.buffer).getUint32(packed.length - 4, true));
  let [at, bits, held, written] = [10, 0, 0, 0];
  const fill = (count) => {
    for (; held < count; held += 8) {
      bits |= packed[at] << held;
      at += 1;
    }
  };
  const drop = (count) => {
    bits >>>= count;
    held -= count;
  };
  const take = (count) => {
    fill(count);
    const taken = bits & ((1 << count) - 1);
    drop(count);
    return taken;
  };
  /** A code by the lengths of its words (RFC 1951, 3.2.2), as a table of what the next bits say: the length of the word below what it says. */
  const codeOf = (lengths) => {
    const longest = Math.max(...lengths);
    const table = new Uint16Array(1 << longest);
    let word = 0;
    for (let length = 1; length <= longest; length += 1, word <<= 1) {
      for (let k = 0; k < lengths.length; k += 1) {
        if (lengths[k] !== length) continue;
        let turned = 0;
        for (let bit = 0; bit < length; bit += 1) turned |= ((word >> bit) & 1) << (length - 1 - bit);
        for (; turned < table.length; turned += 1 << length) table[turned] = (k << 4) | length;
        word += 1;
      }
    }
    return { longest, table };
  };
  const read = ({ longest, table }) => {
    fill(longest);
    const found = table[bits & (table.length - 1)];
    if (found === 0) throw new Error("It is damaged.");
    drop(found & 15);
    return found >> 4;
  };
  /** Where each stretch of lengths or distances begins, and with how many bits it goes on (3.2.5). */
  const stretches = (count, begin, more) => {
    const list = [];
    for (let k = 0; k < count; k += 1) {
      list.push([begin, more(k)]);
      begin += 1 << more(k);
    }
    return list;
  };
  const lengths = [...stretches(28, 3, (k) => Math.max(0, (k >> 2) - 1)), [258, 0]];
  const distances = stretches(30, 1, (k) => Math.max(0, (k >> 1) - 1));
  const fixed = [codeOf(Array.from({ length: 288 }, (_, k) => (k < 144 ? 8 : k < 256 ? 9 : k < 280 ? 7 : 8))), codeOf(new Array(30).fill(5))];
  const ownCodes = () => {
    const [literals, far, many] = [take(5) + 257, take(5) + 1, take(4) + 4];
    const own = new Array(19).fill(0);
    for (const k of [16, 17, 18, 0, 8, 7, 9, 6, 10, 5, 11, 4, 12, 3, 13, 2, 14, 1, 15].slice(0, many)) own[k] = take(3);
    const code = codeOf(own);
    const all = [];
    while (all.length < literals + far) {
      const said = read(code);
      if (said < 16) all.push(said);
      else if (said === 16) all.push(...new Array(3 + take(2)).fill(all[all.length - 1]));
      else all.push(...new Array(said === 17 ? 3 + take(3) : 11 + take(7)).fill(0));
    }
    return [codeOf(all.slice(0, literals)), codeOf(all.slice(literals))];
  };
  for (let last = 0; last === 0; ) {
    last = take(1);
    const kind = take(2);
    if (kind === 0) {
      // As it is, from the next whole byte on: its length, the length turned over, the bytes.
      at -= held >> 3;
      [bits, held] = [0, 0];
      const length = packed[at] | (packed[at + 1] << 8);
      out.set(packed.subarray(at + 4, at + 4 + length), written);
      at += 4 + length;
      written += length;
      continue;
    }
    const [literal, far] = kind === 1 ? fixed : ownCodes();
    for (let said = read(literal); said !== 256; said = read(literal)) {
      if (said < 256) {
        out[written] = said;
        written += 1;
        continue;
      }
      const [length, moreLength] = lengths[said - 257];
      const end = written + length + take(moreLength);
      const [distance, moreDistance] = distances[read(far)];
      const back = distance + take(moreDistance);
      for (; written < end; written += 1) out[written] = out[written - back];
    }
  }
  return out;
}

/** The bytes of a library that stands in the page. */
async function unpacked(text) {
  const packed = bytesOf(text);
  if (typeof DecompressionStream !== "function") return inflated(packed);
  return new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}
