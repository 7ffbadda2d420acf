// Exact numbers: amounts are never rounded, and a share of a recipe may have figures that do not end.

const gcd = (a, b) => (b === 0n ? a : gcd(b, a % b));

export class Fraction {
  constructor(above, below = 1n) {
    if (below === 0n) throw new RangeError("a fraction of nothing");
    const sign = below < 0n ? -1n : 1n;
    const common = gcd(above < 0n ? -above : above, below < 0n ? -below : below) || 1n;
    this.above = (sign * above) / common;
    this.below = (sign * below) / common;
  }

  /** A plain decimal number as it is written: "12", "0.50", ".5". */
  static read(text) {
    const [whole, decimals = ""] = text.split(".");
    return new Fraction(BigInt(whole + decimals || "0"), 10n ** BigInt(decimals.length));
  }

  static of(whole) {
    return new Fraction(BigInt(whole));
  }

  plus(other) {
    return new Fraction(this.above * other.below + other.above * this.below, this.below * other.below);
  }

  times(other) {
    return new Fraction(this.above * other.above, this.below * other.below);
  }

  per(other) {
    return new Fraction(this.above * other.below, this.below * other.above);
  }

  get isZero() {
    return this.above === 0n;
  }

  get isWhole() {
    return this.below === 1n;
  }

  compare(other) {
    const left = this.above * other.below;
    const right = other.above * this.below;
    return left < right ? -1 : left > right ? 1 : 0;
  }

  /** Plain decimal notation without idle zeros; a number whose figures do not end as ABOVE/BELOW. */
  toString() {
    let decimals = 0;
    let below = this.below;
    while (below % 10n === 0n) [below, decimals] = [below / 10n, decimals + 1];
    // What is left must be made of twos or of fives alone; each costs one more decimal.
    let twos = 0;
    let fives = 0;
    while (below % 2n === 0n) [below, twos] = [below / 2n, twos + 1];
    while (below % 5n === 0n) [below, fives] = [below / 5n, fives + 1];
    if (below !== 1n) return `${this.above}/${this.below}`;
    decimals += Math.max(twos, fives);
    if (decimals === 0) return `${this.above}`;
    const figures = (this.above * 10n ** BigInt(decimals)) / this.below;
    const sign = figures < 0n ? "-" : "";
    const digits = (figures < 0n ? -figures : figures).toString().padStart(decimals + 1, "0");
    return `${sign}${digits.slice(0, -decimals)}.${digits.slice(-decimals)}`;
  }
}

export const ZERO = Fraction.of(0);
export const HUNDRED = Fraction.of(100);
export const sum = (numbers) => numbers.reduce((total, number) => total.plus(number), ZERO);
