// Reads pages of the language, one a line of JSON: {"id": ..., "page": the bytes in base64}. Answers each with a line:
// With "firing": true it is a page of a firing, and the answer has "firing", what it means.
// {"id": ..., "accepted": true, "usable": ..., "recipe": ..., "base total": ..., "tests": ...}, or with "line", that of
// the first error. The first line that is read holds {"materials": [...], "beside": [texts]}.

import { createInterface } from "node:readline";

import { Firing } from "./firing.mjs";
import { NotText, decode } from "./lines.mjs";
import { Materials } from "./materials.mjs";
import { Library, read } from "./meaning.mjs";
import { told } from "./told.mjs";

function answer(bytes, isFiring, materials, library) {
  let text;
  try {
    text = decode(bytes);
  } catch (error) {
    if (error instanceof NotText) return { accepted: false, line: error.line };
    throw error;
  }
  if (isFiring) {
    const firing = new Firing(text);
    if (firing.faults.size > 0) return refused(firing.faults);
    return { accepted: true, firing: firing.told() };
  }
  const { page, recipe } = read(text, materials, library);
  if (page.faults.size > 0) return refused(page.faults);
  return { accepted: true, ...told(page, recipe) };
}

function refused(faults) {
  // What is wrong there is for whoever works on this reader: SAYS=1 in the environment shows it.
  const line = Math.min(...faults.keys());
  return { accepted: false, line, ...(process.env.SAYS ? { says: faults.get(line) } : {}) };
}

let given = null;
for await (const line of createInterface({ input: process.stdin })) {
  const asked = JSON.parse(line);
  if (given === null) {
    given = asked;
    continue;
  }
  const materials = new Materials(given.materials);
  // A library of its own for each page: what one page uses leaves nothing behind for the next.
  const library = new Library(given.beside, materials);
  const said = answer(Buffer.from(asked.page, "base64"), asked.firing === true, materials, library);
  process.stdout.write(`${JSON.stringify({ id: asked.id, ...said })}\n`);
}
