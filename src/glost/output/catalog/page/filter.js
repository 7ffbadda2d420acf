"use strict";
// Which rows are shown, and in what order: no part of the page is touched here. Rows comes from the data that the
// page carries (its form is told in held.py).
const Rows = (() => {
  const LEVELS = ["error", "warning", "hint"];

  // Letter case, width of signs and marks above letters do not matter to whoever looks for a word.
  const fold = (text) => text.normalize("NFKD").replace(/\p{M}+/gu, "").toLowerCase();

  const open = (held) => {
    const texts = held.texts;
    const folded = texts.map(fold);
    const materials = held.materials.map(([name, others], at) => ({
      name: texts[name],
      tone: held.tones[at],
      others: others.map((other) => texts[other]),
    }));
    const weighed = ([material, amount, written, note]) => ({
      material,
      name: materials[material].name,
      tone: materials[material].tone,
      amount: texts[amount],
      written: written < 0 ? "" : texts[written],
      note: note < 0 ? "" : texts[note],
    });
    const harms = held.harms.map(([listed, silent, unknown, restricted, cautions, mask]) => ({
      listed: listed.map(([material, codes, cited]) => ({ material: texts[material], codes, cited: texts[cited] })),
      silent: silent.map((name) => texts[name]),
      unknown: unknown.map((name) => texts[name]),
      restricted: restricted.map(([name, what]) => ({ name: texts[name], what: texts[what] })),
      cautions: cautions.map(([text, names]) => ({ text: texts[text], names: names.map((name) => texts[name]) })),
      codes: [...new Set(listed.flatMap(([, codes]) => codes))].sort(),
      groups: held.groups.filter((_, bit) => mask & (1 << bit)).map(([, short]) => short),
      mask,
    }));
    const words = (about, weighings, test, fired) =>
      [
        ...[0, 2, 3, 4, 7, 8, 9, 10, 11].map((at) => about[at]),
        ...about[12],
        ...about[13].map(([, said]) => said),
        about[14],
        ...weighings.flatMap(([material, , written, note]) => [held.materials[material][0], written, note]),
        test,
        ...(fired ? [...fired.slice(0, 6), ...fired[6], fired[7]] : []),
      ]
        .filter((text) => text >= 0)
        .map((text) => folded[text])
        .join("\n");
    const abouts = held.abouts.map((about) => {
      const findings = about[15].map(([rule, level, line, message, hint]) => ({
        rule: texts[rule],
        level: texts[level],
        line,
        message: texts[message],
        hint: texts[hint],
      }));
      return {
        file: texts[about[0]],
        read: about[1],
        kind: texts[about[2]],
        name: texts[about[3]],
        cone: texts[about[4]],
        low: about[5],
        high: about[6],
        atmosphere: texts[about[7]],
        surface: texts[about[8]],
        surfaceFolded: folded[about[8]],
        colour: texts[about[9]],
        use: texts[about[10]],
        date: texts[about[11]],
        tags: about[12].map((tag) => texts[tag]),
        others: about[13].map(([name, said]) => [texts[name], texts[said]]),
        notes: texts[about[14]],
        findings,
        counts: LEVELS.map((level) => findings.filter((one) => one.level === level).length),
        revision: about[16] ? { short: texts[about[16][0]], day: texts[about[16][1]], changed: about[16][2] } : null,
      };
    });
    const bases = held.bases.map((base) => base.map(weighed));
    const tile = (fired) => ({
      date: texts[fired[0]],
      firing: texts[fired[1]],
      tile: texts[fired[2]],
      cone: texts[fired[3]],
      surface: texts[fired[4]],
      colour: texts[fired[5]],
      faults: fired[6].map((one) => texts[one]),
      remarks: texts[fired[7]],
      photo: fired[8],
      small: fired[9],
    });
    const rows = held.rows.map(([at, line, test, base, additions, harm, sets, fired], place) => {
      const about = abouts[at];
      return {
        place,
        about,
        line,
        test: texts[test],
        sheet: held.sheets[place] || "",
        step: texts[sets] ? `${texts[test]}: ${texts[sets]}` : texts[test],
        base: bases[base],
        additions: additions.map(weighed),
        uses: new Set([...held.bases[base], ...additions].map(([material]) => material)),
        harm: harms[harm],
        known: about.read === 0 && harms[harm].unknown.length === 0,
        fired: fired ? tile(fired) : null,
        words: words(held.abouts[at], [...held.bases[base], ...additions], test, fired),
      };
    });
    return { rows, materials, groups: held.groups, names: byName(materials) };
  };

  // From every folded name and other name to the materials that are called so.
  const byName = (materials) => {
    const names = new Map();
    materials.forEach((material, at) => {
      for (const name of [material.name, ...material.others]) {
        const key = fold(name.trim());
        names.set(key, [...(names.get(key) || []), at]);
      }
    });
    return names;
  };

  // What a person means by a name: that material, or the only one with these words in one of its names.
  const meant = (table, text) => {
    const key = fold(text.trim());
    if (!key) {
      return [];
    }
    const exact = table.names.get(key);
    if (exact) {
      return exact;
    }
    const parts = key.split(/\s+/);
    const holding = [...table.names].filter(([name]) => parts.every((part) => name.includes(part)));
    const near = new Set(holding.flatMap(([, found]) => found));
    return near.size === 1 ? [...near] : [];
  };

  const NOTHING = {
    q: "", with: [], without: [], from: "", to: "", kind: "", atmosphere: "", use: "", surface: "", findings: "",
    fired: "", free: [], sort: "",
  };

  const serious = (about, least) =>
    least === "none"
      ? about.counts.every((count) => !count)
      : least === "unread"
        ? about.read > 0
        : about.counts.slice(0, LEVELS.indexOf(least) + 1).some((count) => count);

  const outcome = (fired, asked) =>
    asked === "never"
      ? fired === null
      : fired !== null && (asked === "yes" || (asked === "faults") === fired.faults.length > 0);

  // Whether a row is shown: true; false; or null where only what is unknown of it keeps it out.
  const judge = (table, wanted) => {
    const asked = fold(wanted.q).split(/\s+/).filter(Boolean);
    const ids = (names) => names.map((name) => table.names.get(fold(name)) || []);
    const having = ids(wanted.with);
    const lacking = ids(wanted.without).flat();
    const ends = [wanted.from, wanted.to].map((end) => (end === "" ? null : Number(end)));
    const [low, high] = ends[0] !== null && ends[1] !== null && ends[0] > ends[1] ? [ends[1], ends[0]] : ends;
    const surface = fold(wanted.surface.trim());
    const free = table.groups.reduce((mask, [key], bit) => (wanted.free.includes(key) ? mask | (1 << bit) : mask), 0);
    return (row) => {
      const about = row.about;
      if (
        !asked.every((word) => row.words.includes(word)) ||
        !having.every((any) => any.some((at) => row.uses.has(at))) ||
        lacking.some((at) => row.uses.has(at)) ||
        ((low !== null || high !== null) && about.low === null) ||
        (low !== null && about.high < low) ||
        (high !== null && about.low > high) ||
        (wanted.kind && about.kind !== wanted.kind) ||
        (wanted.atmosphere && about.atmosphere !== wanted.atmosphere) ||
        (wanted.use && about.use !== wanted.use) ||
        (surface && !about.surfaceFolded.includes(surface)) ||
        (wanted.findings && !serious(about, wanted.findings)) ||
        (wanted.fired && !outcome(row.fired, wanted.fired)) ||
        row.harm.mask & free
      ) {
        return false;
      }
      return (free && !row.known) || (wanted.without.length && about.read > 0) ? null : true;
    };
  };

  const collator = new Intl.Collator("en", { numeric: true, sensitivity: "base" });
  const BY = {
    name: (row) => [row.about.name, row.test],
    cone: (row) => [row.about.high, row.about.low],
    atmosphere: (row) => [row.about.atmosphere],
    surface: (row) => [row.about.surface],
    colour: (row) => [row.about.colour],
    use: (row) => [row.about.use],
    fired: (row) => [row.fired ? row.fired.date : ""],
    // What is not known stands with the most.
    hazards: (row) => [row.known ? row.harm.groups.length : 99, row.harm.codes.length],
    findings: (row) => [row.about.read, ...row.about.counts],
    revision: (row) => [row.about.revision ? row.about.revision.day : ""],
  };

  const compare = (one, other, down) => {
    for (let at = 0; at < one.length; at += 1) {
      const [a, b] = [one[at], other[at]];
      const empty = [a, b].map((value) => (value === "" && at === 0) || value === null);
      // What has no value stands last, whichever way it goes.
      if (empty[0] || empty[1]) {
        if (empty[0] !== empty[1]) {
          return empty[0] ? 1 : -1;
        }
        continue;
      }
      const differs = typeof a === "number" ? a - b : collator.compare(a, b);
      if (differs) {
        return down ? -differs : differs;
      }
    }
    return 0;
  };

  // All rows in the order of "cone", "cone,down" or "" (as the files come).
  const ordered = (table, sort) => {
    const [key, way] = sort.split(",");
    if (!Object.hasOwn(BY, key)) {
      return table.rows;
    }
    const values = table.rows.map(BY[key]);
    return [...table.rows].sort(
      (one, other) =>
        compare(values[one.place], values[other.place], way === "down") || one.place - other.place
    );
  };

  // The rows that are shown, of rows in their order; and how many are left out for what is not known of them.
  const select = (table, rows, wanted) => {
    const verdict = judge(table, wanted);
    const found = [];
    let leftOut = 0;
    for (const row of rows) {
      const shown = verdict(row);
      if (shown) {
        found.push(row);
      } else if (shown === null) {
        leftOut += 1;
      }
    }
    return { found, leftOut };
  };

  // The state as the part of an address behind #, and back. What is not understood is passed over.
  const toPart = (wanted) => {
    const part = new URLSearchParams();
    for (const [key, empty] of Object.entries(NOTHING)) {
      for (const value of Array.isArray(empty) ? wanted[key] : [wanted[key]]) {
        if (value) {
          part.append(key, value);
        }
      }
    }
    return part.toString();
  };
  const fromPart = (text) => {
    const part = new URLSearchParams(text.replace(/^#/, ""));
    const wanted = {};
    for (const [key, empty] of Object.entries(NOTHING)) {
      wanted[key] = Array.isArray(empty) ? [...new Set(part.getAll(key))] : part.get(key) || "";
    }
    return wanted;
  };

  // What a row is called in an address: the file, and the test behind it.
  const keyOf = (row) => (row.test ? row.about.file + ", " + row.test : row.about.file);
  const named = (table, key) => table.rows.find((row) => keyOf(row) === key);

  return { open, fold, meant, select, ordered, toPart, fromPart, keyOf, named, NOTHING };
})();
