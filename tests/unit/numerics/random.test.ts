import { describe, expect, test } from 'vitest';
import { quasiRandomPoints, sobolDirections } from '../../../toolkit/numerics/quasi-random.js';
import { seededRandom, xoshiro128 } from '../../../toolkit/numerics/random.js';

describe('seededRandom', () => {
  test('the generator gives the published first outputs of xoshiro128** from the state 1, 2, 3, 4', () => {
    // Outputs of the authors’ public-domain reference implementation, version 1.1.
    const next = xoshiro128([1, 2, 3, 4]);
    expect(Array.from({ length: 10 }, next)).toEqual([
      11520, 0, 5927040, 70819200, 2031721883, 1637235492, 1287239034, 3734860849, 3729100597, 4258142804,
    ]);
  });

  test('a seed fixes the stream, and neighbouring seeds give unrelated ones', () => {
    const draw = (seed: number): number[] => {
      const random = seededRandom(seed);
      return Array.from({ length: 500 }, () => random.normal());
    };
    expect(draw(1)).toEqual(draw(1));
    const [a, b] = [draw(1), draw(2)];
    const correlation = a.reduce((sum, value, i) => sum + value * b[i], 0) / 500;
    // Standard deviation 1/√500 = 0.045; three of them.
    expect(Math.abs(correlation)).toBeLessThan(0.14);
    expect(draw(2 ** 53 - 1)).not.toEqual(draw(2 ** 32 - 1));
  });

  test('uniform, normal and whole numbers have the moments they should', () => {
    const random = seededRandom(11);
    const count = 100_000;
    let outside = 0;
    let uniform = 0;
    let normal = 0;
    let square = 0;
    const faces = [0, 0, 0, 0, 0, 0];
    for (let i = 0; i < count; i += 1) {
      const u = random.uniform();
      if (!(u > 0 && u < 1)) outside += 1;
      uniform += u / count;
      const z = random.normal();
      normal += z / count;
      square += (z * z) / count;
      faces[random.integer(6)] += 1;
    }
    expect(outside).toBe(0);
    // Four standard errors each.
    expect(Math.abs(uniform - 0.5)).toBeLessThan(4 / Math.sqrt(12 * count));
    expect(Math.abs(normal)).toBeLessThan(4 / Math.sqrt(count));
    expect(Math.abs(square - 1)).toBeLessThan(4 * Math.sqrt(2 / count));
    for (const face of faces)
      expect(Math.abs(face - count / 6)).toBeLessThan(4 * Math.sqrt((count * 5) / 36));
  });

  test('seeds and counts outside their range are refused', () => {
    expect(() => seededRandom(-1)).toThrow(/seededRandom: `seed` must be a whole number from 0 to 2⁵³ − 1/);
    expect(() => seededRandom(0.5)).toThrow(/`seed` must be a whole number/);
    expect(() => seededRandom(1).integer(0)).toThrow(/`count` must be a finite number at least 1/);
    expect(() => seededRandom(1).integer(2.5)).toThrow(/`count` must be a whole number \(received 2.5\)/);
  });
});

describe('quasiRandomPoints', () => {
  test('the direction numbers give the published points of Sobol’s sequence', () => {
    // Points 1 to 8 in eight dimensions as SciPy 1.17 gives them unscrambled (direction numbers of [JoeKuo2008]).
    const words = new Array<number>(8).fill(0);
    const points = Array.from({ length: 8 }, (_, i) =>
      words.map((_, d) => {
        words[d] ^= sobolDirections(d)[31 - Math.clz32(~i & (i + 1))];
        return (words[d] >>> 0) / 2 ** 32;
      }),
    );
    expect(points).toEqual([
      [0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5],
      [0.75, 0.25, 0.25, 0.25, 0.75, 0.75, 0.25, 0.75],
      [0.25, 0.75, 0.75, 0.75, 0.25, 0.25, 0.75, 0.25],
      [0.375, 0.375, 0.625, 0.875, 0.375, 0.125, 0.375, 0.875],
      [0.875, 0.875, 0.125, 0.375, 0.875, 0.625, 0.875, 0.375],
      [0.625, 0.125, 0.875, 0.625, 0.625, 0.875, 0.125, 0.125],
      [0.125, 0.625, 0.375, 0.125, 0.125, 0.375, 0.625, 0.625],
      [0.1875, 0.3125, 0.9375, 0.4375, 0.5625, 0.3125, 0.4375, 0.9375],
    ]);
  });

  test('each of 2^k equal slices of every axis holds exactly one of 2^k points, scrambled or not', () => {
    const points = quasiRandomPoints(1024, 10, 5);
    for (let d = 0; d < 10; d += 1) {
      const slices = new Set(Array.from({ length: 1024 }, (_, i) => Math.floor(points[i * 10 + d] * 1024)));
      expect(slices.size).toBe(1024);
    }
  });

  test('the first two axes form a net: every elementary box of 1/256 holds one of 256 points', () => {
    const points = quasiRandomPoints(256, 2, 9);
    for (let power = 0; power <= 8; power += 1) {
      const columns = 2 ** power;
      const rows = 256 / columns;
      const boxes = new Set(
        Array.from(
          { length: 256 },
          (_, i) => Math.floor(points[2 * i] * columns) * rows + Math.floor(points[2 * i + 1] * rows),
        ),
      );
      expect(boxes.size).toBe(256);
    }
  });

  test('a smooth average over six axes settles far faster than random points would', () => {
    const count = 4096;
    let square = 0;
    for (let seed = 0; seed < 20; seed += 1) {
      const points = quasiRandomPoints(count, 6, seed);
      let sum = 0;
      for (let i = 0; i < count; i += 1) {
        let product = 1;
        for (let d = 0; d < 6; d += 1) product *= 1 + (points[i * 6 + d] - 0.5);
        sum += product;
      }
      square += (sum / count - 1) ** 2 / 20;
    }
    // Random points: √((13/12)⁶ − 1)/√4096 = 0.0123.
    expect(Math.sqrt(square)).toBeLessThan(0.0123 / 10);
  });

  test('the seed fixes the points', () => {
    expect(quasiRandomPoints(64, 3, 1)).toEqual(quasiRandomPoints(64, 3, 1));
    expect(quasiRandomPoints(64, 3, 1)).not.toEqual(quasiRandomPoints(64, 3, 2));
  });

  test('counts outside their range are refused', () => {
    expect(() => quasiRandomPoints(0, 1, 1)).toThrow(/`count` must be a whole number from 1 to 2³¹/);
    expect(() => quasiRandomPoints(8, 11, 1)).toThrow(/`dimensionCount` must be a whole number from 1 to 10/);
    expect(() => quasiRandomPoints(8, 1, -1)).toThrow(/quasiRandomPoints: `seed` must be a whole number/);
  });
});
