import { ArgumentError } from '../errors.js';
import { seedState, xoshiro128 } from './random.js';

/**
 * Joe and Kuo's primitive polynomials and initial direction numbers (set new-joe-kuo-6) for dimensions 2 to 10:
 * degree, coefficients, m₁ … m_degree.
 */
const polynomials: readonly { readonly coefficients: number; readonly initial: readonly number[] }[] = [
  { coefficients: 0, initial: [1] },
  { coefficients: 1, initial: [1, 3] },
  { coefficients: 1, initial: [1, 3, 1] },
  { coefficients: 2, initial: [1, 1, 1] },
  { coefficients: 1, initial: [1, 1, 3, 3] },
  { coefficients: 4, initial: [1, 3, 5, 13] },
  { coefficients: 2, initial: [1, 1, 5, 5, 17] },
  { coefficients: 4, initial: [1, 1, 5, 5, 5] },
  { coefficients: 7, initial: [1, 1, 7, 11, 19] },
];

const maxDimensionCount = polynomials.length + 1;

/**
 * Points that fill the unit cube more evenly than random ones: scrambled Sobol' points.
 *
 * Sobol's sequence with the direction numbers of [JoeKuo2008], scrambled by a random linear map and a random shift
 * of the binary digits [Matousek1998], both drawn from the seed: each point is uniform on the cube, and any 2^k
 * points in a row from the start keep the balance of the sequence. Averages of smooth functions settle nearly as
 * 1/count instead of 1/√count.
 *
 * @param count - number of points, 1 to 2³¹
 * @param dimensionCount - 1 to 10
 * @param seed - whole number from 0 to 2⁵³ − 1; another seed gives an independent scrambling
 * @returns coordinates in (0, 1), row-major count × dimensionCount, newly allocated
 * @throws ArgumentError if an argument lies outside its range
 * @example
 * const points = quasiRandomPoints(256, 2, 1);
 * points.filter((u) => u < 0.5).length; // => 256
 */
export function quasiRandomPoints(count: number, dimensionCount: number, seed: number): Float64Array {
  const caller = 'quasiRandomPoints';
  if (!Number.isInteger(count) || count < 1 || count > 2 ** 31)
    throw new ArgumentError({
      caller,
      argument: 'count',
      expected: 'a whole number from 1 to 2³¹',
      received: count,
    });
  if (!Number.isInteger(dimensionCount) || dimensionCount < 1 || dimensionCount > maxDimensionCount)
    throw new ArgumentError({
      caller,
      argument: 'dimensionCount',
      expected: `a whole number from 1 to ${maxDimensionCount}`,
      received: dimensionCount,
    });
  const random = xoshiro128(seedState(seed, caller));
  const points = new Float64Array(count * dimensionCount);
  for (let d = 0; d < dimensionCount; d += 1) {
    const scramble = Array.from(
      { length: 32 },
      (_, bit) => ((random() & (0xffffffff << (31 - bit))) | (1 << (31 - bit))) >>> 0,
    );
    const directions = sobolDirections(d).map((direction) => mapDigits(scramble, direction));
    let word = random() | 0;
    for (let i = 0; i < count; i += 1) {
      points[i * dimensionCount + d] = ((word >>> 0) + 0.5) / 4_294_967_296;
      // Gray code order: one direction number per point, that of the lowest zero bit of the index.
      word ^= directions[31 - Math.clz32(~i & (i + 1))] ?? 0;
    }
  }
  return points;
}

/** The 32 direction numbers of one dimension (from 0), the binary point before the highest bit. */
export function sobolDirections(dimension: number): readonly number[] {
  if (dimension === 0) return Array.from({ length: 32 }, (_, k) => (1 << (31 - k)) >>> 0);
  const { coefficients, initial } = polynomials[dimension - 1];
  const degree = initial.length;
  const directions = initial.map((m, k) => (m << (31 - k)) >>> 0);
  for (let k = degree; k < 32; k += 1) {
    let direction = directions[k - degree] ^ (directions[k - degree] >>> degree);
    for (let l = 1; l < degree; l += 1)
      if ((coefficients >> (degree - 1 - l)) & 1) direction ^= directions[k - l];
    directions.push(direction >>> 0);
  }
  return directions;
}

/** Lower triangular map of binary digits: each digit becomes the parity of itself and some more significant ones. */
function mapDigits(rows: readonly number[], word: number): number {
  let mapped = 0;
  for (let bit = 0; bit < 32; bit += 1) {
    let masked = rows[bit] & word;
    masked ^= masked >>> 16;
    masked ^= masked >>> 8;
    masked ^= masked >>> 4;
    masked ^= masked >>> 2;
    masked ^= masked >>> 1;
    mapped |= (masked & 1) << (31 - bit);
  }
  return mapped >>> 0;
}
