// Lines to a page: its title, its fields, its blocks, each with the lines below it. What a value or a name means
// is no question here (meaning.mjs).

import { Fraction } from "./fraction.mjs";
import { split, uncomment } from "./lines.mjs";

export const KINDS = ["glaze", "engobe", "slip", "wash", "body"];
export const MASSES = ["g", "kg", "oz", "lb"];

const NUMBER = String.raw`(?:[0-9]{1,9}(?:\.[0-9]{1,6})?|\.[0-9]{1,6})`;
const UNIT = String.raw`(?:%|kg|g|oz|lb)`;
const AMOUNT = String.raw`${NUMBER}(?: *${UNIT})?`;
// A name that is not quoted: words of letters, figures, hyphens, apostrophes and slashes. It begins with a letter and
// does not end in a figure, so that the amount behind it cannot be mistaken.
const WORD = String.raw`[\p{L}\p{M}\p{Nd}'/\-]+`;
const PLAIN = String.raw`\p{L}[\p{L}\p{M}\p{Nd}'/\-]*(?: +${WORD})*(?<![\p{Nd}])`;
const QUOTED = String.raw`"[^"]*[^" ][^"]*"`;
const RECIPE = String.raw`(?:${KINDS.join("|")}) +${QUOTED}`;

const TITLE = new RegExp(`^(?<kind>${KINDS.join("|")}) +"(?<name>[^"]*[^" ][^"]*)"$`, "u");
const ITEM = new RegExp(
  String.raw`^(?:(?<name>${PLAIN}) +|(?<recipe>${RECIPE}) *|(?<quoted>${QUOTED}) *)` +
    String.raw`(?<amounts>${AMOUNT}(?:, +${AMOUNT})*)(?: *\((?<note>[^()]*[^() ][^()]*)\))?$`,
  "u",
);
const ONE_AMOUNT = new RegExp(`^(?<number>${NUMBER})(?: *(?<unit>${UNIT}))?$`, "u");
const NAMES = `(?:${PLAIN}|${QUOTED})`;
const HANDLING = new RegExp(String.raw`^(?<names>${NAMES}(?:, *${NAMES})*):(?<text>.*\S.*)$`, "u");
const KEY = /^(?<key>[a-z]+):(?<value>.*)$/u;
const HEAD = /^(?<head>base|additions|handling|notes):$/u;
const NAMED = new RegExp(
  String.raw`^(?<base>base +)?(?<head>variation|series|blend) +"(?<name>[^"]*[^" ][^"]*)"` +
    String.raw`(?: +by +(?<by>${NUMBER}) *%)?:$`,
  "u",
);
/** The most that a word in column one may hold and still be a key that the language does not know. */
const OWN = /^(?<key>surface|colour): *(?<value>\S.*)$/u;

export const FIELDS = [
  "cone", "atmosphere", "surface", "colour", "origin", "date", "body", "application", "firing", "use", "tags",
  "batch", "water", "gravity", "sieve",
];

const bare = (quoted) => quoted.slice(1, -1).trim();

/** One amount with its unit, "" for parts. */
function amount(text) {
  const { number, unit = "" } = ONE_AMOUNT.exec(text).groups;
  return { number: Fraction.read(number), unit };
}

/** A line of materials, or null. */
export function item(said) {
  const found = ITEM.exec(said)?.groups;
  if (!found) return null;
  const { name, recipe, quoted, amounts, note } = found;
  const read = { amounts: amounts.split(/, +/u).map(amount), note: note?.trim() };
  if (recipe) {
    const [, kind, called] = /^(\S+) +(".*")$/u.exec(recipe);
    return { ...read, name: `${kind} "${bare(called)}"`, recipe: { kind, name: bare(called) } };
  }
  return { ...read, name: name ?? bare(quoted) };
}

function instruction(said) {
  const found = HANDLING.exec(said)?.groups;
  if (!found) return null;
  const names = found.names.match(new RegExp(NAMES, "gu"));
  return { names: names.map((name) => (name.startsWith('"') ? bare(name) : name)), text: found.text.trim() };
}

export class Page {
  constructor(text) {
    const { lines, faults } = split(text);
    this.faults = new Map();
    this.comments = [];
    this.title = null;
    this.blocks = [];
    /** The first line that says something: it is where a page that is no recipe is told of. */
    this.first = null;
    for (const number of faults) this.fault(number, "a character that stands nowhere");
    let block = null;
    lines.forEach((line, at) => {
      const number = at + 1;
      if (line.trim() === "") {
        block?.lines.push({ number, blank: true });
        return;
      }
      if (line.trimStart().startsWith("#")) {
        if (!this.faults.has(number)) this.comments.push(line.trim());
        block?.lines.push({ number, remark: true });
        return;
      }
      this.first ??= number;
      if (line.startsWith(" ")) {
        if (block === null) this.fault(number, "an indented line without a head");
        else block.lines.push(this.below(block, line, number));
      } else {
        block = this.columnOne(line, number);
        this.blocks.push(block);
      }
    });
  }

  fault(line, says) {
    if (!this.faults.has(line)) this.faults.set(line, says);
  }

  columnOne(line, number) {
    const broken = { what: "broken", number, lines: [] };
    if (this.faults.has(number)) return broken;
    const { said, comment } = uncomment(line);
    const keep = (block) => {
      if (comment) this.comments.push(comment);
      return { number, lines: [], ...block };
    };
    const title = TITLE.exec(said)?.groups;
    if (title) return keep({ what: "title", kind: title.kind, name: title.name.trim() });
    const head = HEAD.exec(said)?.groups;
    if (head) return keep({ what: "head", head: head.head });
    const named = NAMED.exec(said)?.groups;
    if (named && (named.head === "blend") === (named.by !== undefined)) {
      return keep({
        what: "head",
        head: named.head,
        ofBase: named.base !== undefined,
        name: named.name.trim(),
        by: named.by && Fraction.read(named.by),
      });
    }
    const field = this.field(line);
    if (field && FIELDS.includes(field.key)) {
      return keep2(this, field, { what: "field", number, lines: [], ...field });
    }
    if (field && !["base", "additions", "handling", "notes", "variation", "series", "blend", ...KINDS].includes(field.key)) {
      return keep2(this, field, { what: "unknown", number, lines: [], ...field });
    }
    this.fault(number, "a line that is nothing");
    return broken;
  }

  field(line) {
    // A quotation mark has no meaning in a text, so that a # behind one is a comment all the same.
    const { said, comment } = uncomment(line, false);
    const found = KEY.exec(said)?.groups;
    return found ? { key: found.key, value: found.value.trim(), comment } : null;
  }

  below(block, line, number) {
    const prose = block.what === "field" || block.what === "unknown" || block.head === "notes";
    if (this.faults.has(number)) return { number, broken: true };
    if (prose) return { number, text: line.trimEnd() };
    if (block.what === "broken") return { number, broken: true };
    const { said, comment } = uncomment(line);
    const read = this.read(block, said.trim());
    if (read === null) {
      this.fault(number, "a line that cannot be read here");
      return { number, broken: true };
    }
    if (comment) this.comments.push(comment);
    return { number, ...read };
  }

  read(block, said) {
    if (block.what === "title") return null;
    if (block.head === "handling") {
      const found = instruction(said);
      return found && { handling: found };
    }
    if (block.head === "variation") {
      const own = OWN.exec(said)?.groups;
      if (own) return { own: { key: own.key, value: own.value.trim() } };
    }
    const found = item(said);
    if (!found) return null;
    if (found.amounts.length > 1 && !["series", "blend"].includes(block.head)) return null;
    return { item: found };
  }
}

function keep2(page, field, block) {
  if (field.comment) page.comments.push(field.comment);
  return block;
}
