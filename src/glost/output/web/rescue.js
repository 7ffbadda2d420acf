// Too much of a line has gone in: the arithmetic of glost.weighing.overshoot, on the page.
//
// Every mass is exact. A fraction is {n, d}, two BigInts without a common divisor, d above 0. No binary
// float touches a figure; tests compare this file with the Python it follows, case by case.

"use strict";

const exact = (() => {
  const MOST_TRIES = 20000;

  // ---- fractions ---------------------------------------------------------------------------------------

  function gcd(a, b) {
    a = a < 0n ? -a : a;
    while (b) [a, b] = [b, a % b];
    return a;
  }

  function fraction(n, d = 1n) {
    if (d === 0n) throw new RangeError("a fraction over 0");
    const common = gcd(n, d < 0n ? -d : d) || 1n;
    const sign = d < 0n ? -1n : 1n;
    return { n: (sign * n) / common, d: (sign * d) / common };
  }

  const add = (a, b) => fraction(a.n * b.d + b.n * a.d, a.d * b.d);
  const subtract = (a, b) => fraction(a.n * b.d - b.n * a.d, a.d * b.d);
  const multiply = (a, b) => fraction(a.n * b.n, a.d * b.d);
  const divide = (a, b) => fraction(a.n * b.d, a.d * b.n);
  const absolute = (a) => (a.n < 0n ? { n: -a.n, d: a.d } : a);
  const sum = (fractions) => fractions.reduce(add, ZERO);
  const largest = (fractions) => fractions.reduce((a, b) => (compare(a, b) < 0 ? b : a));

  // Below 0 where a is less than b, above 0 where it is more.
  function compare(a, b) {
    const difference = a.n * b.d - b.n * a.d;
    return difference < 0n ? -1 : difference > 0n ? 1 : 0;
  }

  const ZERO = { n: 0n, d: 1n };
  const ONE = { n: 1n, d: 1n };

  // "12.50" or "1/3". Throws RangeError for anything else.
  function read(text) {
    const parts = /^(-?)([0-9]+)\/([0-9]+)$/.exec(text);
    if (parts) return fraction(BigInt(parts[1] + parts[2]), BigInt(parts[3]));
    const decimal = /^(-?)([0-9]*)(?:\.([0-9]*))?$/.exec(text);
    if (!decimal || !(decimal[2] || decimal[3])) throw new RangeError(`no number: ${text}`);
    const behind = decimal[3] || "";
    return fraction(BigInt(decimal[1] + (decimal[2] || "0") + behind), 10n ** BigInt(behind.length));
  }

  const kept = (a) => `${a.n}/${a.d}`;

  function floorOf(n, d) {
    const whole = n / d;
    return n % d !== 0n && n < 0n !== d < 0n ? whole - 1n : whole;
  }

  const ceilingOf = (n, d) => -floorOf(-n, d);

  // The nearest whole number; one half goes to the even one. d above 0.
  function roundedOf(n, d) {
    const whole = floorOf(n, d);
    const rest = 2n * (n - whole * d);
    return rest > d || (rest === d && whole % 2n !== 0n) ? whole + 1n : whole;
  }

  // With so many decimals, half to even.
  function written(a, places) {
    const units = roundedOf(a.n * 10n ** BigInt(places), a.d);
    const digits = (units < 0n ? -units : units).toString().padStart(places + 1, "0");
    const whole = digits.slice(0, digits.length - places);
    const sign = units < 0n ? "-" : "";
    return places ? `${sign}${whole}.${digits.slice(digits.length - places)}` : sign + whole;
  }

  // All decimals that it has, up to `most`, and at least `least` of them.
  function shown(a, least = 0, most = 6) {
    let places = least;
    while (places < most && (a.n * 10n ** BigInt(places)) % a.d !== 0n) places += 1;
    return written(a, places);
  }

  // How many decimals it takes to write any multiple of a division.
  function decimalsOf(division) {
    let places = 0;
    while ((division.n * 10n ** BigInt(places)) % division.d !== 0n) places += 1;
    return places;
  }

  // ---- the rescue --------------------------------------------------------------------------------------

  // One material in whole units of 10^-scale grams, so that the search below needs no common divisors.
  // share: mass per mass of base.
  function wantedOf(lines, inside, start, scale) {
    const units = (mass) => (mass.n * scale) / mass.d;
    const first = lines[0];
    const division = units(first.division);
    return {
      material: first.material,
      share: divide(sum(lines.map((line) => line.exact)), start),
      inside: units(inside),
      target: units(sum(lines.map((line) => line.target))),
      division,
      // The fewest divisions that can be added: the minimum of the balance rules out less.
      least: first.minimum ? [1n, ceilingOf(units(first.minimum), division)].reduce((a, b) => (a > b ? a : b)) : 1n,
      hopeful: lines.every((line) => line.rounds),
    };
  }

  // Whether a balance shows that a mass is off its target by so much; where rounding to its steps alone puts the line out
  // of tolerance, anything counts. As glost.weighing.standing has it.
  function shows(off, division, rounds) {
    return rounds ? compare(absolute(off), division) >= 0 : off.n !== 0n;
  }

  // Whether the target of the plan is right, and the balance shows nothing else.
  const done = (one) => one.hopeful && !shows(fraction(one.inside - one.target), fraction(one.division), one.hopeful);

  // How many divisions to add at this mass of base, never below 0: at the planned one what the plan's own
  // target takes, where that can be reached, else what comes nearest to the share of the line.
  function stepsFor(one, base, start, scale) {
    if (one.inside !== 0n && compare(base, start) === 0 && done(one)) return 0n;
    if (one.inside <= one.target && compare(base, start) === 0) {
      const missing = one.target - one.inside;
      if (missing % one.division === 0n) {
        const planned = missing / one.division;
        if (planned === 0n || planned >= one.least) return planned;
      }
    }
    const over = one.share.d * base.d;
    const missing = one.share.n * base.n * scale - one.inside * over;
    const nearest = roundedOf(missing, over * one.division);
    const count = nearest < 0n ? 0n : nearest;
    if (count >= one.least || count === 0n) return count;
    return one.inside === 0n || one.least * one.division * over - missing < missing ? one.least : 0n;
  }

  function fits(one, base, start, scale, tolerance) {
    if (one.inside !== 0n && compare(base, start) === 0 && done(one)) return true;
    const wanted = one.share.n * base.n * scale;
    const over = one.share.d * base.d;
    const count = stepsFor(one, base, start, scale);
    if (count === 0n && one.inside === 0n) return wanted === 0n;
    const off = (one.inside + count * one.division) * over - wanted;
    return (off < 0n ? -off : off) * tolerance.d <= tolerance.n * wanted;
  }

  // The least mass of base above this one at which the line fits.
  function nextBase(one, base, scale, tolerance) {
    const wanted = one.share.n * base.n * scale;
    const over = one.share.d * base.d;
    const most = tolerance.d + tolerance.n;
    const below = floorOf(wanted * most - one.inside * over * tolerance.d, over * tolerance.d * one.division);
    const count = one.least > below + 1n ? one.least : below + 1n;
    return fraction(
      (one.inside + count * one.division) * tolerance.d * one.share.d,
      scale * most * one.share.n,
    );
  }

  // The least mass of base from this one on at which every line fits; this one where the search does not end.
  function whereAllFit(base, needed, start, scale, tolerance) {
    let at = base;
    for (let tries = 0; tries < MOST_TRIES; tries += 1) {
      const misfits = needed.filter((one) => !fits(one, at, start, scale, tolerance));
      if (!misfits.length) return at;
      // Below the next place of any misfit line nothing can fit, so the furthest of them is no leap too far.
      at = largest(misfits.map((one) => nextBase(one, at, scale, tolerance)));
    }
    return base;
  }

  // What to do with the cup as it is.
  //
  // plan: {base, capacity, cup, lines: [{material, exact, target, division, minimum, rounds}]}, fractions in
  // grams; capacity and cup are those of the main balance (null where none is known), minimum is null where
  // the balance states none. inside: Map of material to what is in the cup. tolerance: a fraction.
  // Gives {over, leave, base, factor, held, total, steps, within, underCapacity}; steps as in Python, one a
  // material, each with its add, final, exact, running and error.
  function rescue(plan, inside, tolerance) {
    const byMaterial = new Map();
    for (const line of plan.lines) {
      if (!byMaterial.has(line.material)) byMaterial.set(line.material, []);
      byMaterial.get(line.material).push(line);
    }
    const groups = [...byMaterial.values()].filter((lines) => lines.some((line) => line.exact.n !== 0n));
    const decimals = [...inside.values()];
    for (const lines of groups) {
      for (const line of lines) decimals.push(line.target, line.division, line.minimum || ZERO);
    }
    const scale = 10n ** BigInt(Math.max(0, ...decimals.map(decimalsOf)));
    const start = plan.base;
    const wanted = groups.map((lines) =>
      wantedOf(lines, inside.get(lines[0].material) || ZERO, start, scale),
    );

    const over = wanted.filter(
      (one) =>
        !done(one) &&
        one.inside > one.target &&
        compare(fraction(one.inside, scale), multiply(one.share, start)) > 0,
    );
    const needed = wanted.filter((one) => one.hopeful || over.includes(one));
    const leave = needed.every((one) => fits(one, start, start, scale, tolerance));
    let base = start;
    if (!leave) {
      base = largest([start, ...over.map((one) => divide(fraction(one.inside, scale), one.share))]);
      base = whereAllFit(base, needed, start, scale, tolerance);
    }

    const held = sum(wanted.map((one) => fraction(one.inside, scale)));
    let running = held;
    const steps = wanted.map((one) => {
      const count = stepsFor(one, base, start, scale);
      const added = fraction(count * one.division, scale);
      const final = fraction(one.inside + count * one.division, scale);
      const called = multiply(one.share, base);
      running = add(running, added);
      return {
        material: one.material,
        inside: fraction(one.inside, scale),
        add: added,
        final,
        exact: called,
        running,
        error: divide(absolute(subtract(final, called)), called),
        within: fits(one, base, start, scale, tolerance),
      };
    });
    return {
      over: over.map((one) => one.material),
      leave,
      base,
      factor: divide(base, start),
      held,
      total: running,
      steps,
      within: steps.every((step) => step.within),
      underCapacity: plan.capacity
        ? compare(add(running, plan.cup || ZERO), plan.capacity) <= 0
        : null,
    };
  }

  return {
    ZERO,
    ONE,
    absolute,
    add,
    compare,
    decimalsOf,
    divide,
    floorOf,
    fraction,
    kept,
    largest,
    multiply,
    read,
    rescue,
    roundedOf,
    shown,
    shows,
    subtract,
    sum,
    written,
  };
})();

// Outside a page, so that the tests can reach it.
if (typeof module === "object") module.exports = exact;
