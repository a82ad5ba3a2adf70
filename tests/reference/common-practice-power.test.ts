import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../toolkit/numerics/random.js';
import { curveFromSteadyPoints } from '../../toolkit/power/fit/curve-from-steady-points.js';
import { fitPowerCurve } from '../../toolkit/power/fit/fit-power-curve.js';
import { frequencyAt, frequencyFunction } from '../../toolkit/power/predict/frequency-at.js';
import { throughputAt } from '../../toolkit/power/predict/throughput-at.js';
import { makeRun } from '../../toolkit/runs/make-run.js';

/**
 * Common practice, no published source: a sixteen-core processor on an open bench, 25-minute all-core render, mean of the
 * last two minutes.
 */
const largeLiquid = [
  { label: 'large liquid', powerW: 142, temperatureC: 60, frequencyMHz: 4000 },
  { label: 'large liquid, 120 W', powerW: 120, temperatureC: 55, frequencyMHz: 3910 },
  { label: 'large liquid, 87 W', powerW: 87, temperatureC: 45, frequencyMHz: 3500 },
];
const othersAt142 = [
  { label: '120 mm liquid', powerW: 142, temperatureC: 67, frequencyMHz: 3950 },
  { label: '92 mm', powerW: 142, temperatureC: 75.8, frequencyMHz: 3900 },
  { label: '70 mm air', powerW: 142, temperatureC: 75, frequencyMHz: 3940 },
  { label: '47 mm', powerW: 142, temperatureC: 87.2, frequencyMHz: 3830 },
  { label: '37 mm', powerW: 142, temperatureC: 90, frequencyMHz: 3800 },
];

describe('common practice, no published source', () => {
  const curve = curveFromSteadyPoints([...largeLiquid, ...othersAt142]);

  test('frequency at a held cap falls by 5 to 8 MHz per kelvin, and the fit says so', () => {
    const slope = curve.frequencyPerTemperatureMHzPerK;
    if (slope.kind !== 'estimated') throw new Error('not estimated');
    expect(slope.value).toBeLessThan(-5);
    expect(slope.value).toBeGreaterThan(-8);
    expect(slope.interval95[1]).toBeLessThan(0);
  });

  test('at the default cap alone as well', () => {
    const alone = curveFromSteadyPoints([largeLiquid[0], ...othersAt142]);
    expect(alone.frequencyPerPowerMHzPerW.kind).toBe('unavailable');
    const slope = alone.frequencyPerTemperatureMHzPerK;
    if (slope.kind !== 'estimated') throw new Error('not estimated');
    expect(slope.value).toBeLessThan(-5);
    expect(slope.value).toBeGreaterThan(-8);
    expect(slope.interval95[1]).toBeLessThan(0);
  });

  test('each watt costs more frequency the lower the cap', () => {
    const frequency = frequencyFunction(curve);
    const temperatureC = (powerW: number): number => 60 + (15 / 55) * (powerW - 142);
    const along = [140, 130, 120, 110, 100, 90].map(
      (powerW) =>
        (frequency(powerW + 2, temperatureC(powerW + 2)) - frequency(powerW - 2, temperatureC(powerW - 2))) /
        4,
    );
    expect(along).toEqual([...along].sort((a, b) => a - b));
    const held = [140, 130, 120, 110, 100, 90].map(
      (powerW) => (frequency(powerW + 2, 60) - frequency(powerW - 2, 60)) / 4,
    );
    expect(held).toEqual([...held].sort((a, b) => a - b));
  });

  test('the curve holds every average within 1 %, and its interval does', () => {
    for (const point of [...largeLiquid, ...othersAt142]) {
      const answer = frequencyAt(curve, point);
      if (answer.kind !== 'estimated') throw new Error('not estimated');
      expect(Math.abs(answer.value / point.frequencyMHz - 1)).toBeLessThan(0.01);
      expect(point.frequencyMHz).toBeGreaterThan(answer.interval95[0] - 10);
      expect(point.frequencyMHz).toBeLessThan(answer.interval95[1] + 10);
    }
  });

  test('throughput in proportion to frequency: the 87 W cap keeps 87.5 % of the work for 61 % of the power', () => {
    // The averages as runs of one temperature each, work at 600 million cycles a piece.
    const runs = [...largeLiquid, ...othersAt142.slice(0, 3)].map(({ label, ...point }, n) => {
      const random = seededRandom(50 + n);
      const timeS = Array.from({ length: 400 }, (_, i) => i);
      const dither = timeS.map(() => random.normal());
      return makeRun(
        {
          timeS,
          temperatureC: timeS.map(() => point.temperatureC + 0.3 * random.normal()),
          powerW: timeS.map(() => point.powerW + 0.1 * random.normal()),
          frequencyMHz: dither.map((d) => point.frequencyMHz + 10 * d),
          throughputPerS: dither.map(
            (d) => ((point.frequencyMHz + 10 * d) / 600) * (1 + 0.01 * random.normal()),
          ),
        },
        { label, conditions: { powerCapW: point.powerW } },
      );
    });
    const withWork = fitPowerCurve(runs);
    const at = (powerW: number, temperatureC: number): number =>
      throughputAt(withWork, { powerW, temperatureC }).value!;
    expect(withWork.throughput?.form).toBe('proportional');
    // 3500/4000 = 0.875; the curve holds both averages within 1 %.
    expect(Math.abs(at(87, 45) / at(142, 60) - 0.875)).toBeLessThan(0.01);
    // Per watt the low cap does 1.43 times the work.
    expect(Math.abs(((at(87, 45) / 87) * 142) / at(142, 60) - 1.428)).toBeLessThan(0.02);
  });
});
