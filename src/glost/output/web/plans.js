// What follows from a sheet and what has been weighed of it: targets, vessels, verdicts. Nothing here touches the page.

"use strict";

const plans = (() => {
  const { ZERO, add, compare, divide, fraction, multiply, read, subtract, sum } = exact;

  // The display goes in steps: no other figure can be waited for on it.
  function onSteps(mass, division) {
    const steps = divide(mass, division);
    return multiply(fraction(exact.roundedOf(steps.n, steps.d)), division);
  }

  // A state with nothing in it. said: what is known of the batch before it is begun, lots: of each line.
  function fresh(sheet, said = {}, lots = []) {
    return {
      mode: "line",
      current: null,
      // actual: what is in, null where nothing is. already: what of that stood in the cup before a top-up.
      // open: still to be weighed or decided on. placed: what went into which vessel, by its number, 0 for a cup of
      // its own; stood: the same before a top-up. taken: "read" off the balance, "ticked", "partly" read, null where
      // nothing is in or nobody knows; at: when. takenBefore, atBefore: the same before a top-up.
      lines: sheet.lines.map((line) => ({
        actual: read(line.exact).n === 0n ? "0" : null,
        already: "0",
        open: read(line.exact).n !== 0n,
        placed: [],
        stood: [],
        taken: null,
        at: null,
        takenBefore: null,
        atBefore: null,
      })),
      larger: null,
      rescues: [],
      lots: sheet.lines.map((_, at) => lots[at] || ""),
      balances: {},
      last: "",
      asked: false,
      said: { person: "", project: "", checked_by: "", water: "", sieve: sheet.sieve, remarks: "", ...said },
      before: [],
    };
  }

  // What an earlier page kept, as it is kept now. Whether a figure was read or ticked it did not know.
  function grown(sheet, old) {
    const state = fresh(sheet);
    old.lines.forEach((line, at) => {
      const vessel = sheet.lines[at].vessel;
      Object.assign(state.lines[at], line);
      state.lines[at].placed = line.placed || (line.actual === null ? [] : [[vessel, line.actual]]);
      state.lines[at].stood = line.stood || (line.already === "0" ? [] : [[vessel, line.already]]);
    });
    if (state.lines.length !== sheet.lines.length) throw new RangeError("other lines");
    const { mode, current, larger, lots, balances, said } = old;
    return {
      ...state,
      mode: mode === "cup" ? "cup" : "line",
      current: Number.isInteger(current) && current >= 0 && current < sheet.lines.length ? current : null,
      larger: larger || null,
      lots: Array.isArray(lots) ? lots : state.lots,
      balances: balances || {},
      said: { ...state.said, ...said },
    };
  }

  // The plan as it now stands: that of the sheet, or of the larger batch.
  function planOf(sheet, state) {
    const planned = read(sheet.base);
    const base = state.larger ? read(state.larger.base) : planned;
    return {
      base,
      capacity: sheet.main ? read(sheet.main.capacity) : null,
      cup: sheet.main ? read(sheet.main.cup) : null,
      lines: sheet.lines.map((line, at) => ({
        material: line.material,
        exact: multiply(read(line.exact), divide(base, planned)),
        target: read(state.larger ? state.larger.targets[at] : line.target),
        division: read(line.division),
        minimum: line.minimum === null ? null : read(line.minimum),
        within: state.larger ? state.larger.within[at] : line.within,
        rounds: state.larger ? state.larger.within[at] : line.rounds,
      })),
    };
  }

  // Where each open line goes, and what the vessel holds before it: the vessel of the plan while there is room, else a
  // further one, so that no display is asked to show more than it can. first: the line that is weighed next; the others
  // follow in their order. shows: what the display of a running total stands at when the line is in. loads: what each
  // vessel holds in the end.
  function vesselsOf(sheet, state, plan, first) {
    const room = plan.capacity && subtract(plan.capacity, plan.cup);
    const loads = new Map();
    const put = (placed) =>
      placed.forEach(([vessel, mass]) => loads.set(vessel, add(loads.get(vessel) || ZERO, read(mass))));
    state.lines.forEach((line) => put(line.open ? line.stood : line.placed));
    let last = Math.max(sheet.vessels, ...loads.keys());
    const fits = (vessel, mass) => !room || compare(add(loads.get(vessel) || ZERO, mass), room) <= 0;
    const found = state.lines.map(() => null);
    const order = state.lines.map((_, at) => at).filter((at) => at !== first);
    for (const at of first >= 0 ? [first, ...order] : order) {
      const mine = state.lines[at];
      if (!mine.open) continue;
      const line = sheet.lines[at];
      const division = read(line.division);
      const missing = subtract(plan.lines[at].target, read(mine.already));
      const own = missing.n < 0n ? ZERO : onSteps(missing, division);
      if (line.apart || !line.vessel) {
        found[at] = { vessels: [0], before: ZERO, own, most: own, shows: null };
        continue;
      }
      if (room && compare(own, room) > 0) {
        const steps = divide(room, division);
        const most = multiply(fraction(exact.floorOf(steps.n, steps.d)), division);
        const needed = divide(own, most);
        const count = Number(-exact.floorOf(-needed.n, needed.d));
        const vessels = Array.from({ length: count }, () => (last += 1));
        found[at] = { vessels, before: ZERO, own, most, shows: null };
        continue;
      }
      let vessel = line.vessel;
      if (!fits(vessel, own)) {
        if (last <= sheet.vessels || !fits(last, own)) last += 1;
        vessel = last;
      }
      const before = loads.get(vessel) || ZERO;
      const whole = add(before, own);
      found[at] = { vessels: [vessel], before, own, most: own, shows: onSteps(whole, division) };
      loads.set(vessel, whole);
    }
    return { lines: found, count: last, loads };
  }

  const placesOf = (line) => exact.decimalsOf(read(line.division));
  const mostPlaces = (sheet) => Math.max(0, ...sheet.lines.map(placesOf));
  const actualOf = (line) => (line.actual === null ? ZERO : read(line.actual));
  const heldBy = (state) => sum(state.lines.map(actualOf));
  const targetOf = (plan) => sum(plan.lines.map((line) => line.target));
  const weighs = (line) => read(line.exact).n !== 0n;
  const begun = (sheet, state) => state.lines.some((line, at) => line.actual !== null && weighs(sheet.lines[at]));

  function percent(a) {
    const hundredfold = multiply(exact.absolute(a), fraction(100n));
    const places = compare(hundredfold, fraction(10n)) < 0 ? 1 : 0;
    const text = exact.written(hundredfold, places);
    return Number(text) === 0 && a.n !== 0n ? "under 0.1\u00a0%" : `${text.replace(/\.0$/, "")}\u00a0%`;
  }

  // How a mass stands to its line: "on", "within", "short" or "over". As glost.weighing.standing has it.
  function standing(line, actual, tolerance) {
    if (!exact.shows(subtract(actual, line.target), line.division, line.rounds)) return "on";
    const margin = multiply(line.exact, tolerance);
    if (compare(actual, add(line.exact, margin)) > 0 && compare(actual, line.target) > 0) return "over";
    if (compare(actual, subtract(line.exact, margin)) < 0 && compare(actual, line.target) < 0) return "short";
    return "within";
  }

  function verdict(sheet, plan, at, actual) {
    const tolerance = read(sheet.tolerance);
    const line = plan.lines[at];
    const kind = standing(line, actual, tolerance);
    const places = placesOf(sheet.lines[at]);
    const off = subtract(actual, line.target);
    const grams = `${exact.shown(exact.absolute(off), places)}\u00a0g`;
    const share = percent(divide(subtract(actual, line.exact), line.exact));
    const limit = percent(tolerance);
    if (kind === "on") {
      return { kind, text: line.within ? "on target" : "on target, as near as this balance gets" };
    }
    if (kind === "over") return { kind, text: `${grams} too much, ${share} over: outside ${limit}` };
    if (kind === "short") return { kind, text: `${grams} still to go, ${share} short: outside ${limit}` };
    const side = off.n > 0n ? "over" : "under";
    return { kind, text: `${grams} ${side}, ${share} off: within ${limit}` };
  }

  // The line to weigh next: the chosen one while it is open, else the first that is; -1 when all are in.
  function currentOf(sheet, state, plan) {
    const tolerance = read(sheet.tolerance);
    const asking = state.lines.findIndex((line, at) => isOver(line, plan.lines[at], tolerance));
    if (asking >= 0) return asking;
    if (state.current !== null && state.lines[state.current] && state.lines[state.current].open) return state.current;
    return state.lines.findIndex((line) => line.open);
  }

  function isOver(line, planned, tolerance) {
    return line.open && line.actual !== null && standing(planned, read(line.actual), tolerance) === "over";
  }

  function rescueOf(sheet, state, plan) {
    const inside = new Map();
    state.lines.forEach((line, at) => {
      const name = plan.lines[at].material;
      inside.set(name, add(inside.get(name) || ZERO, actualOf(line)));
    });
    return exact.rescue(plan, inside, read(sheet.tolerance));
  }

  // Targets of all lines after a rescue. Lines of one material share what is to be added: those that are not
  // weighed yet take it, else the first of them is topped up.
  function targetsAfter(sheet, state, plan, found) {
    const targets = plan.lines.map((line, at) => (line.exact.n === 0n ? ZERO : actualOf(state.lines[at])));
    for (const step of found.steps) {
      const same = plan.lines.map((_, at) => at).filter((at) => plan.lines[at].material === step.material);
      const empty = same.filter((at) => state.lines[at].actual === null);
      const takers = empty.length ? empty : [same[0]];
      const shares = sum(takers.map((at) => plan.lines[at].exact));
      let left = step.add;
      takers.forEach((at, number) => {
        const division = plan.lines[at].division;
        const quota = divide(multiply(step.add, plan.lines[at].exact), multiply(shares, division));
        const share =
          number === takers.length - 1
            ? left
            : multiply(fraction(exact.roundedOf(quota.n, quota.d)), division);
        targets[at] = add(targets[at], share);
        left = subtract(left, share);
      });
    }
    return targets;
  }

  const waterFor = (sheet, dry) => divide(multiply(dry, read(sheet.water)), fraction(100n));
  const poured = (water) => `${exact.written(water, compare(water, fraction(100n)) >= 0 ? 0 : 1)}\u00a0g`;
  const waterOf = (sheet, dry) => poured(waterFor(sheet, dry));

  // The times at which lines were taken, the first of them first.
  const timesOf = (state) =>
    state.lines
      .map((line) => line.at)
      .filter(Boolean)
      .sort((a, b) => Date.parse(a) - Date.parse(b));

  const balanceOf = (state, line) =>
    Object.hasOwn(state.balances, line.balance) ? state.balances[line.balance] : line.balance;

  return {
    actualOf,
    balanceOf,
    begun,
    currentOf,
    fresh,
    grown,
    heldBy,
    isOver,
    mostPlaces,
    placesOf,
    planOf,
    poured,
    rescueOf,
    standing,
    targetOf,
    targetsAfter,
    timesOf,
    verdict,
    vesselsOf,
    waterFor,
    waterOf,
    weighs,
  };
})();
