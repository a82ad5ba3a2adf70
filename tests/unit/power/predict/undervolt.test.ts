import { describe, expect, test } from 'vitest';
import type { Estimate, EstimatedNumber } from '../../../../toolkit/numerics/estimate.js';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { fitPowerCurve } from '../../../../toolkit/power/fit/fit-power-curve.js';
import {
  frequencyAt,
  frequencyFunction,
  powerAt,
  slopes,
} from '../../../../toolkit/power/predict/frequency-at.js';
import { throughputAt } from '../../../../toolkit/power/predict/throughput-at.js';
import { undervolt } from '../../../../toolkit/power/predict/undervolt.js';
import type { Run } from '../../../../toolkit/runs/run.js';
import {
  drawProcessor,
  frequencyOf,
  type SyntheticRunOptions,
  syntheticRun,
} from '../synthetic-processor.js';

const processor = drawProcessor(seededRandom(5));
const OFFSET_EFFECT = 0.93;
const work = { megacycleCount: 600, waitS: 0 };

function runAt(powerCapW: number, more: Partial<SyntheticRunOptions> = {}): Run {
  const seed = powerCapW - (more.voltageOffsetMv ?? 0);
  return syntheticRun(processor, {
    powerCapW,
    thermalResistanceKPerW: 0.45,
    ambientC: 22,
    durationS: 800,
    random: seededRandom(seed),
    voltageReadingOffV: 0.002,
    offsetEffect: OFFSET_EFFECT,
    work,
    ...more,
    label: `${powerCapW} W at ${more.voltageOffsetMv ?? 0} mV`,
  });
}

const stock = [runAt(118), runAt(80)];
const plain = fitPowerCurve(stock);
const both = fitPowerCurve([...stock, runAt(118, { voltageOffsetMv: -80 })]);
const losing = fitPowerCurve([...stock, runAt(118, { voltageOffsetMv: -80, lossFraction: 0.08 })]);

const codes = (curve: { readonly findings: readonly { readonly code: string }[] }): string[] =>
  curve.findings.map(({ code }) => code);

function given(estimate: Estimate): EstimatedNumber {
  if (estimate.kind !== 'estimated') throw new Error('not estimated');
  return estimate;
}

function expectHolds(estimate: Estimate, truth: number): void {
  const [low, high] = given(estimate).interval95;
  expect(truth).toBeGreaterThan(low);
  expect(truth).toBeLessThan(high);
}

describe('from before-and-after runs', () => {
  const lower = undervolt(both, { offsetMv: -80 });

  test('the share of the offset that reaches the cores is fitted', () => {
    const ratio = both.parameters['offsetEffectRatio'];
    // Two voltages off by 5 mV each, of 80, and the frequency gained at the cap.
    expect(Math.abs(ratio - OFFSET_EFFECT)).toBeLessThan(0.08);
    const index = both.covariance.parameters.indexOf('offsetEffectRatio');
    expect(Math.sqrt(both.covariance.matrix[index][index])).toBeLessThan(0.08);
  });

  test('frequency at another cap holds the truth and is not extrapolated', () => {
    const at = { powerW: 98, temperatureC: 66 };
    const answer = given(frequencyAt(lower, at));
    expect(answer.extrapolated).toBe(false);
    expectHolds(answer, frequencyOf(processor, 98, 66, 1, -0.08 * OFFSET_EFFECT));
    expect(answer.value).toBeGreaterThan(given(frequencyAt(both, at)).value + 80);
  });

  test('half the offset is marked extrapolated, with a finding, and holds the truth', () => {
    const half = undervolt(both, { offsetMv: -40 });
    const answer = given(frequencyAt(half, { powerW: 98, temperatureC: 66 }));
    expect(answer.extrapolated).toBe(true);
    expectHolds(answer, frequencyOf(processor, 98, 66, 1, -0.04 * OFFSET_EFFECT));
    expect(codes(half)).toContain('offset-not-logged');
    expect(given(half.frequencyPerPowerMHzPerW).extrapolated).toBe(true);
  });

  test('the voltage of both offsets lies on one relation', () => {
    expect(codes(both)).not.toContain('voltage-off-relation');
    expect(both.voltage).toMatchObject({ offsetMv: 0, relationOffsetMv: 0, testedOffsetsMv: [0, -80] });
  });

  test('an offset replaces the one before, and 0 takes it back', () => {
    const again = undervolt(undervolt(lower, { offsetMv: -40 }), { offsetMv: 0 });
    const at = { powerW: 98, temperatureC: 66 };
    expect(frequencyAt(again, at)).toEqual(frequencyAt(both, at));
    expect(codes(again)).toEqual(codes(both));
  });

  test('the same power takes less at the same frequency', () => {
    const at = { frequencyMHz: 3800, temperatureC: 70 };
    expect(powerAt(lower, at).value!).toBeLessThan(powerAt(both, at).value! - 3);
  });

  test('cautions stand among the findings', () => {
    const caution = lower.findings.find(({ code }) => code === 'undervolt-caution');
    expect(caution?.severity).toBe('warning');
    expect(caution?.message).toMatch(/crashes, wrong results and loss of data/);
    expect(caution?.remedy).toMatch(/limits of the maker/);
  });
});

describe('without a run at any offset', () => {
  const lower = undervolt(plain, { offsetMv: -80 });

  test('the offset is taken as reaching the cores within a tenth, and everything is marked extrapolated', () => {
    const at = { powerW: 98, temperatureC: 66 };
    const answer = given(frequencyAt(lower, at));
    expect(answer.extrapolated).toBe(true);
    expectHolds(answer, frequencyOf(processor, 98, 66, 1, -0.08 * OFFSET_EFFECT));
    expect(answer.standardError).toBeGreaterThan(given(frequencyAt(plain, at)).standardError);
  });
});

describe('where the offset loses work behind the reported frequency', () => {
  const lower = undervolt(losing, { offsetMv: -80 });
  const at = { powerW: 98, temperatureC: 66 };
  const reported = frequencyOf(processor, 98, 66, 1, -0.08 * OFFSET_EFFECT);

  test('the curve gives the effective frequency and the throughput that follows from it', () => {
    expectHolds(frequencyAt(lower, at), 0.92 * reported);
    expectHolds(throughputAt(lower, at), (0.92 * reported) / 600);
    expect(frequencyFunction(lower)(98, 66)).toBe(given(frequencyAt(lower, at)).value);
    const step =
      (frequencyFunction(lower)(98.5, 66) - frequencyFunction(lower)(97.5, 66)) / slopes(lower, at).perPower;
    expect(step).toBeCloseTo(1, 3);
    expect(
      powerAt(lower, { frequencyMHz: given(frequencyAt(lower, at)).value, temperatureC: 66 }).value,
    ).toBeCloseTo(98, 5);
  });

  test('the curve at the maker’s voltage is not touched by it', () => {
    expectHolds(frequencyAt(losing, at), frequencyOf(processor, 98, 66));
    expectHolds(throughputAt(losing, at), frequencyOf(processor, 98, 66) / 600);
  });

  test('it is named on fitting and again on asking', () => {
    const finding = losing.findings.find(({ code }) => code === 'hidden-slowdown');
    expect(finding?.severity).toBe('serious');
    expect(finding?.message).toMatch(/118 W at -80 mV reports [34]\d{3} MHz, works like 3\d{3} MHz/);
    expect(losing.slowedRuns?.map(({ label, voltageOffsetMv }) => [label, voltageOffsetMv])).toEqual([
      ['118 W at -80 mV', -80],
    ]);
    expect(codes(lower)).toContain('offset-loses-work');
  });

  test('half the offset may or may not lose work: wider', () => {
    const half = undervolt(losing, { offsetMv: -40 });
    const width = given(frequencyAt(half, at)).standardError;
    expect(width).toBeGreaterThan(
      1.3 * given(frequencyAt(undervolt(both, { offsetMv: -40 }), at)).standardError,
    );
    // Between no loss and half of 8 %.
    expectHolds(frequencyAt(half, at), 0.98 * frequencyOf(processor, 98, 66, 1, -0.04 * OFFSET_EFFECT));
  });

  test('deeper offsets are refused', () => {
    expect(() => undervolt(losing, { offsetMv: -110 })).toThrow(
      /undervolt: `options\.offsetMv` must be no deeper than -80 mV, where the runs lost [78]\.\d % of their work per cycle \(received -110\); choose an offset above -80 mV/,
    );
  });
});

test('runs at an offset without throughput are said to prove no work', () => {
  const silent = runAt(118, { voltageOffsetMv: -80 });
  const { throughputPerS: _, ...rest } = silent;
  const curve = fitPowerCurve([...stock, rest as Run]);
  expect(codes(undervolt(curve, { offsetMv: -80 }))).toContain('offset-without-throughput');
});

test('a run slowed down at the maker’s voltage counts with its effective frequency', () => {
  const curve = fitPowerCurve([runAt(118), runAt(95), runAt(80, { lossFraction: 0.06 })]);
  expect(codes(curve)).toContain('hidden-slowdown');
  const at80 = curve.points.find(({ label }) => label.startsWith('80 W'))!;
  const reported = frequencyOf(processor, at80.powerW, at80.temperatureC);
  expect(Math.abs(at80.frequencyMHz / reported - 0.94)).toBeLessThan(0.01);
});

test('an offset that was not stated shows as a voltage off the relation', () => {
  const hidden = runAt(118, { voltageOffsetMv: -80 });
  const { voltageOffsetMv: _, ...conditions } = hidden.conditions;
  const curve = fitPowerCurve([...stock, runAt(95), { ...hidden, conditions }]);
  expect(curve.findings.find(({ code }) => code === 'voltage-off-relation')?.remedy).toMatch(
    /conditions\.voltageOffsetMv/,
  );
});

test('a voltage that stands still while frequency moves is a finding', () => {
  const fixed = stock.map((run): Run => ({ ...run, voltageV: run.powerW.map(() => 1.1) }));
  const finding = fitPowerCurve(fixed).findings.find(({ code }) => code === 'voltage-stands-still');
  expect(finding?.message).toMatch(/stands at 1\.100 V while the frequency moves from 3\d{3} to 4\d{3} MHz/);
  expect(codes(plain)).not.toContain('voltage-stands-still');
});

describe('bad input', () => {
  test('a curve without voltage', () => {
    const { voltage: _, ...dumb } = plain;
    expect(() => undervolt(dumb, { offsetMv: -50 })).toThrow(
      /undervolt: `curve` must be an electro-thermal curve with voltage .*log the core voltage in the runs/,
    );
  });

  test('more voltage, the wrong unit, or nothing', () => {
    expect(() => undervolt(plain, { offsetMv: 30 })).toThrow(
      /`options\.offsetMv` must be a finite number at least -\d+ and at most 0 \(received 30\); .*more voltage than the maker sets is not offered/,
    );
    expect(() => undervolt(plain, { offsetMv: -900 })).toThrow(/must be a finite number at least -2\d\d/);
    expect(() => undervolt(plain, { offsetV: -0.05 } as never)).toThrow(
      /`options\.offsetV` must be one of offsetMv/,
    );
    expect(() => undervolt(plain, { offsetMv: -0.05 })).toThrow(/`options\.offsetMv`.*-0\.05 V are -50 mV/);
    expect(() => undervolt({} as never, { offsetMv: -50 })).toThrow(/`curve` must be a power-curve/);
  });

  test('runs at two offsets of which none logs a voltage', () => {
    const strip = ({ voltageV: _, ...rest }: Run): Run => rest as Run;
    expect(() => fitPowerCurve([runAt(118), runAt(80, { voltageOffsetMv: -60 })].map(strip))).toThrow(
      /fitPowerCurve: `runs` must be runs at one voltage offset, or runs that log the core voltage .*fit one curve per conditions\.voltageOffsetMv/,
    );
  });
});
