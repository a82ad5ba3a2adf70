import { describe, expect, it } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { fitOf } from '../../../../toolkit/thermal/fit/fit-of.js';
import { steadyTemperature } from '../../../../toolkit/thermal/steady-temperature.js';
import { knownRun } from '../known-cooler.js';

const poles = [
  { timeConstantS: 6, resistanceKPerW: 0.18 },
  { timeConstantS: 130, resistanceKPerW: 0.32 },
];
const noise = (seed: number): ((index: number) => number) => {
  const random = seededRandom(seed);
  return () => 0.1 * random.normal();
};
const seconds = (from: number, to: number): number[] => Array.from({ length: to - from }, (_, i) => from + i);

describe('fitCooler where a run does not start cold', () => {
  // The record is the part of a longer history that a log holds.
  it('fits a run that begins idle but warm from earlier work, each stage with a start of its own', () => {
    const run = knownRun({
      timeS: seconds(0, 1200),
      poles,
      powerSteps: [
        { atS: -600, powerW: 95 },
        { atS: -30, powerW: 12 },
        { atS: 120, powerW: 80 },
      ],
      ambientC: 23,
      noiseK: noise(1),
    });
    const model = fitCooler(run, { powerExponent: 0 });
    expect(model.findings.map(({ code }) => code)).toContain('warm-start');
    expect(model.stages).toHaveLength(2);
    // A start at one equilibrium power would put the slow stage 10 % off.
    expect(model.poles?.timeConstantsS[1]).toBeGreaterThan(130 * 0.97);
    expect(model.poles?.timeConstantsS[1]).toBeLessThan(130 * 1.03);
    expect(model.resistanceLaw.thermalResistanceKPerW).toBeCloseTo(0.5, 2);
  });

  it('fits a run that begins in the middle of a load and holds the cool-down after it', () => {
    const run = knownRun({
      timeS: seconds(0, 1200),
      poles,
      powerSteps: [
        { atS: -90, powerW: 95 },
        { atS: 500, powerW: 12 },
      ],
      ambientC: 23,
      noiseK: noise(2),
    });
    const model = fitCooler(run, { powerExponent: 0 });
    expect(model.poles?.timeConstantsS[1]).toBeGreaterThan(130 * 0.97);
    expect(model.poles?.timeConstantsS[1]).toBeLessThan(130 * 1.03);
    expect(model.resistanceLaw.thermalResistanceKPerW).toBeCloseTo(0.5, 2);
    expect(fitOf(model, run).residualK.every((residual) => Math.abs(residual) < 0.8)).toBe(true);
  });

  it('gives the total resistance alone where the load was under way and never changes', () => {
    const run = knownRun({
      timeS: seconds(0, 900),
      poles,
      powerSteps: [{ atS: -150, powerW: 95 }],
      ambientC: 23,
      noiseK: noise(3),
    });
    const model = fitCooler(run, { powerExponent: 0 });
    const finding = model.findings.find(({ code }) => code === 'stages-not-identifiable');
    expect(finding?.remedy).toMatch(/a minute of idle before the load/);
    expect(model.ladder).toEqual([]);
    expect(model.poles).toBeUndefined();
    for (const stage of model.stages) {
      expect(stage).toEqual({
        timeConstantS: { kind: 'unavailable', reason: 'not-identifiable' },
        resistanceKPerW: { kind: 'unavailable', reason: 'not-identifiable' },
      });
    }
    const [low, high] =
      model.thermalResistanceKPerW.kind === 'estimated' ? model.thermalResistanceKPerW.interval95 : [1, 0];
    expect(low).toBeLessThan(0.5);
    expect(high).toBeGreaterThan(0.5);
    expect(() => fitOf(model, run)).toThrow(
      /^fitOf: `model` must be a model with stages \(received "[^"\\]+", whose stages could not be told from its start\); fit a run with fitCooler that holds a change of power/,
    );
  });
});

describe('fitCooler where the air is not logged', () => {
  const unknownAir = { conditions: {} };

  it('identifies it from a load and the cool-down after it', () => {
    const run = knownRun({
      timeS: seconds(0, 2400),
      poles,
      startPowerW: 12,
      powerSteps: [
        { atS: 60, powerW: 95 },
        { atS: 1200, powerW: 12 },
      ],
      ambientC: 19,
      noiseK: noise(4),
      ...unknownAir,
    });
    const withoutAir = { ...run, conditions: {} };
    const model = fitCooler(withoutAir, { powerExponent: 0 });
    if (model.ambientC.kind !== 'estimated') throw new Error('the air was not identified');
    expect(model.ambientC.value).toBeCloseTo(19, 0);
    expect(model.ambientC.interval95[0]).toBeLessThan(19);
    expect(model.ambientC.interval95[1]).toBeGreaterThan(19);
    expect(model.starts[0].ambientC).toBeCloseTo(19, 0);
    expect(model.findings.map(({ code }) => code)).toContain('ambient-identified');
    expect(fitOf(model, withoutAir).residualK.every((residual) => Math.abs(residual) < 0.8)).toBe(true);
    const steady = steadyTemperature(model, { powerW: 95, ambientC: 19 });
    expect(steady.value).toBeCloseTo(19 + 95 * 0.5, 0);
  });

  it('refuses where the power never changes, and names the cure', () => {
    const run = knownRun({
      timeS: seconds(0, 1200),
      poles,
      powerSteps: [{ atS: 0, powerW: 95 }],
      ambientC: 19,
      noiseK: noise(5),
    });
    expect(() => fitCooler({ ...run, conditions: {} })).toThrow(
      /^fitCooler: `runs` must be runs with a known air temperature at the intake of the cooler .*measure the air at the intake and give it as conditions: \{ ambientC: … \}/,
    );
  });
});

describe('testedRange of a fit', () => {
  it('is that of the load, however long the idle before it', () => {
    const run = knownRun({
      timeS: seconds(0, 900),
      poles,
      startPowerW: 12,
      powerSteps: [{ atS: 700, powerW: 95 }],
      ambientC: 23,
      noiseK: noise(4),
    });
    const [low, high] = fitCooler(run, { powerExponent: 0 }).testedRange.powerW;
    expect(low).toBeCloseTo(95, 6);
    expect(high).toBeCloseTo(95, 6);
  });
});
