// The page of a firing, from docs/firing.md: what went into a kiln, how it was fired, what came of it.

import { Fraction, sum } from "./fraction.mjs";
import { plain } from "./materials.mjs";
import { prose } from "./meaning.mjs";
import { Blocks, KEY, KINDS, QUOTED, TAIL, VALUE } from "./page.mjs";
import { value } from "./values.mjs";

const FIELDS = ["date", "kiln", "cone", "reached", "atmosphere", "body"];
const SAID = ["test", "batch", "body", "place", "surface", "colour", "flow", "faults", "photo", "remarks"];
const USUAL_START = { C: 20, F: 68 };
const HOTTEST = { C: 1500, F: 2732 };

const HEAT = (name) => `(?<${name}>[0-9]{1,4}) *(?<${name}Unit>[CF])`;
const SPAN = (name) =>
  `(?:(?<${name}H>[0-9]{1,3}) *h(?: *(?<${name}M>[0-9]{1,2}) *min)?|(?<${name}Alone>[0-9]{1,4}) *min)`;
const RATE = "(?<rate>[0-9]{1,4}(?:\\.[0-9]{1,2})?) *(?<rateUnit>[CF])/h";

const line = (pattern) => new RegExp(`^${pattern}`, "u");
const TITLE = line(`firing +(?<name>${QUOTED})${TAIL}`);
const HEAD = line(`(?<head>schedule|notes):${TAIL}`);
const TILE = line(`(?<head>tile) +(?<name>${QUOTED}):${TAIL}`);
const FIELD = line(`(?<key>${KEY}): *${VALUE}`);
const FIELD_BELOW = line(`(?<key>${KEY}):${TAIL}`);
const FROM = line(`from +${HEAT("from")}${TAIL}`);
const TO = line(
  `to +${HEAT("to")} +(?:at +${RATE}|in +${SPAN("way")}|(?<freely>freely))(?: *, *hold +${SPAN("hold")})?${TAIL}`,
);
const TEST = new RegExp(`^(?<kind>${KINDS.join("|")}) +"(?<name>[^"]+)"$`, "u");
const RECORD = /^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9A-Za-z-]+$/u;
const OF_RECIPES = "base|additions|handling|variation|series|blend";
const LIKE_A_HEAD = new RegExp(
  `^(?:(?:firing|schedule|tile|notes|${OF_RECIPES})(?![a-z-])|[a-z][a-z -]*:|[a-z].*:$)`,
  "iu",
);
const IS_HEAD = new RegExp(`^(?:notes|${OF_RECIPES})(?![A-Za-z-])`, "iu");

const spaced = (text) => text.replace(/ +/gu, " ").trim();
const inside = (quoted) => quoted.slice(1, -1).trim();

/** The page of a firing, and what it means. */
export class Firing extends Blocks {
  constructor(text) {
    super(text, LIKE_A_HEAD);
    this.fields = {};
    this.tiles = [];
    this.blocks.forEach((one, at) => this.take(one, at === 0));
    if (this.isSound && this.name === undefined) this.fault(1, "no first line");
    else if (this.isSound && !this.blocks.some(({ key }) => key === "date")) this.fault(this.line, "no date");
    for (const tile of this.tiles) tile.body ??= this.fields.body;
  }

  columnOne(said) {
    const found = [TITLE, HEAD, TILE].map((pattern) => pattern.exec(said)?.groups).find((groups) => groups);
    if (found) return { ...found, name: found.name && spaced(inside(found.name)), quoted: found.name };
    const field = (FIELD.exec(said) ?? FIELD_BELOW.exec(said))?.groups;
    return field && !IS_HEAD.test(field.key) ? { ...field } : null;
  }

  below(block, said) {
    if (block.head === "notes" || (block.key && block.value === undefined)) return { text: said };
    if (block.head === "schedule") return (FROM.exec(said.trim()) ?? TO.exec(said.trim()))?.groups ?? null;
    return block.head === "tile" ? (FIELD.exec(said.trim())?.groups ?? null) : null;
  }

  take(block, isFirst) {
    if (block.what === "broken") return;
    if (block.key) this.takeField(block);
    else if (block.head === "tile") this.takeTile(block);
    else if (block.head) this.takeOnce(block);
    else if (this.name !== undefined) this.fault(block.number, "a second firing");
    else {
      if (!isFirst) this.fault(block.number, "the name stands below other lines");
      this.name = inside(block.quoted);
      this.line = block.number;
    }
  }

  takeField({ number, key, value: said }) {
    if (!FIELDS.includes(key)) this.fault(number, "nothing that is said of a firing");
    else if (said === undefined) this.fault(number, "nothing is said");
    else if (key in this.fields) this.fault(number, "a field twice");
    else {
      this.fields[key] = value(key === "reached" ? "cone" : key, said);
      if (this.fields[key] === null) this.fault(number, "no value of this field");
    }
  }

  takeOnce(block) {
    if (this[block.head] !== undefined) this.fault(block.number, "a head twice");
    else if (block.head === "notes") this.notes = prose(block.lines);
    else this.schedule = this.workOut(block);
  }

  /** A schedule: where it starts, its steps, and all that is known of how long it takes, exactly. */
  workOut({ number, lines }) {
    const ramps = lines.filter((one) => one.from !== undefined || one.to !== undefined);
    const units = ramps.map((one) => one.fromUnit ?? one.toUnit);
    if (ramps.length === 0) {
      if (this.isSound) this.fault(number, "no line of a schedule");
      return null;
    }
    const unit = [...new Set(units)].sort((a, b) => count(units, b) - count(units, a))[0];
    const start = Number(ramps[0].from ?? USUAL_START[unit]);
    let here = start;
    const steps = [];
    const taken = [];
    ramps.forEach((ramp, at) => {
      const heat = Number(ramp.from ?? ramp.to);
      const way = minutes(ramp, "way");
      const hold = minutes(ramp, "hold");
      const rate = ramp.rate && Fraction.read(ramp.rate);
      if ([ramp.fromUnit, ramp.toUnit, ramp.rateUnit].some((one) => one && one !== unit)) this.fault(ramp.number, "units");
      else if (heat > HOTTEST[unit]) this.fault(ramp.number, "too hot");
      else if (ramp.from !== undefined && at > 0) this.fault(ramp.number, "a start that is not first");
      else if (ramp.from !== undefined) return;
      else if (rate?.isZero || way === 0 || hold === 0) this.fault(ramp.number, "nothing");
      else if (Number(ramp.wayM ?? 0) > 59 || Number(ramp.holdM ?? 0) > 59) this.fault(ramp.number, "minutes");
      else if (heat === here) this.fault(ramp.number, "it is there already");
      else {
        steps.push({ to: `${heat}`, rate: `${rate ?? ""}`, minutes: `${way ?? ""}`, hold: `${hold ?? 0}` });
        if (rate) taken.push(Fraction.of(Math.abs(heat - here)).per(rate).times(Fraction.of(60)));
        taken.push(Fraction.of((way ?? 0) + (hold ?? 0)));
      }
      here = heat;
    });
    if (this.isSound && ramps.length === 1 && ramps[0].from !== undefined) this.fault(ramps[0].number, "it goes nowhere");
    return { unit, start: `${start}`, steps, "known minutes": `${sum(taken)}` };
  }

  takeTile({ number, name, lines }) {
    if (this.tiles.some((other) => plain(other.name) === plain(name))) this.fault(number, "a tile twice");
    const tile = { name };
    for (const { number: at, key, value: said } of lines.filter((one) => one.key)) {
      if (!SAID.includes(key)) this.fault(at, "nothing that is said of a tile");
      else if (key in tile) this.fault(at, "a word twice");
      else tile[key] = ofTile(key, said);
      if (tile[key] === null) this.fault(at, "no value of this word");
    }
    const isWhole = lines.every((one) => !one.isBroken && !this.faults.has(one.number));
    if (isWhole && !("test" in tile) && !("batch" in tile)) this.fault(number, "a tile of nothing");
    this.tiles.push(tile);
  }

  told() {
    const some = (said) => Object.fromEntries(Object.entries(said).filter(([, one]) => one && one.length !== 0));
    const tiles = this.tiles.map(some);
    const fields = Object.keys(this.fields).length > 0 ? this.fields : null;
    return some({ name: this.name, fields, schedule: this.schedule, tiles, notes: this.notes, comments: this.comments });
  }
}

const count = (all, one) => all.filter((other) => other === one).length;

/** The minutes of a span, undefined where it does not stand there. */
function minutes(ramp, name) {
  const [hours, behind, alone] = [ramp[`${name}H`], ramp[`${name}M`], ramp[`${name}Alone`]];
  if (alone !== undefined) return Number(alone);
  return hours === undefined ? undefined : Number(hours) * 60 + Number(behind ?? 0);
}

function ofTile(key, said) {
  if (key === "test") {
    const found = TEST.exec(said)?.groups;
    return found ? `${found.kind} "${spaced(found.name)}"` : null;
  }
  if (key === "batch") {
    const name = said.replace(/\.batch$/u, "").split("/").at(-1);
    return RECORD.test(name) ? name : null;
  }
  if (key === "flow") {
    const found = /^([0-9]{1,3}(?:\.[0-9]{1,2})?) *mm$/u.exec(said);
    return found ? `${Fraction.read(found[1])} mm` : null;
  }
  if (key === "faults") {
    const words = said.split(",").map((word) => spaced(word).toLowerCase());
    return [...new Set(words.filter((word) => word !== ""))].join(", ");
  }
  if (key === "photo") return /^[/\\]|(?:^|\/)\.\.(?:\/|$)|[:\\]/u.test(said) ? null : said;
  return said;
}
