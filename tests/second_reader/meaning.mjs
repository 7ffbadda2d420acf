// A page to what it means: the recipe, its tests, and the first line that is wrong.

import { Fraction, HUNDRED, ZERO, sum } from "./fraction.mjs";
import { plain } from "./materials.mjs";
import { FIELDS, KINDS, MASSES, Page, item } from "./page.mjs";
import { isText, value } from "./values.mjs";

const GRAMS = {
  g: Fraction.of(1),
  kg: Fraction.of(1000),
  oz: Fraction.read("28.349523125"),
  lb: Fraction.read("453.59237"),
};
const MOST_AMOUNTS = 500;
const MOST_LINES = 10000;
const MOST_IN_TURN = 8;
const OTHER_NAMES = ["color", "colors", "colours", "source", "sources", "specific gravity", "sg"];
const AMOUNTS = /^[0-9.]+ *(?:%|kg|g|oz|lb)?(?:, +[0-9.]+ *(?:%|kg|g|oz|lb)?)*$/u;
const isField = (key) => FIELDS.includes(key.toLowerCase());

/** A page read whole: `faults` by line, and the recipe as far as it could be read. */
export function read(text, materials, library = null) {
  const page = new Page(text);
  const recipe = new Recipe(page, materials);
  page.isWhole = page.faults.size === 0;
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
    /** Every head by what it is called, and the section that a line in column one may have been meant for. */
    this.heads = new Map();
    this.section = null;
    this.firstNames = new Map();
    for (const { item: read } of page.blocks.flatMap((block) => block.lines)) {
      if (read && !read.recipe && !this.firstNames.has(plain(read.name))) this.firstNames.set(plain(read.name), read.name);
    }
    if (this.isTooMuch()) return;
    this.inMasses = MASSES.includes(this.firstUnit());
    page.blocks.forEach((block, at) => this.take(block, page.blocks[at + 1]));
    for (const columns of [...this.series, ...this.blends]) this.widen(columns);
    this.checkWhole();
    this.checkLabels();
  }

  fault(number, says) {
    this.page.fault(number, says);
  }

  /** More amounts than a page may hold, or more lines to weigh; nothing else is then asked of it. */
  isTooMuch() {
    let amounts = 0;
    let count = 1;
    let materials = 0;
    for (const { number, head, isOfBase, by, lines } of this.page.blocks) {
      const widths = lines.filter((line) => line.item).map((line) => line.item.amounts.length);
      amounts += widths.reduce((total, width) => total + width, 0);
      if (amounts > MOST_AMOUNTS) {
        this.fault(number, "more amounts than a recipe has");
        return true;
      }
      const width = Math.max(0, ...widths);
      if (head === "variation") count += 1;
      else if (head === "series") count += width;
      else if (head === "blend") count += countOfPoints(steps(by), width);
      if (["base", "additions"].includes(head) || (isOfBase && head !== "variation")) materials += widths.length;
    }
    if (count * materials <= MOST_LINES) return false;
    this.fault(this.page.blocks[0].number, "more lines to weigh than anybody weighs");
    return true;
  }

  /** The unit of the base: that of its first line, or of the first amount of something in blocks that set it. */
  firstUnit() {
    const items = (blocks) => blocks.flatMap((block) => block.lines.filter((line) => line.item));
    const base = items(this.page.blocks.filter((block) => block.head === "base"));
    if (base.length > 0) return base[0].item.amounts[0].unit;
    const amounts = ["variation", "series", "blend"]
      .flatMap((head) => items(this.page.blocks.filter((block) => block.isOfBase && block.head === head)))
      .flatMap((line) => line.item.amounts);
    return amounts.find(({ number, unit }) => !number.isZero && unit !== "%")?.unit ?? "";
  }

  take(block, next) {
    if (block.what === "title") this.takeTitle(block);
    else if (block.what === "field") this.takeField(block);
    else if (block.what === "head") this.takeHead(block, next);
  }

  takeTitle(block) {
    if (this.kind !== "") {
      this.fault(block.number, "a second recipe");
      return;
    }
    if (block.number !== this.page.first) this.fault(block.number, "the first line stands below other lines");
    this.kind = block.kind;
    this.name = block.name;
  }

  takeField(block) {
    const { key, number } = block;
    if (!FIELDS.includes(key)) {
      this.takeUnknown(block);
      return;
    }
    if (this.fields.has(key)) {
      this.fault(number, "a field twice");
      return;
    }
    const below = block.lines.filter((line) => line.text !== undefined);
    const weighed = below.find((line) => {
      const read = item(line.text.trim());
      return read && this.materials.find(read.name);
    });
    const said = block.value ?? prose(block.lines);
    const meant = value(key, said);
    if (said === "") {
      if (!block.lines.some((line) => line.isBroken)) this.fault(number, "nothing is said");
    } else if (weighed) this.fault(weighed.number, "a material and its amount below a field");
    else if (!isText(key) && said.includes("\n")) this.fault(below[1].number, "this field takes one line");
    else if (meant === null) this.fault(below[0]?.number ?? number, "no value of this field");
    this.fields.set(key, meant);
  }

  takeUnknown(block) {
    const { key, number, value: said } = block;
    const lower = key.toLowerCase();
    const isTitle = said !== undefined && number === this.page.first;
    const isInBlock = said !== undefined && this.section !== null && this.section !== "notes";
    const isStray = isInBlock && this.materials.find(key) && (this.section === "handling" || AMOUNTS.test(said));
    if (isTitle && [...KINDS, "title", "name", "recipe"].includes(lower)) {
      this.isToldOfTitle = true;
      this.fault(number, "the first line carries no colon");
    } else if (FIELDS.includes(lower)) this.fault(number, "a key in capitals");
    else if (OTHER_NAMES.includes(lower)) this.fault(number, "another name of a field");
    else if (isStray) this.fault(number, "a line of the block above that stands in column one");
    else this.unknown.push(key);
  }

  takeHead(block, next) {
    const { head, number } = block;
    this.section = head;
    const label = `${block.isOfBase ? "base " : ""}${head} ${plain(block.name ?? "")}`;
    if (this.heads.has(label)) {
      this.fault(number, "a head twice, or a name twice");
      return;
    }
    this.heads.set(label, block);
    if (head === "notes") {
      this.notes = prose(block.lines);
      return;
    }
    // Where a line below it is told of, the head is not the one to fix.
    const isTold = block.lines.some((line) => line.isBroken) || (next?.value !== undefined && !isField(next.key));
    const lines = block.lines.filter((line) => line.item);
    if (head === "handling") this.handling.push(...block.lines.flatMap((line) => line.handling ?? []));
    if (lines.length === 0 && !block.lines.some((line) => line.handling) && !isTold) {
      this.fault(number, "nothing below this head");
    }
    if (head === "base") this.base.push(...lines.map((line) => this.line(line, this.ofBase)));
    else if (head === "additions") this.additions.push(...lines.map((line) => this.line(line, this.addition)));
    else if (head === "variation") this.takeVariation(block, lines);
    else if (head !== "handling") this.takeColumns(block, lines);
  }

  /** Of the base itself: parts in all lines, or a mass in all. */
  ofBase({ unit }) {
    return this.inMasses ? MASSES.includes(unit) : unit === "";
  }

  /** What sets a line of the base anew; nothing of it needs no unit. */
  setsBase(amount) {
    return this.ofBase(amount) || (amount.number.isZero && amount.unit === "");
  }

  addition({ unit }) {
    return this.inMasses || !MASSES.includes(unit);
  }

  line({ number, item: read }, fits) {
    if (!read.amounts.every((amount) => fits.call(this, amount))) this.fault(number, "a unit that does not stand here");
    const material = read.recipe ? null : this.materials.find(read.name);
    // A name that is no material's is the same in any letter case, and is called as the page first writes it.
    const name = read.recipe || material ? read.name : this.firstNames.get(plain(read.name));
    return { number, name, material, note: read.note, recipe: read.recipe, amounts: read.amounts };
  }

  takeVariation(block, lines) {
    let variation = this.variations.find((other) => plain(other.name) === plain(block.name));
    if (!variation) {
      variation = { number: block.number, name: block.name, base: [], additions: [], fields: new Map() };
      this.variations.push(variation);
    }
    for (const { number, own } of block.lines.filter((line) => line.own)) {
      if (variation.fields.has(own.key)) this.fault(number, "a field twice");
      else variation.fields.set(own.key, own.value);
    }
    if (block.isOfBase) variation.base.push(...lines.map((line) => this.line(line, this.setsBase)));
    else variation.additions.push(...lines.map((line) => this.line(line, this.addition)));
  }

  takeColumns(block, lines) {
    const { number, head, name, by, isOfBase } = block;
    const blocks = head === "series" ? this.series : this.blends;
    let columns = blocks.find((other) => plain(other.name) === plain(name));
    const width = Math.max(0, ...lines.map((line) => line.item.amounts.length));
    if (by && !steps(by)) this.fault(number, "a step that does not divide 100");
    if (head === "blend" && width > 0 && (width < 2 || width > 4)) {
      this.fault(number, "a blend has two, three or four corners");
    }
    if (!columns) {
      columns = { number, name, by, base: [], steps: [], width };
      blocks.push(columns);
    } else {
      if (by && by.compare(columns.by) !== 0) this.fault(number, "another step than its pair");
      if (width > 0 && columns.width > 0 && width !== columns.width) this.fault(number, "another length than its pair");
      columns.width = Math.max(columns.width, width);
    }
    for (const line of lines) {
      const { amounts } = line.item;
      if (amounts.length > 1 && amounts.length < width) this.fault(line.number, "fewer amounts than on another line");
      else if (!isOfBase && new Set(amounts.map((amount) => amount.unit)).size > 1) {
        this.fault(line.number, "units that change on a line");
      }
      if (isOfBase) columns.base.push(this.line(line, this.setsBase));
      else columns.steps.push(this.line(line, this.addition));
    }
  }

  /** A single amount holds for all tests. */
  widen(columns) {
    for (const line of [...columns.base, ...columns.steps]) {
      if (line.amounts.length === 1) line.amounts = Array(columns.width).fill(line.amounts[0]);
    }
  }

  /** What is asked of the whole page, once every line of it can be read. */
  checkWhole() {
    if (!this.page.isSound || this.isToldOfTitle || this.page.blocks.length === 0) return;
    const has = (label) => this.heads.has(label);
    const labels = [...this.heads.keys()];
    if (this.kind === "") this.fault(this.page.blocks[0].number, "no first line");
    else if (has("base ")) return;
    else if (labels.some((label) => /^base (?:series|blend) /u.test(label))) {
      // The blocks of the base say the whole base: each test is one of theirs.
      for (const [label, block] of this.heads) {
        const isPair = ["series", "blend"].includes(block.head) && has(`base ${label}`);
        const needsBase = block.isOfBase ? block.head === "variation" : block.name !== undefined;
        if (needsBase && !isPair) this.fault(block.number, "no base that this could stand on");
      }
    } else if (!this.page.blocks.some((block) => block.what === "field" && block.value === undefined && this.unknown.includes(block.key))) {
      this.fault(this.page.blocks.find((block) => block.what === "title").number, "no base");
    }
  }

  /** No two tests have one name, whichever blocks they come from. */
  checkLabels() {
    if (this.page.faults.size > 0) return;
    const met = new Map();
    for (const { label, number } of this.tests()) {
      const first = met.get(plain(label));
      if (label !== "" && first !== undefined && first !== number) this.fault(number, "a name of two tests");
      met.set(plain(label), first ?? number);
    }
  }

  // ---- recipes as ingredients --------------------------------------------------------------------------

  /** Looks up the recipes among the ingredients. `stack`: the tests that led here, so that none leads to itself. */
  use(library, stack) {
    const own = `${this.kind} "${plain(this.name)}"`;
    for (const line of this.everyLine().filter((one) => one.recipe)) {
      const used = library.find(line.recipe, stack);
      if (used.says) this.fault(line.number, used.says);
      else {
        line.name = used.name;
        this.uses.set(used.name, used.parts);
      }
      if (this.base.length > 0 && line.isOfBase && plain(line.name) === own) this.fault(line.number, "its own ingredient");
    }
  }

  everyLine() {
    return [
      ...this.base,
      ...this.additions,
      ...this.variations.flatMap((variation) => [...inBase(variation.base), ...variation.additions]),
      ...[...this.series, ...this.blends].flatMap((columns) => [...inBase(columns.base), ...columns.steps]),
    ];
  }

  // ---- tests -------------------------------------------------------------------------------------------

  get baseTotal() {
    return sum(this.base.map((line) => parts(line.amounts[0], ZERO)));
  }

  /** One test: base and additions, some lines set anew, all in parts (in grams, where the base is in masses). */
  test(label, number, baseSets = [], additionSets = []) {
    const { base, additions } = this.whole(baseSets, additionSets);
    // A line of nothing stays where the recipe has it; of a test that sets lines anew it is no part.
    const some = (lines, isAnew) => (isAnew ? lines.filter((line) => !line.parts.isZero) : lines);
    return {
      label,
      number,
      isBaseSet: baseSets.length > 0,
      base: this.raw(some(base, baseSets.length > 0)),
      additions: this.raw(some(additions, label !== "")),
    };
  }

  whole(baseSets, additionSets) {
    const base = setAnew(this.base, baseSets).map((line) => ({ ...line, parts: parts(line.amounts[0], ZERO) }));
    const total = sum(base.map((line) => line.parts));
    const additions = setAnew(this.additions, additionSets);
    return { base, additions: additions.map((line) => ({ ...line, parts: parts(line.amounts[0], total) })) };
  }

  /** Raw materials in the place of the recipes among the ingredients; each is then one line, where it stood first. */
  raw(lines) {
    const named = lines.map((line) => ({ ...line, called: called(line) }));
    if (!named.some((line) => this.uses.has(line.name))) return named;
    return merged(
      named.flatMap((line) => {
        const used = this.uses.get(line.name);
        if (!used) return [line];
        return line.parts.isZero ? [] : used.map(({ called, share }) => ({ called, parts: share.times(line.parts) }));
      }),
    );
  }

  tests() {
    const tests = this.base.length > 0 || this.series.length + this.blends.length === 0 ? [this.test("", 0)] : [];
    for (const { name, number, base, additions } of this.variations) {
      tests.push(this.test(name, number, base, additions));
    }
    for (const series of this.series) {
      for (let at = 0; at < series.width; at += 1) {
        tests.push(this.test(`${series.name} ${at + 1}`, series.number, column(series.base, at), column(series.steps, at)));
      }
    }
    for (const blend of this.blends) tests.push(...this.points(blend));
    return tests;
  }

  /** Each point is the sum of the corners, line by line, by its shares; then recipes are taken apart. */
  points({ name, number, by, base, steps: added, width }) {
    const corners = Array.from({ length: width }, (_, at) => this.whole(column(base, at), column(added, at)));
    return board(steps(by), width).map((shares) => {
      const mixed = (which) =>
        merged(
          corners.flatMap((corner, at) =>
            corner[which].map((line) => ({ ...line, called: called(line), parts: line.parts.times(shares[at]) })),
          ),
        ).filter((line) => !line.parts.isZero);
      return {
        label: `${name} ${shares.map((share) => `${share.times(HUNDRED)}`).join("/")}`,
        number,
        isBaseSet: true,
        base: this.raw(mixed("base")),
        additions: this.raw(mixed("additions")),
      };
    });
  }
}

const inBase = (lines) => lines.map((line) => Object.assign(line, { isOfBase: true }));
const column = (lines, at) => lines.map((line) => ({ ...line, amounts: [line.amounts[at]] }));

function countOfPoints(count, corners) {
  if (!count) return 0;
  return { 2: count + 1, 3: ((count + 1) * (count + 2)) / 2, 4: (count + 1) ** 2 }[corners] ?? 0;
}

/** Into how many steps a hundred is divided, or null where something is left over. */
function steps(by) {
  if (by.isZero) return null;
  const number = HUNDRED.per(by);
  return number.isWhole ? Number(number.above) : null;
}

const called = (line) => line.material ?? line.name;
/** By what lines of several pages are one: a name that is no material's in any letter case. */
const keyOf = ({ material, called: name }) => material ?? plain(name);

const parts = ({ number, unit }, total) =>
  unit === "%" ? number.times(total).per(HUNDRED) : unit === "" ? number : number.times(GRAMS[unit]);

/** Lines with some set anew: all of a name together, where the first of them stood; what is new comes last. */
function setAnew(lines, sets) {
  const waiting = new Map();
  for (const line of sets) waiting.set(called(line), [...(waiting.get(called(line)) ?? []), line]);
  const names = new Set(waiting.keys());
  const result = [];
  for (const line of lines) {
    if (!names.has(called(line))) result.push(line);
    else {
      result.push(...(waiting.get(called(line)) ?? []));
      waiting.delete(called(line));
    }
  }
  return [...result, ...[...waiting.values()].flat()];
}

/** Each material once, where it stands first. */
function merged(lines) {
  const result = new Map();
  for (const line of lines) {
    const before = result.get(keyOf(line));
    result.set(keyOf(line), before ? { ...before, parts: before.parts.plus(line.parts) } : line);
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

/** Free text: without the indent that all its lines share, at most one empty line in a row, none at its ends. */
export function prose(lines) {
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
    this.recipes = texts.map((text) => read(text, materials).recipe).filter((recipe) => recipe.kind !== "");
  }

  /** The materials of one test, each with its share in the whole dry mix, or what is wrong. */
  find({ kind, name }, stack) {
    const wanted = plain(name);
    const near = this.recipes.filter(({ name: title }) => wanted === plain(title) || wanted.startsWith(`${plain(title)},`));
    const isWhole = (recipe) => recipe.page.isWhole && recipe.unknown.length === 0;
    const found = near.filter(isWhole).flatMap((recipe) =>
      recipe.tests().flatMap(({ label }) => {
        const called = label === "" ? recipe.name : `${recipe.name}, ${label}`;
        return plain(called) === wanted ? [{ recipe, label, called }] : [];
      }),
    );
    const right = found.filter(({ recipe }) => recipe.kind === kind);
    if (right.length > 1) return { says: "a recipe that is found twice" };
    if (right.length === 0 && found.length > 0) return { says: "a recipe of another kind" };
    if (right.length === 0) return { says: near.length > 0 ? "a recipe that cannot be read" : "a recipe that is not there" };
    const [{ recipe, label, called }] = right;
    const written = `${kind} "${called}"`;
    if (stack.includes(written)) return { says: "recipes in a circle" };
    if (stack.length >= MOST_IN_TURN) return { says: "too many recipes in turn" };
    return this.partsOf(recipe, label, written, stack);
  }

  partsOf(recipe, label, written, stack) {
    const test = recipe.tests().find((one) => one.label === label);
    const lines = [];
    for (const line of [...test.base, ...test.additions].filter((one) => !one.parts.isZero)) {
      const used = line.recipe ? this.find(line.recipe, [...stack, written]) : null;
      if (used?.says) return used;
      if (!used) lines.push(line);
      else lines.push(...used.parts.map(({ called, share }) => ({ called, parts: share.times(line.parts) })));
    }
    const whole = sum(lines.map((line) => line.parts));
    if (whole.isZero) return { says: "a recipe of nothing" };
    return { name: written, parts: merged(lines).map(({ called, parts }) => ({ called, share: parts.per(whole) })) };
  }
}
