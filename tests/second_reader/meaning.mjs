// A page to what it means: the recipe, its tests, and the first line that is wrong.

import { Fraction, HUNDRED, ZERO, sum } from "./fraction.mjs";
import { plain } from "./materials.mjs";
import { MASSES, Page, item } from "./page.mjs";
import { isText, value } from "./values.mjs";

const GRAMS = {
  g: Fraction.of(1),
  kg: Fraction.of(1000),
  oz: Fraction.read("28.349523125"),
  lb: Fraction.read("453.59237"),
};
const MOST_AMOUNTS = 500;
const MOST_LINES = 10000;

/** A page read whole: `faults` by line, and the recipe as far as it could be read. */
export function read(text, materials, library = null) {
  const page = new Page(text);
  const recipe = new Recipe(page, materials);
  if (library) recipe.use(library, []);
  return { page, recipe };
}

export class Recipe {
  constructor(page, materials) {
    this.page = page;
    this.materials = materials;
    this.kind = "";
    this.name = "";
    this.fields = new Map();
    this.base = [];
    this.additions = [];
    this.handling = [];
    this.variations = [];
    this.series = [];
    this.blends = [];
    this.uses = new Map();
    this.notes = "";
    this.unknown = [];
    this.heads = new Map();
    this.amounts = 0;
    // The unit of all amounts hangs on the base, which may stand behind what is added to it.
    const blocks = [...page.blocks].sort((a, b) => (b.head === "base") - (a.head === "base"));
    for (const block of blocks) if (block.what === "head" && block.head === "base") this.readBase(block);
    for (const block of page.blocks) this.readBlock(block);
    this.whole();
  }

  fault(line, says) {
    this.page.fault(line, says);
  }

  readBlock(block) {
    if (block.what === "title") this.readTitle(block);
    else if (block.what === "field") this.readField(block);
    else if (block.what === "unknown") this.unknown.push(block.key);
    else if (block.what === "head" && block.head !== "base") this.readHead(block);
  }

  readTitle(block) {
    if (this.kind !== "") {
      this.fault(block.number, "a second recipe");
      return;
    }
    if (block.number !== this.page.first) this.fault(block.number, "the first line stands below other lines");
    this.kind = block.kind;
    this.name = block.name;
  }

  readField(block) {
    if (this.fields.has(block.key)) {
      this.fault(block.number, "a field twice");
      return;
    }
    const below = block.lines.filter((line) => line.text !== undefined);
    if (block.value !== "" && below.length > 0) {
      this.fault(below[0].number, "a line below a field that is complete");
      return;
    }
    for (const line of below) {
      const material = item(line.text.trim());
      if (material && this.materials.find(material.name)) this.fault(line.number, "a material below a field");
    }
    const said = block.value !== "" ? block.value : prose(block.lines);
    if (said === "") this.fault(block.number, "nothing is said");
    else if (!isText(block.key) && said.includes("\n")) this.fault(block.number, "this field takes one line");
    else {
      const meant = value(block.key, said);
      if (meant === null) this.fault(below[0]?.number ?? block.number, "no value of this field");
      else this.fields.set(block.key, meant);
    }
  }

  readHead(block) {
    const label = `${block.ofBase ? "base " : ""}${block.head}${block.name ? ` "${plain(block.name)}"` : ""}`;
    if (this.heads.has(label)) {
      this.fault(block.number, "a head twice");
      return;
    }
    this.heads.set(label, block.number);
    if (block.head === "notes") {
      this.notes = prose(block.lines);
      return;
    }
    const lines = block.lines.filter((line) => !line.blank && !line.remark);
    if (lines.length === 0) this.fault(block.number, "nothing below this head");
    const good = lines.filter((line) => !line.broken);
    if (block.head === "handling") this.handling.push(...good.map((line) => line.handling));
    else if (block.head === "additions") this.additions.push(...this.oneEach(good, this.addition));
    else if (block.head === "variation") this.readVariation(block, good);
    else this.readColumns(block, good);
  }

  readBase(block) {
    if (this.heads.has("base")) {
      this.fault(block.number, "a head twice");
      return;
    }
    this.heads.set("base", block.number);
    const lines = block.lines.filter((line) => !line.blank && !line.remark);
    if (lines.length === 0) this.fault(block.number, "nothing below this head");
    const good = lines.filter((line) => !line.broken);
    this.inMasses = good.length > 0 && MASSES.includes(good[0].item.amounts[0].unit);
    this.base.push(...this.oneEach(good, this.ofBase));
  }

  /** The lines of a block that takes one amount, without those whose unit does not stand there. */
  oneEach(lines, fits) {
    return lines
      .filter((line) => this.count(line) && fits.call(this, line, line.item.amounts[0].unit))
      .map((line) => this.line(line, line.item.amounts));
  }

  count(line) {
    this.amounts += line.item.amounts.length;
    if (this.amounts > MOST_AMOUNTS) this.fault(line.number, "more amounts than a recipe has");
    return true;
  }

  ofBase(line, unit) {
    const good = this.inMasses ? MASSES.includes(unit) : unit === "";
    if (!good) this.fault(line.number, "a unit that does not stand in this base");
    return good;
  }

  addition(line, unit) {
    const good = unit === "%" || (this.inMasses ? MASSES.includes(unit) : unit === "");
    if (!good) this.fault(line.number, "a unit that is not added to this base");
    return good;
  }

  line({ number, item: read }, amounts) {
    const material = read.recipe ? null : this.materials.find(read.name);
    const key = read.recipe ? `${read.recipe.kind} "${plain(read.recipe.name)}"` : plain(material ?? read.name);
    return { number, key, name: read.name, material, note: read.note, recipe: read.recipe, amounts };
  }

  readVariation(block, lines) {
    const name = plain(block.name);
    let variation = this.variations.find((other) => plain(other.name) === name);
    if (!variation) {
      variation = { name: block.name, base: [], additions: [], fields: new Map() };
      this.variations.push(variation);
    }
    for (const { number, own } of lines.filter((line) => line.own)) {
      if (variation.fields.has(own.key)) this.fault(number, "a field twice");
      else variation.fields.set(own.key, own.value);
    }
    const items = lines.filter((line) => line.item);
    if (block.ofBase) variation.base.push(...this.oneEach(items, this.ofBase));
    else variation.additions.push(...this.oneEach(items, this.addition));
  }

  readColumns(block, lines) {
    const blocks = block.head === "series" ? this.series : this.blends;
    let columns = blocks.find((other) => plain(other.name) === plain(block.name));
    if (!columns) {
      columns = { name: block.name, by: block.by, base: [], steps: [], width: 1 };
      blocks.push(columns);
      if (block.by && !steps(block.by)) this.fault(block.number, "a step that does not divide 100");
    } else if (block.by && block.by.compare(columns.by) !== 0) this.fault(block.number, "another step than its pair");
    const fits = block.ofBase ? this.ofBase : this.addition;
    const kept = lines.filter((line) => {
      this.count(line);
      const units = new Set(line.item.amounts.map((amount) => amount.unit));
      if (units.size > 1) {
        this.fault(line.number, "units that change on a line");
        return false;
      }
      return fits.call(this, line, [...units][0]);
    });
    for (const line of kept) {
      const { length } = line.item.amounts;
      if (length > 1 && columns.width > 1 && length !== columns.width) {
        this.fault(line.number, "lines of unequal length");
        continue;
      }
      columns.width = Math.max(columns.width, length);
      (block.ofBase ? columns.base : columns.steps).push(this.line(line, line.item.amounts));
    }
    if (block.head === "blend" && (columns.width < 2 || columns.width > 4)) {
      this.fault(block.number, "a blend has two, three or four corners");
    }
  }

  /** What is asked of the whole page, once every line of it can be read. */
  whole() {
    for (const columns of [...this.series, ...this.blends]) {
      for (const line of [...columns.base, ...columns.steps]) {
        if (line.amounts.length === 1) line.amounts = Array(columns.width).fill(line.amounts[0]);
      }
    }
    if (this.page.faults.size > 0) return;
    const bases = [...this.series, ...this.blends].some((columns) => columns.base.length > 0);
    const said = this.page.first ?? 1;
    if (this.kind === "") this.fault(said, "no first line");
    else if (this.base.length === 0 && !bases && this.unknown.length === 0) this.fault(said, "no base");
  }

  // ---- recipes as ingredients --------------------------------------------------------------------------

  /** Looks up the recipes among the ingredients. A stack of titles keeps recipes from using each other in a circle. */
  use(library, stack) {
    const called = `${this.kind} "${plain(this.name)}"`;
    for (const line of this.everyLine()) {
      if (!line.recipe || this.uses.has(line.name)) continue;
      const used = library.find(line.recipe, [...stack, called]);
      if (used.says) this.fault(line.number, used.says);
      else this.uses.set(line.name, used.parts);
    }
  }

  everyLine() {
    return [
      ...this.base,
      ...this.additions,
      ...[...this.variations].flatMap((variation) => [...variation.base, ...variation.additions]),
      ...[...this.series, ...this.blends].flatMap((columns) => [...columns.base, ...columns.steps]),
    ];
  }

  // ---- tests -------------------------------------------------------------------------------------------

  get baseTotal() {
    return sum(this.base.map((line) => parts(line.amounts[0], ZERO)));
  }

  /** One test: the base and the additions, some lines set anew, all in parts (in grams, of a base in masses). */
  test(label, baseSets = [], additionSets = []) {
    const base = setAnew(this.base, baseSets).map((line) => ({ ...line, parts: parts(line.amounts[0], ZERO) }));
    const total = sum(base.map((line) => line.parts));
    const additions = setAnew(this.additions, additionSets);
    return {
      label,
      ownBase: baseSets.length > 0,
      base: this.raw(base),
      additions: this.raw(additions.map((line) => ({ ...line, parts: parts(line.amounts[0], total) }))),
    };
  }

  /** Raw materials in the place of the recipes among the ingredients. */
  raw(lines) {
    if (this.uses.size === 0) return lines.map((line) => ({ key: line.key, name: called(line), parts: line.parts }));
    const weighed = lines.flatMap((line) =>
      line.recipe
        ? (this.uses.get(line.name) ?? []).map((part) => ({ ...part, parts: part.share.times(line.parts) }))
        : [{ key: line.key, name: called(line), parts: line.parts }],
    );
    return merged(weighed);
  }

  tests() {
    const tests = this.base.length > 0 ? [this.test("")] : [];
    for (const { name, base, additions } of this.variations) tests.push(this.test(name, base, additions));
    for (const columns of this.series) {
      for (let at = 0; at < columns.width; at += 1) tests.push(this.column(columns, at, `${columns.name} ${at + 1}`));
    }
    for (const blend of this.blends) {
      const corners = [...Array(blend.width).keys()].map((at) => this.column(blend, at, ""));
      for (const shares of board(steps(blend.by), blend.width)) tests.push(point(blend.name, corners, shares));
    }
    return tests;
  }

  column(columns, at, label) {
    const only = (lines) => lines.map((line) => ({ ...line, amounts: [line.amounts[at]] }));
    return this.test(label, only(columns.base), only(columns.steps));
  }
}

/** Into how many steps a hundred is divided, or null where something is left over. */
function steps(by) {
  if (by.isZero) return null;
  const number = HUNDRED.per(by);
  return number.isWhole && number.compare(Fraction.of(1)) > 0 ? Number(number.above) : null;
}

const called = (line) => line.material ?? line.name;

const parts = ({ number, unit }, total) =>
  unit === "%" ? number.times(total).per(HUNDRED) : unit === "" ? number : number.times(GRAMS[unit]);

/** Lines with some set anew: those named get what is set, 0 takes out, what is new comes last. */
function setAnew(lines, sets) {
  const result = [];
  const done = new Set();
  const set = (key) => sets.filter((line) => line.key === key && !line.amounts[0].number.isZero);
  for (const line of lines) {
    if (!sets.some((other) => other.key === line.key)) result.push(line);
    else if (!done.has(line.key)) {
      done.add(line.key);
      result.push(...set(line.key));
    }
  }
  for (const line of sets) {
    if (done.has(line.key)) continue;
    done.add(line.key);
    result.push(...set(line.key));
  }
  return result;
}

/** Each material once, where it stands first. */
function merged(lines) {
  const result = new Map();
  for (const line of lines) {
    const before = result.get(line.key);
    result.set(line.key, before ? { ...before, parts: before.parts.plus(line.parts) } : { ...line });
  }
  return [...result.values()];
}

/** The shares of every point, in the order of the board. */
function board(count, corners) {
  const share = (part) => Fraction.of(part).per(Fraction.of(count));
  const one = Fraction.of(1);
  const less = (fraction) => one.plus(fraction.times(Fraction.of(-1)));
  const points = [];
  for (let row = 0; row <= count; row += 1) {
    if (corners === 2) points.push([less(share(row)), share(row)]);
    const columns = corners === 3 ? row : corners === 4 ? count : -1;
    for (let column = 0; column <= columns; column += 1) {
      if (corners === 3) points.push([less(share(row)), share(row - column), share(column)]);
      else {
        const [right, down] = [share(column), share(row)];
        points.push([
          less(right).times(less(down)), right.times(less(down)), less(right).times(down), right.times(down),
        ]);
      }
    }
  }
  return points;
}

function point(name, corners, shares) {
  const mixed = (which) =>
    merged(
      corners.flatMap((corner, at) => corner[which].map((line) => ({ ...line, parts: line.parts.times(shares[at]) }))),
    );
  return {
    label: `${name} ${shares.map((share) => share.times(HUNDRED).toString()).join("/")}`,
    ownBase: true,
    base: mixed("base").filter((line) => !line.parts.isZero),
    additions: mixed("additions").filter((line) => !line.parts.isZero),
  };
}

/** Free text: without the indent that all its lines share, at most one empty line in a row, none at its ends. */
function prose(lines) {
  const said = lines.filter((line) => line.blank || line.text !== undefined).map((line) => line.text ?? "");
  const indents = said.filter((text) => text !== "").map((text) => text.length - text.trimStart().length);
  const indent = Math.min(...indents);
  return said
    .map((text) => text.slice(indent))
    .join("\n")
    .replace(/\n{3,}/gu, "\n\n")
    .replace(/^\n+|\n+$/gu, "");
}

export class Library {
  constructor(texts, materials) {
    this.pages = texts.map((text) => {
      const { page, recipe } = read(text, materials);
      return { sound: page.faults.size === 0, recipe };
    });
  }

  /** The materials of one test of a recipe, each with its share in the whole dry mix; or what is wrong. */
  find({ kind, name }, stack) {
    const found = this.pages.flatMap(({ sound, recipe }) => {
      if (plain(recipe.name) === plain(name)) return [{ sound, recipe, label: "" }];
      if (!plain(name).startsWith(`${plain(recipe.name)},`)) return [];
      return [{ sound, recipe, label: plain(name.slice(recipe.name.length + 1)) }];
    });
    if (found.length === 0) return { says: "a recipe that is not there" };
    if (found.length > 1) return { says: "a recipe that is found twice" };
    const [{ sound, recipe, label }] = found;
    if (recipe.kind !== kind) return { says: "a recipe of another kind" };
    if (!sound) return { says: "a recipe that cannot be read" };
    if (stack.includes(`${recipe.kind} "${plain(recipe.name)}"`)) return { says: "recipes in a circle" };
    recipe.use(this, stack);
    if (recipe.page.faults.size > 0) return { says: "a recipe that cannot be used" };
    const test = recipe.tests().find((one) => plain(one.label) === label);
    if (!test) return { says: "a test that this recipe does not have" };
    const lines = merged([...test.base, ...test.additions]);
    const whole = sum(lines.map((line) => line.parts));
    if (whole.isZero) return { says: "a recipe of nothing" };
    return { parts: lines.map((line) => ({ key: line.key, name: line.name, share: line.parts.per(whole) })) };
  }
}
