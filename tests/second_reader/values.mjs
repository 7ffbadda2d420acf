// What stands behind the colon of a field, as one plain text; null where it is nothing of its type.

import { Fraction } from "./fraction.mjs";
import { MASSES, NUMBER } from "./page.mjs";

const CONE = /^(?<number>0?[0-9]{1,2})(?<half> 1\/2| ?½|\.5)?$/u;

/** Where a cone stands among all of them, the coolest least (null: there is no such cone), and how it is written. */
function oneCone(text) {
  const found = CONE.exec(text)?.groups;
  if (!found) return null;
  const { number, half } = found;
  const isLow = number.startsWith("0");
  if (isLow && half === ".5") return null;
  const size = Number(number);
  const isKnown = size >= 1 && size <= (isLow ? 22 : 42) && number.length === `${size}`.length + (isLow ? 1 : 0);
  const away = size + (half ? 0.5 : 0);
  return { heat: isKnown ? (isLow ? -away : away) : null, text: half ? `${number} 1/2` : number };
}

export function cone(text) {
  const ends = text.split(/ ?- ?/u).map(oneCone);
  if (ends.length > 2 || ends.includes(null)) return null;
  if (ends.length === 1) return ends[0].text;
  const [low, high] = ends;
  if (low.heat !== null && high.heat !== null && low.heat > high.heat) return null;
  return low.text === high.text ? low.text : `${low.text}-${high.text}`;
}

function date(text) {
  if (!/^[0-9]{4}-[0-9]{2}-[0-9]{2}$/u.test(text) || text.startsWith("0000")) return null;
  const day = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(day.valueOf()) && day.toISOString().startsWith(text) ? text : null;
}

/** A number of a field keeps its decimals: 62.50 may say how finely it was measured. */
const asWritten = (number) => number.replace(/^0*(?=[0-9])/u, "").replace(/^\./u, "0.");

function quantity(text, units) {
  const found = new RegExp(`^(?<number>${NUMBER}) *(?<unit>${units.join("|")})$`, "u").exec(text)?.groups;
  return found ? { number: Fraction.read(found.number), text: `${asWritten(found.number)} ${found.unit}` } : null;
}

function mass(text) {
  const found = quantity(text, MASSES);
  return found && !found.number.isZero ? found.text : null;
}

function water(text) {
  return quantity(text, ["%"])?.text ?? null;
}

function gravity(text) {
  if (!/^[0-9](?:\.[0-9]{1,4})?$/u.test(text)) return null;
  const number = Fraction.read(text);
  return number.compare(Fraction.of(1)) < 0 || number.compare(Fraction.of(3)) > 0 ? null : text;
}

function sieve(text) {
  const found = /^([0-9]{1,3})(?: *mesh)?$/u.exec(text);
  return found && Number(found[1]) > 0 ? `${Number(found[1])} mesh` : null;
}

function tags(text) {
  const found = text.split(",").map((tag) => tag.trim()).filter((tag) => tag !== "");
  return found.length > 0 ? found.join(", ") : null;
}

const TEXTS = ["surface", "colour", "origin", "body", "application", "firing"];
export const isText = (key) => TEXTS.includes(key);

const use = (text) => (["food", "decorative", "test"].includes(text) ? text : null);
const TYPES = { cone, date, gravity, sieve, tags, water, use, batch: mass };

export const value = (key, text) => (TYPES[key] ? TYPES[key](text) : text);
