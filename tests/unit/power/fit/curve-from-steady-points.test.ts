import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import {
  curveFromSteadyPoints,
  DEFAULT_STEADY_POINT_UNCERTAINTY,
  type SteadyCurvePoint,
} from '../../../../toolkit/power/fit/curve-from-steady-points.js';
import { frequencyAt } from '../../../../toolkit/power/predict/frequency-at.js';
import { throughputAt } from '../../../../toolkit/power/predict/throughput-at.js';
import { drawProcessor, frequencyOf } from '../synthetic-processor.js';

const processor = drawProcessor(seededRandom(12));

/** Averages as a person notes them: to 10 MHz and 1 K. */
const pointsAt = (
  ...places: readonly (readonly [powerW: number, temperatureC: number])[]
): SteadyCurvePoint[] =>
  places.map(([powerW, temperatureC]) => ({
    powerW,
    temperatureC,
    frequencyMHz: 10 * Math.round(frequencyOf(processor, powerW, temperatureC) / 10),
  }));

const codes = (points: readonly SteadyCurvePoint[]): string[] =>
  curveFromSteadyPoints(points).findings.map(({ code }) => code);

const three = pointsAt([118, 71], [118, 88], [90, 58]);

test('two coolers and two caps identify power and temperature; the rest is named as assumed', () => {
  const curve = curveFromSteadyPoints(three);
  expect(curve.frequencyPerPowerMHzPerW.kind).toBe('estimated');
  expect(curve.frequencyPerTemperatureMHzPerK.kind).toBe('estimated');
  const finding = curve.findings.find(({ code }) => code === 'assumed-parameters');
  expect(finding?.message).toMatch(/exponentGrowth \d.*basePowerW \d.*textbook values/);
  expect(curve.method).toBe('steady-points');
});

test('a cap between two points is answered with an interval that holds the truth', () => {
  const answer = frequencyAt(curveFromSteadyPoints(three), { powerW: 105, temperatureC: 70 });
  if (answer.kind !== 'estimated') throw new Error('not estimated');
  const truth = frequencyOf(processor, 105, 70);
  expect(truth).toBeGreaterThan(answer.interval95[0]);
  expect(truth).toBeLessThan(answer.interval95[1]);
});

test('two caps of one cooler leave the effect of temperature to the assumptions and say so', () => {
  const points = pointsAt([118, 71], [90, 58]);
  const curve = curveFromSteadyPoints(points);
  expect(curve.frequencyPerTemperatureMHzPerK).toEqual({ kind: 'unavailable', reason: 'not-identifiable' });
  expect(codes(points)).toContain('temperature-dependence-not-identified');
  const width = (temperatureC: number): number => {
    const answer = frequencyAt(curve, { powerW: 90, temperatureC });
    return answer.kind === 'estimated' ? answer.interval95[1] - answer.interval95[0] : Number.NaN;
  };
  // Away from the line through both points the assumed leakage counts.
  expect(width(85)).toBeGreaterThan(1.5 * width(58));
  const answer = frequencyAt(curve, { powerW: 90, temperatureC: 85 });
  const truth = frequencyOf(processor, 90, 85);
  if (answer.kind !== 'estimated') throw new Error('not estimated');
  expect(answer.extrapolated).toBe(true);
  expect(truth).toBeGreaterThan(answer.interval95[0]);
  expect(truth).toBeLessThan(answer.interval95[1]);
});

test('two coolers at one power tell the effect of temperature and nothing about other powers', () => {
  const points = pointsAt([118, 66], [118, 88]);
  const curve = curveFromSteadyPoints(points);
  expect(curve.frequencyPerPowerMHzPerW).toEqual({ kind: 'unavailable', reason: 'not-identifiable' });
  const slope = curve.frequencyPerTemperatureMHzPerK;
  if (slope.kind !== 'estimated') throw new Error('not estimated');
  expect(slope.interval95[1]).toBeLessThan(0);
  expect(codes(points)).toContain('one-power-level');
  expect(frequencyAt(curve, { powerW: 90, temperatureC: 70 }).kind).toBe('unavailable');
});

test('more points narrow the answer', () => {
  const at = { powerW: 105, temperatureC: 70 };
  const width = (points: readonly SteadyCurvePoint[]): number => {
    const answer = frequencyAt(curveFromSteadyPoints(points), at);
    return answer.kind === 'estimated' ? answer.standardError : Number.NaN;
  };
  const five = [...three, ...pointsAt([104, 65], [104, 79])];
  expect(width(five)).toBeLessThan(width(three));
  expect(width(three)).toBeLessThan(width(pointsAt([118, 71], [90, 58])));
});

test('coarser averages widen the answer', () => {
  const at = { powerW: 118, temperatureC: 71 };
  const fine = frequencyAt(curveFromSteadyPoints(three), at);
  const coarse = frequencyAt(curveFromSteadyPoints(three, { frequencyStandardErrorMHz: 40 }), at);
  if (fine.kind !== 'estimated' || coarse.kind !== 'estimated') throw new Error('not estimated');
  expect(coarse.standardError).toBeGreaterThan(1.5 * fine.standardError);
});

test('own assumptions move what the points leave open and nothing else', () => {
  const small = { basePowerFraction: { low: 0.008, high: 0.012 } };
  const usual = curveFromSteadyPoints(three);
  const own = curveFromSteadyPoints(three, { assumptions: small });
  expect(own.parameters['basePowerW']).toBeLessThan(0.2 * usual.parameters['basePowerW']);
  const at = { powerW: 118, temperatureC: 71 };
  expect(Math.abs(frequencyAt(own, at).value! - frequencyAt(usual, at).value!)).toBeLessThan(5);
});

test('points that contradict each other at one place widen the answer', () => {
  const doubled = [...three, { powerW: 118, temperatureC: 71, frequencyMHz: three[0].frequencyMHz + 200 }];
  const answer = frequencyAt(curveFromSteadyPoints(doubled), { powerW: 118, temperatureC: 71 });
  if (answer.kind !== 'estimated') throw new Error('not estimated');
  expect(answer.standardError).toBeGreaterThan(50);
  expect(codes(doubled)).toContain('lack-of-fit');
});

test('work noted with the points gives throughput', () => {
  const worked = three.map((point) => ({ ...point, throughputPerS: point.frequencyMHz / 600 }));
  const curve = curveFromSteadyPoints(worked);
  const at = { powerW: 105, temperatureC: 70 };
  const work = throughputAt(curve, at);
  if (work.kind !== 'estimated') throw new Error('not estimated');
  expect(Math.abs(work.value / (frequencyAt(curve, at).value! / 600) - 1)).toBeLessThan(1e-6);
  // Runs differ by 0.2 % for reasons of no interest, whatever the notes say.
  expect(work.standardError / work.value).toBeGreaterThan(0.001);
  expect(curve.points.map(({ throughputPerS }) => throughputPerS)).toEqual(
    worked.map(({ throughputPerS }) => throughputPerS),
  );
});

test('labels are kept, and given where there are none', () => {
  const curve = curveFromSteadyPoints([{ ...three[0], label: 'tower' }, three[1], three[2]], {
    processor: 'twelve cores',
  });
  expect(curve.points.map(({ label }) => label)).toEqual(['tower', 'point 2', 'point 3']);
  expect(curve.label).toBe('twelve cores');
  expect(curve.processor).toBe('twelve cores');
});

test('the defaults are those of the documentation', () => {
  expect(DEFAULT_STEADY_POINT_UNCERTAINTY).toEqual({
    frequencyStandardErrorMHz: 10,
    temperatureStandardErrorK: 0.5,
    powerStandardErrorW: 0.5,
    voltageStandardErrorV: 0.003,
  });
});

describe('bad input', () => {
  test('fewer than two points', () => {
    expect(() => curveFromSteadyPoints([])).toThrow(
      /curveFromSteadyPoints: `points` must be at least two steady points \(received an array of 0\); add averages at a second power cap/,
    );
    expect(() => curveFromSteadyPoints(three.slice(0, 1))).toThrow(/received an array of 1/);
  });

  test('points that are all alike', () => {
    expect(() => curveFromSteadyPoints([three[0], three[0]])).toThrow(
      /points that differ in power or temperature .*all 2 lie at 118 W and 71 °C: add one at another power cap/,
    );
  });

  test.each([
    ['powerW', 0],
    ['powerW', -5],
    ['frequencyMHz', 0],
    ['frequencyMHz', Number.NaN],
    ['temperatureC', -300],
    ['temperatureC', 353],
  ] as const)('%s of %s', (key, value) => {
    const points = [three[0], { ...three[1], [key]: value }];
    expect(() => curveFromSteadyPoints(points)).toThrow(
      new RegExp(
        `\`points\\[1\\]\\.${key}\` must be a finite number .*give the average in W, degrees Celsius and MHz`,
      ),
    );
  });

  test('voltage or work for some points only, or in the wrong unit', () => {
    const [first, ...rest] = three;
    expect(() => curveFromSteadyPoints([{ ...first, voltageV: 1.1 }, ...rest])).toThrow(
      /`points\[1\]\.voltageV` must be a finite number above 0\.2 and below 3 \(received undefined\); give the core voltage in V for all points, or for none/,
    );
    expect(() => curveFromSteadyPoints(three.map((point) => ({ ...point, voltageV: 1100 })))).toThrow(
      /`points\[0\]\.voltageV` must be .* \(received 1100\)/,
    );
    expect(() => curveFromSteadyPoints([...rest, { ...first, throughputPerS: 6 }])).toThrow(
      /`points\[0\]\.throughputPerS` must be a finite number above 0 .*give the work done per second for all points/,
    );
  });

  test('a frequency in gigahertz or hertz', () => {
    for (const factor of [1e-3, 1e6])
      expect(() =>
        curveFromSteadyPoints(
          three.map((point) => ({ ...point, frequencyMHz: factor * point.frequencyMHz })),
        ),
      ).toThrow(/`points\[0\]\.frequencyMHz` must be .* above 20 and below 20000 .*write 3\.4 GHz as 3400/);
  });

  test('uncertainties that are not', () => {
    expect(() => curveFromSteadyPoints(three, { frequencyStandardErrorMHz: 0 })).toThrow(
      /`options\.frequencyStandardErrorMHz` must be a finite number above 0/,
    );
    expect(() => curveFromSteadyPoints(three, { powerStandardErrorW: -1 })).toThrow(
      /`options\.powerStandardErrorW` must be a finite number at least 0/,
    );
  });
});
