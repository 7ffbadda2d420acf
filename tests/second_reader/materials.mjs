// Which material a name means: by its letters without their case, with each run of blanks as one; then with hyphens
// for blanks, its words in any order, a plural, the other spelling of English, and a grade behind it.

/** Letters without their case, one by one: capital and small ones are one letter, and so are ß and SS. */
const folded = (text) => text.replace(/[^\u{131}]/gu, (sign) => sign.toUpperCase().toLowerCase());

export const plain = (name) => folded(name).replace(/\s+/gu, " ").trim();

const SHORT = { carb: "carbonate", ox: "oxide", sulfate: "sulphate", grey: "gray" };
const GRADE = /\(?(?:[0-9.]+ *(?:mesh|#)|# *[0-9.]+)\)?|\b(?:mesh|powder|powdered|ground|fine|technical)\b/gu;

// "silica/kaolin" and "silica & kaolin" say more than one name.
const SAYS_MORE = /[^\p{L}\p{M}\p{N}_\s,.()[\]'’#%<\u{2010}-\u{2013}-]/u;

const singular = (word) => (word.length > 3 && word.endsWith("s") && !word.endsWith("ss") ? word.slice(0, -1) : word);

function words(name) {
  const found = name.match(/[0-9]+(?:[.,][0-9]+)?|[\p{L}\p{Nl}\p{No}]+(?:['’]\p{L}+)*|[#%]/gu) ?? [];
  return found
    .map((word) => folded(word).replace(/['’]/gu, ""))
    .filter((word) => word !== "of")
    .map((word) => singular(SHORT[word] ?? word));
}

const loose = (parts) => [...parts].sort().join(" ");

export class Materials {
  constructor(entries) {
    this.exact = new Map();
    this.loose = new Map();
    for (const { name, aliases } of entries) {
      for (const called of [name, ...aliases]) {
        this.exact.set(plain(called), name);
        for (const key of [loose(words(called)), words(called).join("")]) {
          if (!this.loose.has(key)) this.loose.set(key, new Set());
          this.loose.get(key).add(name);
        }
      }
    }
  }

  /** The usual name of the one material that is meant, or null. */
  find(name) {
    const exact = this.exact.get(plain(name));
    if (exact) return exact;
    if (SAYS_MORE.test(name)) return null;
    const said = words(name);
    const without = plain(name).replace(GRADE, " ");
    return this.one(said) ?? (without === plain(name) ? null : this.one(words(without)));
  }

  one(parts) {
    const found = this.loose.get(loose(parts)) ?? this.loose.get(parts.join(""));
    return found?.size === 1 ? [...found][0] : null;
  }
}
