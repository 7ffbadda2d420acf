// Which figures are more likely a slip than a mass: asked about before anything follows from them.

"use strict";

const slips = (() => {
  const { absolute, add, compare, divide, fraction, multiply, subtract } = exact;
  const LOOSE = fraction(1n, 20n); // how near a figure must be to what it is taken for: common practice
  const FAR = fraction(3n, 2n); // more than so many times what was asked for is no careless spoon
  const SHIFTS = [10n, 100n, 1000n];

  const times = (a, count) => multiply(a, fraction(count));

  function near(one, other, share) {
    return compare(absolute(subtract(one, other)), multiply(other, share)) <= 0;
  }

  // What a typed figure most likely is, or null where there is no reason to ask.
  //
  // asked: {mode, own, before, tolerance, most, single}. mode: "line" where the display shows this line alone, "cup"
  // where it shows all that is in the vessel. own: what is to be weighed in now; before: what the vessel holds; most:
  // what the display can show at all, null where that is not known; single: both ways of reading are possible.
  // Gives {why, shift, offers}. why: "beyond", "whole" (the whole cup, read as this line), "alone" (this line, read as
  // the whole cup), "point" or "far". offers: readings that it may have been, {mode, shown}.
  function likely(shown, asked) {
    const { mode, own, before, tolerance, most, single } = asked;
    if (own.n <= 0n) return null;
    const whole = add(before, own);
    const wentAs = (one) => (one === "cup" ? subtract(shown, before) : shown);
    const went = wentAs(mode);
    const beyond = most !== null && compare(shown, most) > 0;
    if (!beyond && near(went, own, tolerance)) return null;
    const loose = compare(LOOSE, times(tolerance, 2n)) < 0 ? times(tolerance, 2n) : LOOSE;
    const offers = [];
    let why = "";
    let shift = 1n;
    const other = mode === "cup" ? "line" : "cup";
    if (single && before.n > 0n) {
      const otherwise = wentAs(other);
      const off = absolute(subtract(otherwise, own));
      const much = mode === "line" && compare(went, multiply(own, FAR)) > 0;
      const less = went.n < 0n;
      const half = compare(times(off, 2n), own) <= 0;
      // Of two ways to read it the other must be the better one by far, or all but exact.
      if (near(otherwise, own, loose) || ((much || less) && half)) {
        why = mode === "line" ? "whole" : "alone";
        offers.push({ mode: other, shown });
      }
    }
    const expected = mode === "cup" ? whole : own;
    for (const power of SHIFTS) {
      const down = divide(shown, fraction(power));
      const up = times(shown, power);
      for (const figure of [down, up]) {
        if (!offers.length && near(figure, expected, loose) && (most === null || compare(figure, most) <= 0)) {
          why = "point";
          shift = figure === down ? power : -power;
          offers.push({ mode, shown: figure });
        }
      }
    }
    if (beyond) why = why || "beyond";
    else if (!why && compare(went, multiply(own, FAR)) > 0) why = "far";
    return why ? { why, shift, beyond, offers } : null;
  }

  return { likely };
})();

// Outside a page, so that the tests can reach it.
if (typeof module === "object") module.exports = slips;
