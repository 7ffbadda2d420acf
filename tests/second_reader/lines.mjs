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

const NOWHERE = /[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\u{fffc}]|(?! )\p{Zs}/u;

/** The lines of a page, and the numbers of those that hold what may stand nowhere. */
export function split(text) {
  const lines = text.split("\n");
  const faults = [];
  lines.forEach((line, at) => {
    if (NOWHERE.test(line)) faults.push(at + 1);
  });
  return { lines, faults };
}

/** What a line says, and the comment behind it: a # between blanks, outside of quoted names. */
export function uncomment(line, quotes = true) {
  let quoted = false;
  for (let place = 0; place < line.length; place += 1) {
    if (line[place] === '"' && quotes) quoted = !quoted;
    const behind = line[place + 1];
    if (line[place] === "#" && !quoted && line[place - 1] === " " && (behind === undefined || behind === " ")) {
      return { said: line.slice(0, place).trimEnd(), comment: line.slice(place).trimEnd() };
    }
  }
  return { said: line.trimEnd(), comment: null };
}
