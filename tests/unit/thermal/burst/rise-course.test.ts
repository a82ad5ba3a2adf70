import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { RiseCourse } from '../../../../toolkit/thermal/burst/rise-course.js';
import { type CoolerNumbers, riseAfter, steadyRise } from '../../../../toolkit/thermal/cooler-numbers.js';

const random = seededRandom(4711);
const between = (low: number, high: number): number => low + (high - low) * random.uniform();

/** Numbers as a fit or a draw has them: one to three stages, with and without lag and bend. */
function someNumbers(): CoolerNumbers {
  const timeConstantsS = [between(0.5, 3), between(8, 30), between(90, 400)].slice(Math.floor(between(0, 3)));
  return {
    timeConstantsS,
    resistancesKPerW: timeConstantsS.map(() => between(0.02, 0.3)),
    ...(random.uniform() < 0.5 ? {} : { sensorLagS: between(0.3, 5) }),
    powerExponent: random.uniform() < 0.3 ? 0 : between(-0.05, 0.25),
    atPowerW: between(60, 140),
  };
}

describe('RiseCourse', () => {
  test('is the rise of the stages at every moment, of one set of numbers after the other', () => {
    for (let round = 0; round < 40; round++) {
      const shape = someNumbers();
      const course = new RiseCourse(shape);
      for (const resistance of [1, 1.1]) {
        const numbers = {
          ...shape,
          resistancesKPerW: shape.resistancesKPerW.map((own) => resistance * own),
        };
        const starts = shape.timeConstantsS.map(() => (round % 3 === 0 ? 0 : between(0, 150)));
        course.follow(numbers, 100, starts);
        expect(course.steadyRiseK).toBeCloseTo(steadyRise(numbers, 100), 9);
        expect(course.riseAtStart()).toBeCloseTo(riseAfter(numbers, 100, starts, 0), 9);
        for (const elapsedS of [0.2, 4, 50, 900])
          expect(course.riseAt(elapsedS)).toBeCloseTo(riseAfter(numbers, 100, starts, elapsedS), 9);
      }
    }
  });

  test('falls as fast as its differences say', () => {
    for (let round = 0; round < 40; round++) {
      const numbers = someNumbers();
      const course = new RiseCourse(numbers);
      course.follow(
        numbers,
        100,
        numbers.timeConstantsS.map(() => between(10, 60)),
      );
      for (const elapsedS of [1, 20, 200]) {
        const stepS = 1e-4 * elapsedS;
        const difference = course.riseAt(elapsedS + stepS) - course.riseAt(elapsedS - stepS);
        course.lookAt(elapsedS);
        expect(course.slopeKPerS).toBeCloseTo(difference / (2 * stepS), 6);
      }
    }
  });

  test('turns back from hot and cold stages, and where the resistance falls too fast as it warms', () => {
    const numbers = {
      timeConstantsS: [2, 100],
      resistancesKPerW: [0.3, 0.02],
      powerExponent: 0.25,
      atPowerW: 100,
    };
    const course = new RiseCourse(numbers);
    const isOneWay = (own: CoolerNumbers, starts: readonly number[]): boolean => {
      course.follow(own, 100, starts);
      return course.isOneWay;
    };
    expect(isOneWay({ ...numbers, powerExponent: 0 }, [0, 130])).toBe(false);
    expect(isOneWay({ ...numbers, powerExponent: 0 }, [0, 70])).toBe(true);
    expect(isOneWay({ ...numbers, powerExponent: 0 }, [130, 130])).toBe(true);
    expect(isOneWay(numbers, [0, 0])).toBe(false);
    expect(isOneWay({ ...numbers, resistancesKPerW: [0.3, 0.3] }, [0, 0])).toBe(true);
    expect(isOneWay({ ...numbers, powerExponent: -0.1 }, [0, 0])).toBe(false);
    expect(isOneWay({ ...numbers, powerExponent: -0.1, resistancesKPerW: [0.1, 0.3] }, [0, 0])).toBe(true);
  });
});
