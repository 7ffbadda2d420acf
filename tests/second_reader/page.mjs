// Lines to a page: its title, its fields, its blocks, each with the lines below it. What a value or a name means
// is no question here (meaning.mjs).

import { Fraction } from "./fraction.mjs";
import { split } from "./lines.mjs";

export const KINDS = ["glaze", "engobe", "slip", "wash", "body"];
export const MASSES = ["g", "kg", "oz", "lb"];
export const FIELDS = [
  "cone", "atmosphere", "surface", "colour", "origin", "date", "body", "application", "firing", "use", "tags",
  "batch", "water", "gravity", "sieve",
];
const HEADS = ["base", "additions", "handling", "notes", "variation", "series"];

// ---- what lines are made of ---------------------------------------------------------------------------------

export const NUMBER = String.raw`(?:[0-9]{1,9}(?:\.[0-9]{1,6})?|\.[0-9]{1,6})`;
const UNIT = "(?:%|kg|g|oz|lb)";
const AMOUNT = `${NUMBER}(?: *${UNIT})?`;
// A word of a bare name begins with a letter or a figure and holds no sign that has a meaning on the line.
const WORD = String.raw`(?=[\p{L}\p{N}])[^_\u{ff01}-\u{ff5e}][^ "#%(),:;=|\u{201c}-\u{201f}\u{ff01}-\u{ff5e}]*`;
// The last word of a bare name is no number, nor a mass written in one; and no mass stands in it before a figure.
const LAST = String.raw`(?!${NUMBER}(?:kg|g|oz|lb)?(?: |$))${WORD}`;
const BARE = String.raw`(?:(?!${NUMBER} +(?:kg|g|oz|lb) +\.?[0-9])${WORD} +)*${LAST}`;
export const QUOTED = String.raw`" *[^" ]+(?: +[^" ]+)* *"`;
const NAME = `(?:${QUOTED}|${BARE})`;
const RECIPE = `(?:${KINDS.join("|")}) +${QUOTED}`;
export const KEY = "[A-Za-z][A-Za-z-]*(?: [A-Za-z-]+)*";

// Behind a title, a head and a line of materials a comment is a # with a blank before it. In a text, where "#14" may be
// said, a blank or the end of the line stands behind the # too.
export const TAIL = "(?: +(?<comment>#.*))?$";
export const VALUE = String.raw`(?<value>(?!#(?: |$))[^ ]+(?: +(?!#(?: |$))[^ ]+)*)(?: +(?<comment>#(?: .*)?))?$`;

const line = (pattern) => new RegExp(`^${pattern}`, "u");
const TITLE = line(`(?<kind>${KINDS.join("|")}) +(?<name>${QUOTED})${TAIL}`);
const HEAD = line(`(?<head>base|additions|handling|notes):${TAIL}`);
const NAMED = line(`(?<base>base +)?(?<head>variation|series) +(?<name>${QUOTED}):${TAIL}`);
const BLEND = line(`(?<base>base +)?(?<head>blend) +(?<name>${QUOTED}) +by +(?<by>${NUMBER}) *%:${TAIL}`);
const FIELD = line(`(?<key>${KEY}): *${VALUE}`);
const FIELD_BELOW = line(`(?<key>${KEY}):${TAIL}`);
const ITEM = line(
  `(?:(?<recipe>${RECIPE})|(?<name>${NAME})) +(?<amounts>${AMOUNT}(?:, +${AMOUNT})*)(?: *(?<note>\\([^()]*\\)))?${TAIL}`,
);
const INSTRUCTION = line(`(?<names>${NAME}(?:, *${NAME})*): *${VALUE}`);
const OWN = line(`(?<key>surface|colour): *${VALUE}`);
const MEANT_FOR_BASE = /^[^\p{L}\p{N}#]*base\s*(?:[:;.,=-]|$)/iu;
const MEANT_FOR_TITLE = new RegExp(`^[^\\p{L}\\p{N}#]*(?:${KINDS.join("|")})[\\s:=-]*["'“”„‟«»‘’]`, "iu");
const NAMES_ITSELF = /^[^\p{L}\p{N}#]*\p{L}+[\s:=-]*["'“”„‟«»‘’]/iu;
const LIKE_A_HEAD = new RegExp(
  `^(?:(?:${HEADS.join("|")})(?![a-z-])|blend(?= *(?:["'=:\u{201c}-\u{201f}]|$))|[a-z][a-z -]*:|[a-z].*:$)` +
    String.raw`|^[a-z][a-z -]*"[^"]*" *(?:(?:by|in)\b|[:;.,=-]* *$)`,
  "iu",
);
const ONE_AMOUNT = line(`(?<number>${NUMBER})(?: *(?<unit>${UNIT}))?$`);

const spaced = (text) => text.replace(/ +/gu, " ").trim();
const bare = (name) => (name.startsWith('"') ? name.slice(1, -1) : name).trim();

/** Whether a key begins with the word of a head, whatever its letter case: such a line is a head, badly written. */
const isHead = (key) => key.toLowerCase() === "blend" || HEADS.includes(/^[a-z-]+/u.exec(key.toLowerCase())[0]);

/** One amount with its unit, "" for parts. */
function amount(text) {
  const { number, unit = "" } = ONE_AMOUNT.exec(text).groups;
  return { number: Fraction.read(number), unit };
}

/** A line of materials, or null. */
export function item(said) {
  const found = ITEM.exec(said)?.groups;
  if (!found) return null;
  const { recipe, name, amounts, note = "", comment } = found;
  const read = { amounts: amounts.split(/, +/u).map(amount), note: note.slice(1, -1).trim(), comment };
  if (!recipe) return { ...read, name: spaced(bare(name)) };
  const [, kind, called] = /^(\S+) +(".*")$/u.exec(recipe);
  return { ...read, name: `${kind} "${spaced(bare(called))}"`, recipe: { kind, name: spaced(bare(called)) } };
}

/** A handling line, or null. */
function instruction(said) {
  const found = INSTRUCTION.exec(said)?.groups;
  if (!found) return null;
  const names = found.names.match(/"[^"]*"|[^",]+/gu).filter((name) => name.trim() !== "");
  const plain = names.map((name) => spaced(bare(name.trim())));
  return { handling: { names: plain, text: found.value }, comment: found.comment };
}

// ---- the page -----------------------------------------------------------------------------------------------

/** The lines of a page below their heads, `comments` in its order, `faults` by line. `columnOne` and `below` say what is read. */
export class Blocks {
  constructor(text, likeAHead) {
    const { lines, faults } = split(text);
    this.lines = lines;
    this.likeAHead = likeAHead;
    this.faults = new Map(faults.map((number) => [number, "a character that stands nowhere"]));
    this.comments = [];
    this.blocks = [];
    /** The first line that says something. */
    this.first = null;
    let block = null;
    lines.forEach((written, at) => {
      const number = at + 1;
      const said = written.trimEnd();
      if (said === "") block?.lines.push({ number, blank: true });
      else if (said.trimStart().startsWith("#")) this.comments.push(said.trimStart());
      else {
        this.first ??= number;
        if (said.startsWith(" ")) this.takeIndented(block, said, number);
        else block = this.takeColumnOne(block, said, number);
      }
    });
    this.isSound = this.faults.size === 0;
  }

  fault(number, says) {
    if (!this.faults.has(number)) this.faults.set(number, says);
  }

  /** The block that the lines below belong to. */
  takeColumnOne(above, said, number) {
    const read = this.faults.has(number) ? null : this.columnOne(said);
    if (!read) this.fault(number, "a line that is nothing");
    // What cannot be read opens a block only where it looks like a head: what is below it is then kept apart.
    if (!read && !this.likeAHead.test(said)) {
      above?.lines.push({ number, isBroken: true });
      return above;
    }
    const block = { number, lines: [], ...(read ?? { what: "broken" }) };
    this.blocks.push(block);
    if (block.comment) this.comments.push(block.comment);
    return block;
  }

  takeIndented(block, said, number) {
    const isOdd = this.faults.has(number);
    // Below a head that cannot be read lines are kept apart and mean nothing.
    if (block?.what === "broken" && !isOdd) return;
    const read = !isOdd && block ? this.below(block, said) : null;
    if (!read) {
      this.fault(number, "a line that cannot be read here");
      block?.lines.push({ number, isBroken: true });
      return;
    }
    block.lines.push({ number, ...read });
    if (read.comment) this.comments.push(read.comment);
  }
}

/** The page of a recipe: its blocks say `what` they are, a title, a field or a head. */
export class Page extends Blocks {
  constructor(text) {
    super(text, LIKE_A_HEAD);
    if (this.first === null) this.fault(1, "no recipe");
    else if (!this.isSound && !this.isRecipe(this.lines)) this.fault(this.first, "no recipe");
  }

  /** Whether a first line or a base stands here, or a line that is badly written and meant for one. */
  isRecipe(lines) {
    if (this.blocks.some((block) => block.what === "title" || block.head === "base")) return true;
    return lines.some(
      (said, at) => MEANT_FOR_TITLE.test(said) || MEANT_FOR_BASE.test(said) || (at + 1 === this.first && NAMES_ITSELF.test(said)),
    );
  }

  columnOne(said) {
    const title = TITLE.exec(said)?.groups;
    if (title) return { what: "title", ...title, name: bare(title.name) };
    const head = HEAD.exec(said)?.groups;
    if (head) return { what: "head", ...head };
    const named = (NAMED.exec(said) ?? BLEND.exec(said))?.groups;
    if (named) {
      const by = named.by && Fraction.read(named.by);
      return { what: "head", ...named, name: bare(named.name), isOfBase: named.base !== undefined, by };
    }
    const field = (FIELD.exec(said) ?? FIELD_BELOW.exec(said))?.groups;
    if (field && !isHead(field.key)) return { what: "field", ...field };
    return null;
  }

  below(block, said) {
    if (block.head === "notes" || (block.what === "field" && block.value === undefined)) return { text: said };
    if (block.what !== "head") return null;
    if (block.head === "handling") return instruction(said.trim());
    const read = item(said.trim());
    if (read) {
      const isOneColumn = !["series", "blend"].includes(block.head);
      return read.amounts.length > 1 && isOneColumn ? null : { item: read, comment: read.comment };
    }
    const own = block.head === "variation" ? OWN.exec(said.trim())?.groups : null;
    return own ? { own, comment: own.comment } : null;
  }
}
