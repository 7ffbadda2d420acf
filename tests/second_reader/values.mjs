// What stands behind the colon of a field, as one plain text; null where it is nothing of its type.

import { Fraction } from "./fraction.mjs";
import { MASSES } from "./page.mjs";

const NUMBER = /^(?:[0-9]{1,9}(?:\.[0-9]{1,6})?|\.[0-9]{1,6})$/u;
const CONE = /^(?<number>0[1-9]|0[1-9][0-9]|[1-9][0-9]?)(?<half> 1\/2|½|\.5)?$/u;

/** Where a cone stands among all of them, the coolest least, and how it is written. */
function oneCone(text) {
  const found = CONE.exec(text)?.groups;
  if (!found) return null;
  const { number, half } = found;
  const low = number.startsWith("0");
  const size = Number(number);
  if (size > (low ? 22 : 42) || (low && half === ".5")) return null;
  const away = size + (half ? 0.5 : 0);
  return { heat: low ? -away : away, text: half ? `${number} 1/2` : number };
}

export function cone(text) {
  const ends = text.split(/ *- */u).map(oneCone);
  if (ends.length > 2 || ends.includes(null)) return null;
  if (ends.length === 2 && ends[0].heat >= ends[1].heat) return null;
  return ends.map((end) => end.text).join("-");
}

function date(text) {
  const found = /^(\d{4})-(\d{2})-(\d{2})$/u.exec(text);
  if (!found) return null;
  const day = new Date(`${text}T00:00:00Z`);
  return !Number.isNaN(day.valueOf()) && day.toISOString().startsWith(text) ? text : null;
}

function quantity(text, units) {
  const found = /^(?<number>\S*?) *(?<unit>[a-z%]+)$/u.exec(text)?.groups;
  if (!found || !NUMBER.test(found.number) || !units.includes(found.unit)) return null;
  return { number: Fraction.read(found.number), unit: found.unit };
}

function mass(text) {
  const found = quantity(text, MASSES);
  return found && !found.number.isZero ? `${found.number} ${found.unit}` : null;
}

function water(text) {
  const found = quantity(text, ["%"]);
  return found && `${found.number} %`;
}

function gravity(text) {
  if (!NUMBER.test(text)) return null;
  const number = Fraction.read(text);
  return number.compare(Fraction.of(1)) < 0 || number.compare(Fraction.of(3)) > 0 ? null : `${number}`;
}

function sieve(text) {
  const found = /^([0-9]{1,3})(?: *mesh)?$/u.exec(text);
  return found && Number(found[1]) > 0 ? `${Number(found[1])} mesh` : null;
}

function tags(text) {
  const found = text.split(",").map((tag) => tag.trim()).filter((tag) => tag !== "");
  return found.length > 0 ? found.join(", ") : null;
}

const TEXT = ["surface", "colour", "origin", "body", "application", "firing"];
export const isText = (key) => TEXT.includes(key);

const TYPES = {
  cone, date, gravity, sieve, tags, water,
  batch: mass,
  atmosphere: (text) => text,
  use: (text) => (["food", "decorative", "test"].includes(text) ? text : null),
};

export const value = (key, text) => (TYPES[key] ? TYPES[key](text) : text);
