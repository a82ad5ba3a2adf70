import { describe, expect, test } from 'vitest';
import type { EstimatedNumber } from '../../../../toolkit/numerics/estimate.js';
import { compareCoolers } from '../../../../toolkit/thermal/compare/compare-coolers.js';
import { coolerFromSteadyPoints } from '../../../../toolkit/thermal/cooler-from-steady-points.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import {
  MOUNT_ALLOWANCE_FRACTION,
  mountSpread,
  nextMountVarianceFraction,
} from '../../../../toolkit/thermal/mount-spread.js';
import { resistanceAt } from '../../../../toolkit/thermal/steady-temperature.js';
import { everyS, knownRun, modelWith } from '../known-cooler.js';

/** A model with a resistance at 80 W and, where given, the factors of its mounts. */
function cooler(
  label: string,
  resistanceKPerW: number,
  more: { readonly standardErrorKPerW?: number; readonly mountFactors?: readonly number[] } = {},
): CoolerModel {
  const factors = more.mountFactors ?? [];
  const mounts = mountSpread(factors.map(Math.log), Math.max(1, factors.length), MOUNT_ALLOWANCE_FRACTION);
  const spread = Math.sqrt(nextMountVarianceFraction(mounts));
  const model = modelWith([{ timeConstantS: 100, resistanceKPerW }], {
    // As a fit states it: what the next mount adds is in the standard error.
    resistanceStandardErrorKPerW: Math.hypot(more.standardErrorKPerW ?? 0.002, resistanceKPerW * spread),
  });
  return {
    ...model,
    label,
    starts: factors.map((mountFactor) => ({
      runLabel: label,
      firstIndex: 0,
      startPowerW: [0],
      mountFactor,
    })),
    testedRange: { ...model.testedRange, powerW: [80, 80] },
  };
}

const estimatedOf = (estimate: { readonly kind: string }): EstimatedNumber => {
  if (estimate.kind !== 'estimated') throw new Error('expected an estimated number');
  return estimate as EstimatedNumber;
};
const codesOf = (comparison: ReturnType<typeof compareCoolers>): readonly string[] =>
  comparison.findings.map(({ code }) => code);

describe('a comparison of coolers', () => {
  test('never says better from one mount within the allowance, however exact the fits are', () => {
    const { pairs, ranking, findings } = compareCoolers(
      [
        cooler('flat 41 mm', 0.5, { standardErrorKPerW: 1e-6 }),
        cooler('flat 58 mm', 0.48, { standardErrorKPerW: 1e-6 }),
      ],
      { powerW: 80 },
    );
    expect(pairs[0]).toMatchObject({ verdict: 'not told apart' });
    expect(ranking).toEqual([['flat 58 mm', 'flat 41 mm']]);
    expect(findings.find(({ code }) => code === 'mount-spread-assumed')?.message).toMatch(
      /2\.5 % of the resistance \(one standard deviation\)/,
    );
  });

  test('tells far ones apart, in the order given, with the rise at that power', () => {
    const { pairs, coolers, ranking, summary } = compareCoolers(
      [cooler('flat 41 mm', 0.7), cooler('tower 88 mm', 0.36)],
      { powerW: 80, ambientC: 24 },
    );
    expect(pairs[0]).toMatchObject({
      first: 'flat 41 mm',
      second: 'tower 88 mm',
      verdict: 'worse',
      moreMountsOfEachCount: 0,
    });
    expect(estimatedOf(pairs[0].differenceKPerW).value).toBeCloseTo(0.34, 12);
    expect(estimatedOf(pairs[0].riseDifferenceK).value).toBeCloseTo(27.2, 10);
    expect(coolers.map(({ label, places }) => [label, places])).toEqual([
      ['tower 88 mm', [1, 1]],
      ['flat 41 mm', [2, 2]],
    ]);
    expect(estimatedOf(coolers[0].steadyTemperatureC!).value).toBeCloseTo(24 + 80 * 0.36, 10);
    expect(ranking).toEqual([['tower 88 mm'], ['flat 41 mm']]);
    expect(summary).toBe("At 80 W 'tower 88 mm' is better than 'flat 41 mm'.");
  });

  test('has the variance of fits and mounts, u² = Σ (u²_fit + (s R)² / m)', () => {
    const factors = [1.02, 1.01, 1 / 1.02, 1 / 1.01];
    const { pairs, coolers } = compareCoolers(
      [cooler('a', 0.5, { standardErrorKPerW: 0.004 }), cooler('b', 0.4, { mountFactors: factors })],
      { powerW: 80, mountAllowanceFraction: 0.03 },
    );
    const logged = factors.reduce((sum, factor) => sum + Math.log(factor) ** 2, 0) / 3;
    const pooled = (4 * 0.03 ** 2 + 3 * logged) / 7;
    const variance = 0.004 ** 2 + (0.5 * 0.03) ** 2 + 0.002 ** 2 + (0.4 ** 2 * pooled) / 4;
    expect(estimatedOf(pairs[0].differenceKPerW).standardError).toBeCloseTo(Math.sqrt(variance), 12);
    expect(coolers.map(({ mountCount, mountSpreadSource }) => [mountCount, mountSpreadSource])).toEqual([
      [4, 'logged'],
      [1, 'allowed'],
    ]);
  });

  test('never counts less spread than was logged', () => {
    const { coolers, findings } = compareCoolers(
      [cooler('a', 0.5, { mountFactors: [1.1, 1 / 1.1] }), cooler('b', 0.5)],
      { powerW: 80 },
    );
    const a = coolers.find(({ label }) => label === 'a')!;
    expect(a.mountSpreadFraction).toBeCloseTo(Math.SQRT2 * Math.log(1.1), 12);
    expect(findings.find(({ code }) => code === 'mounts-differ-much')?.message).toMatch(/up to 13\.5 %/);
  });

  test('takes the spread of several mounts from a real fit, and no more than the fit holds', () => {
    const mounted = (mount: string, factor: number, seed: number) =>
      knownRun({
        timeS: everyS(1, 1200),
        poles: [
          { timeConstantS: 8, resistanceKPerW: 0.15 * factor },
          { timeConstantS: 120, resistanceKPerW: 0.35 * factor },
        ],
        powerSteps: [{ atS: 30, powerW: 80 }],
        label: mount,
        conditions: { mount },
        // A fixed pattern with no period of its own.
        noiseK: (i) => 0.2 * Math.sin(seed + 12.9898 * i * i),
      });
    const model = fitCooler([mounted('first', 1.03, 1), mounted('remounted', 1 / 1.03, 2)], { label: 'a' });
    const fit = estimatedOf(resistanceAt(model, 80));
    const { coolers } = compareCoolers([model, cooler('b', 0.3)], { powerW: 80 });
    const compared = coolers.find(({ label }) => label === 'a')!;
    expect(compared.mountCount).toBe(2);
    // √2 ln 1.03 = 4.2 % logged, more than the allowance.
    expect(compared.mountSpreadFraction).toBeCloseTo(Math.SQRT2 * Math.log(1.03), 3);
    // The middle of two mounts is known better than the next mount would be.
    const { standardError } = estimatedOf(compared.thermalResistanceKPerW);
    expect(standardError).toBeLessThan(fit.standardError);
    expect(standardError).toBeGreaterThan((0.5 * compared.mountSpreadFraction) / Math.SQRT2 - 1e-9);
  });

  test('judges all pairs together: what one pair alone would pass, among ten it does not', () => {
    const near = [cooler('a', 0.5), cooler('b', 0.55)];
    const alone = compareCoolers(near, { powerW: 80 }).pairs[0];
    const many = compareCoolers([...near, cooler('c', 0.501), cooler('d', 0.502), cooler('e', 0.503)], {
      powerW: 80,
    }).pairs[0];
    expect(alone.verdict).toBe('better');
    expect(many.pValue).toBeCloseTo(alone.pValue, 12);
    expect(many.verdict).toBe('not told apart');
    expect(many.summary).toMatch(/Alone the pair would pass; among 10 pairs it may be chance/);
  });

  test('lets one cooler stand in two groups where it is told apart from neither', () => {
    const { ranking, coolers, summary } = compareCoolers(
      [cooler('a', 0.5), cooler('b', 0.53), cooler('c', 0.6)],
      { powerW: 80, mountAllowanceFraction: 0.02 },
    );
    expect(ranking).toEqual([['a', 'b'], ['c']]);
    expect(coolers.map(({ places }) => places)).toEqual([
      [1, 2],
      [1, 2],
      [3, 3],
    ]);
    expect(summary).toBe("At 80 W the best are 'a' and 'b', not told apart by these runs; then 'c'.");
    const chain = compareCoolers([cooler('a', 0.5), cooler('b', 0.545), cooler('c', 0.59)], {
      powerW: 80,
    });
    expect(chain.ranking).toEqual([
      ['a', 'b'],
      ['b', 'c'],
    ]);
    expect(chain.coolers.map(({ places }) => places)).toEqual([
      [1, 2],
      [1, 3],
      [2, 3],
    ]);
  });

  test('says how many more mounts would tell, and that many do', () => {
    const options = { powerW: 80 };
    const first = compareCoolers([cooler('a', 0.5), cooler('b', 0.53)], options).pairs[0];
    expect(first.verdict).toBe('not told apart');
    const more = first.moreMountsOfEachCount;
    expect(more).toBeTypeOf('number');
    // As many further mounts, spread as allowed around a middle that stays where it is.
    const count = 1 + Number(more);
    const raw = Array.from({ length: count }, (_, i) => i - (count - 1) / 2);
    const scale = 0.025 / Math.sqrt(raw.reduce((sum, x) => sum + x * x, 0) / (count - 1));
    const mountFactors = raw.map((x) => Math.exp(scale * x));
    const later = compareCoolers(
      [cooler('a', 0.5, { mountFactors }), cooler('b', 0.53, { mountFactors })],
      options,
    ).pairs[0];
    expect(later.verdict).toBe('better');
    const hopeless = compareCoolers([cooler('a', 0.5), cooler('b', 0.501)], options).pairs[0];
    expect(hopeless.moreMountsOfEachCount).toBe('no reasonable number');
    expect(hopeless.summary).toMatch(/No reasonable number of further mounts/);
  });

  test('says what it does not compare and what its numbers rest on', () => {
    const serious = {
      ...cooler('a', 0.5),
      processor: 'twelve-core',
      enclosure: 'drawer',
      findings: [{ code: 'time-constant-beyond-run', severity: 'serious' as const, message: 'A guess.' }],
    };
    const comparison = compareCoolers(
      [serious, { ...cooler('b', 0.4), processor: 'eight-core', enclosure: 'bench' }],
      { powerW: 118, mountAllowanceFraction: 0 },
    );
    expect(codesOf(comparison)).toEqual([
      'models-with-serious-findings',
      'processors-differ',
      'enclosures-differ',
      'power-not-logged',
      'mount-spread-left-out',
      'sound-level-not-compared',
    ]);
    expect(comparison.summary).toMatch(/^Provisional: at 118 W/);
    expect(estimatedOf(comparison.pairs[0].differenceKPerW).extrapolated).toBe(true);
    for (const finding of comparison.findings) expect(finding.remedy).toBeDefined();
  });

  test('survives JSON and leaves the models as they were', () => {
    const models = [cooler('a', 0.5), cooler('b', 0.4)];
    const before = structuredClone(models);
    const comparison = compareCoolers(models, { powerW: 80, ambientC: 22 });
    expect(JSON.parse(JSON.stringify(comparison))).toEqual(comparison);
    expect(models).toEqual(before);
  });

  test.each([
    [() => compareCoolers([cooler('a', 0.5)], { powerW: 80 }), /`models` must be two cooler models or more/],
    [
      () => compareCoolers([cooler('a', 0.5), cooler('a', 0.4)], { powerW: 80 }),
      /distinct labels \(received "a" twice\); fit all mounts of one cooler together/,
    ],
    [
      () => compareCoolers([cooler('a', 0.5), cooler('b', 0.4)], { powerW: 0 }),
      /`options\.powerW` must be a finite number above 0/,
    ],
    [
      () => compareCoolers([cooler('a', 0.5), cooler('b', 0.4)], { powerW: 80, ambientC: -300 }),
      /`options\.ambientC` must be a finite number above -273\.15/,
    ],
    [
      () => compareCoolers([cooler('a', 0.5), cooler('b', 0.4)], { powerW: 80, mountAllowanceFraction: 2.5 }),
      /`options\.mountAllowanceFraction` must be .* at most 0\.5 \(received 2\.5\); give a fraction/,
    ],
    [
      () => compareCoolers([cooler('a', 0.5), cooler('b', 0.4)], { powerW: 80, confidence: 95 }),
      /`options\.confidence` must be a finite number at least 0\.5 and below 1/,
    ],
  ])('refuses what it cannot compare (%#)', (call, message) => {
    expect(call).toThrow(message);
  });

  test('of averages without logs counts each cooler as one mount', () => {
    const average = (label: string, temperatureC: number) =>
      coolerFromSteadyPoints([{ powerW: 80, temperatureC, ambientC: 22 }], { label });
    const { coolers } = compareCoolers([average('a', 60), average('b', 70)], { powerW: 80 });
    expect(coolers.every(({ mountCount }) => mountCount === 1)).toBe(true);
  });
});
