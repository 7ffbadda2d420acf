// Bytes to lines. What may stand in no page is found here: other encodings, invisible and control characters.

/** A page that cannot be taken as text at all. */
export class NotText extends Error {
  constructor(line, says) {
    super(says);
    this.line = line;
  }
}

const MOST_BYTES = 262144;
const MOST_LINES = 10000;

export function decode(bytes) {
  if (bytes.length > MOST_BYTES) throw new NotText(1, "too many bytes");
  if ((bytes[0] === 0xff && bytes[1] === 0xfe) || (bytes[0] === 0xfe && bytes[1] === 0xff)) {
    throw new NotText(1, "UTF-16");
  }
  const zero = bytes.indexOf(0);
  if (zero >= 0) throw new NotText(lineOf(bytes, zero), "a zero byte");
  let text;
  try {
    text = new TextDecoder("utf-8", { fatal: true, ignoreBOM: true }).decode(bytes);
  } catch {
    throw new NotText(lineOf(bytes, firstBroken(bytes)), "not UTF-8");
  }
  if (text.split("\n").length - (text.endsWith("\n") ? 1 : 0) > MOST_LINES) {
    throw new NotText(1, "too many lines");
  }
  return text;
}

const lineOf = (bytes, place) => bytes.subarray(0, place).filter((byte) => byte === 0x0a).length + 1;

/** Where the longest beginning that is UTF-8 ends: a decoder that is handed a beginning at a time tells. */
function firstBroken(bytes) {
  const decoder = new TextDecoder("utf-8", { fatal: true });
  for (let place = 0; place < bytes.length; place += 1) {
    try {
      decoder.decode(bytes.subarray(place, place + 1), { stream: true });
    } catch {
      return place;
    }
  }
  return bytes.length - 1;
}

// The characters of which docs/language.md says that they stand nowhere in a page.
const NOWHERE = new RegExp(
  "[\\u{0}-\\u{9}\\u{b}-\\u{1f}\\u{7f}-\\u{a0}\\u{ad}\\u{34f}\\u{61c}\\u{115f}\\u{1160}\\u{1680}\\u{17b4}\\u{17b5}" +
    "\\u{180e}\\u{2000}-\\u{200b}\\u{200e}\\u{200f}\\u{2028}-\\u{202f}\\u{205f}-\\u{206f}\\u{3000}\\u{3164}\\u{feff}" +
    "\\u{ffa0}\\u{fff0}-\\u{fffc}\\u{1bca0}-\\u{1bca3}\\u{1d173}-\\u{1d17a}\\u{e0000}-\\u{e00ff}\\u{e01f0}-\\u{e0fff}]",
  "u",
);

/** The lines of a page, and the numbers of those that hold what may stand nowhere. */
export function split(text) {
  const lines = text.split("\n");
  const faults = lines.flatMap((line, at) => (NOWHERE.test(line) ? [at + 1] : []));
  return { lines, faults };
}
