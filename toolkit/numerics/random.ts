import { ArgumentError, requireNumber } from '../errors.js';
import { normalQuantile } from './distributions.js';

/** A stream of pseudo-random numbers; the same seed gives the same stream everywhere. */
export interface RandomStream {
  /** Uniform on the open interval (0, 1), 52 random bits. */
  uniform(): number;
  /** Normal with mean 0 and standard deviation 1. */
  normal(): number;
  /** Whole number from 0 to count − 1, each equally likely. */
  integer(count: number): number;
}

/**
 * A reproducible stream of pseudo-random numbers.
 *
 * Generator xoshiro128** 1.1 by Blackman and Vigna, in the public domain, period 2¹²⁸ − 1 [BlackmanVigna2021]; the seed
 * is spread over its state by the finaliser of MurmurHash3, so that neighbouring seeds give unrelated streams.
 * Normal numbers by inversion. Not for secrets.
 *
 * @param seed - whole number from 0 to 2⁵³ − 1
 * @throws ArgumentError if `seed` is not such a number
 * @example
 * seededRandom(7).uniform() === seededRandom(7).uniform(); // => true
 */
export function seededRandom(seed: number): RandomStream {
  const next = xoshiro128(seedState(seed, 'seededRandom'));
  const uniform = (): number => {
    const high = next() >>> 6;
    const low = next() >>> 6;
    // Half a step in: neither 0 nor 1 is ever returned, so that every quantile of the result is finite.
    return (high * 67_108_864 + low + 0.5) / 4_503_599_627_370_496;
  };
  return {
    uniform,
    normal: () => normalQuantile(uniform()),
    integer: (count) => {
      requireCount(count);
      // Rejecting the incomplete last multiple keeps every outcome equally likely.
      const limit = 4_294_967_296 - (4_294_967_296 % count);
      for (;;) {
        const drawn = next();
        if (drawn < limit) return drawn % count;
      }
    },
  };
}

/** The generator itself: 32 random bits per call from a state of four words, not all of them 0. */
export function xoshiro128(state: readonly [number, number, number, number]): () => number {
  let [s0, s1, s2, s3] = state;
  return () => {
    const result = Math.imul(rotateLeft(Math.imul(s1, 5), 7), 9) >>> 0;
    const t = s1 << 9;
    s2 ^= s0;
    s3 ^= s1;
    s1 ^= s2;
    s0 ^= s3;
    s2 ^= t;
    s3 = rotateLeft(s3, 11);
    return result;
  };
}

/** A generator's four words of state from one seed. */
export function seedState(seed: number, caller: string): [number, number, number, number] {
  if (!Number.isSafeInteger(seed) || seed < 0)
    throw new ArgumentError({
      caller,
      argument: 'seed',
      expected: 'a whole number from 0 to 2⁵³ − 1',
      received: seed,
      remedy: 'any such number will do; write it down to repeat the result',
    });
  let word = (seed >>> 0) ^ mix(Math.floor(seed / 4_294_967_296));
  const nextWord = (): number => {
    word = (word + 0x9e3779b9) | 0;
    return mix(word);
  };
  return [nextWord(), nextWord(), nextWord(), nextWord() | 1];
}

function mix(word: number): number {
  let h = word;
  h = Math.imul(h ^ (h >>> 16), 0x85ebca6b);
  h = Math.imul(h ^ (h >>> 13), 0xc2b2ae35);
  return h ^ (h >>> 16);
}

function rotateLeft(word: number, by: number): number {
  return (word << by) | (word >>> (32 - by));
}

function requireCount(count: number): void {
  const where = { caller: 'seededRandom().integer', argument: 'count' };
  requireNumber(count, where, { atLeast: 1, atMost: 4_294_967_296 });
  if (!Number.isInteger(count))
    throw new ArgumentError({ ...where, expected: 'a whole number', received: count });
}
