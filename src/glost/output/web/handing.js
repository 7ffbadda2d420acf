// The record of a batch.

"use strict";

const handing = (() => {
  const { read, shown, sum } = exact;
  const { Figure, dateOf, download, json, moment, nameOf, sharable } = ways;
  const { actualOf, balanceOf, begun, heldBy, mostPlaces, placesOf, planOf, targetOf, timesOf } = plans;
  const MOST_TEXT = 4000;

  // A mass as somebody writes it, with a point or a comma; null where it is none.
  function typed(text) {
    const bare = text.trim().replace(/\s*g$/i, "").replace(",", ".");
    return /^(?:[0-9]{1,9}(?:\.[0-9]{0,6})?|\.[0-9]{1,6})$/.test(bare) ? read(bare) : null;
  }

  // ---- time --------------------------------------------------------------------------------------------

  // Day and time as they stand on the page.
  const dayOf = (moment) => `${moment.slice(0, 10)} ${moment.slice(11, 16)}`;

  // The days of weighing, as they stand on paper.
  function daysOf(state) {
    const days = [...new Set(timesOf(state).map((at) => at.slice(0, 10)))];
    return days.length > 1 ? `${days[0]} to ${days[days.length - 1]}` : days[0] || "";
  }

  // ---- the record --------------------------------------------------------------------------------------

  const remarksOf = (state) =>
    [state.said.remarks.trim(), state.larger ? state.larger.why : ""].filter(Boolean).join("\n").slice(0, MOST_TEXT);

  // Read where all figures were read off the balance, ticked where none was, null where nobody knows of one.
  function takenOf(all) {
    if (all.some((one) => one === null)) return null;
    const kinds = new Set(all);
    return kinds.size === 1 ? all[0] : "partly";
  }

  function recordOf(sheet, state, now) {
    const plan = planOf(sheet, state);
    const most = mostPlaces(sheet);
    const water = typed(state.said.water);
    const complete = state.lines.every((line) => line.actual !== null);
    const figure = (mass, places) => new Figure(shown(mass, places));
    // Portions of one line are one line of the record.
    const firsts = sheet.lines.map((_, at) => at).filter((at) => sheet.lines[at].portion === 1);
    const rowsOf = (first) =>
      sheet.lines.map((_, at) => at).filter((at) => sheet.lines[at].of === sheet.lines[first].of);
    return {
      version: 3,
      kind: "glost record",
      recorded_at: moment(now),
      weighed_on: (timesOf(state)[0] || "").slice(0, 10) || null,
      person: state.said.person.trim(),
      project: state.said.project.trim(),
      recipe: sheet.recipe,
      test: sheet.test,
      file: sheet.file,
      revision: sheet.revision,
      uses: sheet.uses || [], // a page of an earlier glost kept none
      batch: {
        base_mass_g: new Figure(shown(plan.base)),
        total_mass_g: figure(targetOf(plan), most),
      },
      planned: {
        base_mass_g: new Figure(shown(read(sheet.base))),
        total_mass_g: figure(sum(sheet.lines.map((line) => read(line.target))), most),
      },
      rescues: state.rescues.map((one) => ({
        at: one.at,
        material: one.material,
        target_g: new Figure(one.target),
        actual_g: new Figure(one.actual),
        base_mass_g: new Figure(one.base),
      })),
      lines: firsts.map((first) => {
        const line = sheet.lines[first];
        const rows = rowsOf(first);
        const places = placesOf(line);
        const missing = rows.some((at) => state.lines[at].actual === null);
        const times = rows.map((at) => state.lines[at].at).filter(Boolean);
        return {
          material: line.material,
          name: line.name,
          base: line.base,
          planned_g: figure(sum(rows.map((at) => read(sheet.lines[at].target))), places),
          target_g: figure(sum(rows.map((at) => plan.lines[at].target)), places),
          actual_g: missing ? null : figure(sum(rows.map((at) => actualOf(state.lines[at]))), places),
          taken: missing ? null : takenOf(rows.map((at) => state.lines[at].taken)),
          at: missing || !times.length ? null : times.sort((a, b) => Date.parse(a) - Date.parse(b))[times.length - 1],
          lot: [...new Set(rows.map((at) => state.lots[at].trim()).filter(Boolean))].join(", "),
          balance: balanceOf(state, line).trim(),
        };
      }),
      water_g: water ? new Figure(shown(water)) : null,
      sieve: state.said.sieve.trim(),
      remarks: remarksOf(state),
      checked_by: state.said.checked_by.trim(),
      total_actual_g: complete ? figure(heldBy(state), most) : null,
    };
  }

  const indented = (text) => text.replace(/\n/g, "\n    ");

  // The record of a batch as text: the same one until something changes, so that it is known again when it comes twice.
  function textOf(batch) {
    if (!batch.record) {
      const now = new Date();
      batch.record = json(recordOf(batch.sheet, batch.state, now));
      batch.name = nameOf(`record ${batch.sheet.recipe} ${batch.sheet.test}`, now);
    }
    return `${batch.record}\n`;
  }

  // All records in one text.
  const together = (batches) =>
    `{\n  "version": 1,\n  "kind": "glost records",\n  "records": [\n    ${batches
      .map((one) => indented(textOf(one).trimEnd()))
      .join(",\n    ")}\n  ]\n}\n`;

  // What is missing before it can be handed over, "" where nothing is.
  function flaw(state) {
    return state.said.water.trim() && !typed(state.said.water)
      ? "The water is no mass in grams: write a number, such as 60, or leave it empty."
      : "";
  }

  return { MOST_TEXT, begun, dateOf, dayOf, daysOf, download, flaw, json, moment, nameOf, recordOf, remarksOf, sharable, textOf, together, typed };
})();
