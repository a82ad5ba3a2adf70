// A fit that does not describe its data says so. Random rigs from stated seeds, made from closed-form step responses or
// by fine integration, never by the code under test.
import { describe, expect, test } from 'vitest';
import { requireValue } from '../../../../toolkit/numerics/estimates.js';
import { type RandomStream, seededRandom } from '../../../../toolkit/numerics/random.js';
import type { Finding } from '../../../../toolkit/runs/finding.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import type { Run } from '../../../../toolkit/runs/run.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { type FitCoolerOptions, fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { resistanceAt } from '../../../../toolkit/thermal/steady-temperature.js';
import { everyS, knownRun } from '../known-cooler.js';

const seeds = Array.from({ length: 20 }, (_, k) => 7000 + k);
const between = (random: RandomStream, low: number, high: number): number =>
  low + (high - low) * random.uniform();
const findingOf = (model: CoolerModel, code: string): Finding | undefined =>
  model.findings.find((finding) => finding.code === code);
const oneStage: FitCoolerOptions = { stageCount: 1, sensorLag: false };

/** 25 minutes of a cooler with a die side of 3 to 15 s and a body of 80 to 250 s, a minute idle before the load. */
function twoStageRig(seed: number): { readonly run: Run; readonly slowS: number; readonly fastS: number } {
  const random = seededRandom(seed);
  const fastS = between(random, 3, 15);
  const slowS = between(random, 80, 250);
  const poles = [
    { timeConstantS: fastS, resistanceKPerW: between(random, 0.08, 0.25) },
    { timeConstantS: slowS, resistanceKPerW: between(random, 0.2, 0.5) },
  ];
  const powerSteps = [{ atS: 60, powerW: between(random, 60, 120) }];
  const noiseK = between(random, 0.05, 0.4);
  const run = knownRun({
    timeS: everyS(1, 1500),
    poles,
    startPowerW: 12,
    powerSteps,
    noiseK: () => noiseK * random.normal(),
  });
  return { run, slowS, fastS };
}

describe('a system of two stages', () => {
  test.each(seeds)('rig %i: one stage is flagged, and how far it is off is said', (seed) => {
    const finding = findingOf(fitCooler(twoStageRig(seed).run, oneStage), 'structured-residuals');
    expect(finding?.severity).toBe('serious');
    expect(finding?.message).toMatch(/departs from the model by [\d.]+ K over half a minute/);
    expect(finding?.remedy).toMatch(/allow more stages/);
  });

  test.each(seeds)('rig %i: two stages are found, not flagged, near the ones put in', (seed) => {
    const { run, slowS, fastS } = twoStageRig(seed);
    const model = fitCooler(run, { powerExponent: 0 });
    expect(model.orders.find((order) => order.chosen)).toMatchObject({ stageCount: 2 });
    expect(findingOf(model, 'structured-residuals')).toBeUndefined();
    // Up to 0.4 K of noise on 1,500 samples leaves a fast stage of 0.08 K/W open by a fifth, a slow one by a few per cent.
    const [fast, slow] = model.poles?.timeConstantsS ?? [];
    expect(Math.abs(slow / slowS - 1)).toBeLessThan(0.05);
    expect(Math.abs(fast / fastS - 1)).toBeLessThan(0.35);
  });
});

describe('a sensor away from the source', () => {
  test.each(seeds.slice(0, 8))(
    'rig %i: without a lag the fit is flagged, with it the lag is found',
    (seed) => {
      const random = seededRandom(seed);
      const sensorLagS = between(random, 8, 20);
      const timeConstantS = between(random, 90, 220);
      const noiseK = between(random, 0.05, 0.3);
      const run = knownRun({
        timeS: everyS(1, 1500),
        poles: [{ timeConstantS, resistanceKPerW: between(random, 0.35, 0.6) }],
        sensorLagS,
        startPowerW: 10,
        powerSteps: [
          { atS: 60, powerW: between(random, 70, 120) },
          { atS: 800, powerW: 10 },
        ],
        noiseK: () => noiseK * random.normal(),
      });
      expect(findingOf(fitCooler(run, oneStage), 'structured-residuals')).toBeDefined();
      const model = fitCooler(run, { powerExponent: 0 });
      expect(findingOf(model, 'structured-residuals')).toBeUndefined();
      expect(model.orders.find((order) => order.chosen)).toMatchObject({ stageCount: 1, sensorLag: true });
      expect(Math.abs((model.sensorLagS?.value ?? 0) / sensorLagS - 1)).toBeLessThan(0.1);
      expect(Math.abs((model.poles?.timeConstantsS[0] ?? 0) / timeConstantS - 1)).toBeLessThan(0.03);
    },
  );
});

describe('a fan that changes its speed during the run', () => {
  /** A body whose resistance to the air falls at 15 min, integrated exactly between changes. */
  function fanRig(
    seed: number,
    slowedFraction: number,
  ): { readonly run: Run; readonly fanSpeedRpm: number[] } {
    const random = seededRandom(seed);
    const dieS = between(random, 4, 10);
    const capacityJPerK = between(random, 250, 450);
    const before = between(random, 0.3, 0.45);
    const timeS = everyS(1, 1800);
    const powerW = timeS.map((t) => (t <= 60 ? 10 : 90));
    let dieK = 0.12 * 10;
    let bodyK = before * 10;
    const temperatureC = powerW.map((p, i) => {
      const resistance = i <= 900 ? before : before * slowedFraction;
      if (i > 0) {
        dieK = 0.12 * p + Math.exp(-1 / dieS) * (dieK - 0.12 * p);
        bodyK = resistance * p + Math.exp(-1 / (capacityJPerK * resistance)) * (bodyK - resistance * p);
      }
      return 23 + dieK + bodyK + 0.2 * random.normal();
    });
    const run = makeRun({ timeS, powerW, temperatureC }, { label: 'fan', conditions: { ambientC: 23 } });
    return { run, fanSpeedRpm: timeS.map((t) => (t <= 900 ? 900 : 1300)) };
  }

  test.each(seeds.slice(0, 6))('rig %i: where the speed is logged, it is fitted', (seed) => {
    const { run, fanSpeedRpm } = fanRig(seed, 0.85);
    const logged = { ...run, fanSpeedRpm: Float64Array.from(fanSpeedRpm) };
    const model = fitCooler(logged);
    expect(findingOf(model, 'fan-speed-fitted')?.message).toMatch(/from 900 to 1300 rpm/);
    expect(findingOf(model, 'structured-residuals')).toBeUndefined();
    // Between the two speeds the resistance falls by 15 % of the body's, 0.3 to 0.45 K/W.
    const [slow, fast] = [900, 1300].map((speed) => resistanceAt(model, 90, { fanSpeedRpm: speed }));
    const fallKPerW = requireValue(slow) - requireValue(fast);
    expect(fallKPerW).toBeGreaterThan(0.9 * 0.15 * 0.3);
    expect(fallKPerW).toBeLessThan(1.1 * 0.15 * 0.45);
  });

  test.each(seeds.slice(0, 2))('rig %i: where it is logged and not to be fitted, by its range', (seed) => {
    const { run, fanSpeedRpm } = fanRig(seed, 0.85);
    const logged = { ...run, fanSpeedRpm: Float64Array.from(fanSpeedRpm) };
    const finding = findingOf(fitCooler(logged, { fitFanSpeed: false }), 'fan-speed-changed');
    expect(finding?.severity).toBe('warning');
    expect(finding?.message).toMatch(/from 900 to 1300 rpm/);
    expect(finding?.remedy).toMatch(/fix the fan speed/);
  });

  test.each(seeds.slice(0, 6))('rig %i: where it is not, by what it leaves in the residuals', (seed) => {
    const finding = findingOf(fitCooler(fanRig(seed, 0.85).run), 'structured-residuals');
    expect(finding?.remedy).toMatch(/a change of fan speed/);
  });

  test('a speed that only scatters is no change', () => {
    const { run } = fanRig(seeds[0], 1);
    const random = seededRandom(3);
    const steady = { ...run, fanSpeedRpm: run.timeS.map(() => 1000 + 10 * random.normal()) };
    expect(findingOf(fitCooler(steady), 'fan-speed-changed')).toBeUndefined();
  });
});

describe('a run too short for its slowest stage', () => {
  test.each(seeds.slice(0, 8))(
    'rig %i: the time constant is called a guess, with the time to log',
    (seed) => {
      const random = seededRandom(seed);
      const slowS = between(random, 560, 1000);
      const run = knownRun({
        timeS: everyS(1, 400),
        poles: [
          { timeConstantS: 6, resistanceKPerW: 0.1 },
          { timeConstantS: slowS, resistanceKPerW: 0.3 },
        ],
        startPowerW: 10,
        powerSteps: [{ atS: 30, powerW: 85 }],
        noiseK: () => 0.1 * random.normal(),
      });
      const model = fitCooler(run, { powerExponent: 0 });
      expect(findingOf(model, 'time-constant-beyond-run')).toMatchObject({ severity: 'serious' });
      const missing = findingOf(model, 'steady-state-not-reached');
      expect(missing?.severity).toBe('serious');
      expect(missing?.remedy).toMatch(/log at least one run of \d+ minutes/);
    },
  );
});

describe('power that never changes enough', () => {
  test.each(seeds.slice(0, 8))('rig %i: the total resistance alone is given, and a remedy', (seed) => {
    const random = seededRandom(seed);
    const resistanceKPerW = between(random, 0.3, 0.6);
    // Under load since ten minutes; the cap moves by a few watts.
    const run = knownRun({
      timeS: everyS(1, 900),
      poles: [
        { timeConstantS: 7, resistanceKPerW: 0.3 * resistanceKPerW },
        { timeConstantS: 160, resistanceKPerW: 0.7 * resistanceKPerW },
      ],
      powerSteps: [
        { atS: -600, powerW: 84 },
        { atS: 300, powerW: 86 },
      ],
      noiseK: () => 0.2 * random.normal(),
    });
    const model = fitCooler(run, { powerExponent: 0 });
    const finding = findingOf(model, 'stages-not-identifiable');
    expect(finding?.message).toMatch(/power never changes/);
    expect(finding?.remedy).toMatch(/a minute of idle before the load, or let the log run on/);
    expect(model.poles).toBeUndefined();
    if (model.thermalResistanceKPerW.kind !== 'estimated') throw new Error('the total is estimated');
    expect(model.thermalResistanceKPerW.interval95[0]).toBeLessThan(resistanceKPerW);
    expect(model.thermalResistanceKPerW.interval95[1]).toBeGreaterThan(resistanceKPerW);
  });
});

test('a load from the first sample on, never changed: the stages rest on a settled start, and that is said', () => {
  const random = seededRandom(5);
  const run = knownRun({
    timeS: everyS(1, 1200),
    poles: [
      { timeConstantS: 7, resistanceKPerW: 0.15 },
      { timeConstantS: 160, resistanceKPerW: 0.35 },
    ],
    powerSteps: [{ atS: -0.5, powerW: 85 }],
    noiseK: () => 0.2 * random.normal(),
  });
  const finding = findingOf(fitCooler(run), 'power-never-changes');
  expect(finding?.message).toMatch(/The log begins with the load and its power never changes/);
  expect(finding?.remedy).toMatch(/a minute before the load, or let it run on/);
});

describe('convection that is not linear in the temperature difference', () => {
  /** One body, R ∝ ΔT^−p: natural convection, laminar 1/4, turbulent 1/3 [Bergman2011, ch. 9]; steps of 0.05 s. */
  function convectionRig(p: number, endS: number): Run {
    const random = seededRandom(14);
    const [capacityJPerK, referenceK, referenceKPerW] = [300, 40, 0.5];
    const powerAt = (t: number): number => (t < 60 ? 10 : t < 1800 ? 90 : 10);
    const timeS = everyS(1, endS);
    // In equilibrium at 10 W: ΔT^(1+p) = P R_ref ΔT_ref^p.
    let riseK = (10 * referenceKPerW * referenceK ** p) ** (1 / (1 + p));
    const temperatureC = timeS.map((t) => {
      const reading = 23 + riseK + 0.1 * random.normal();
      for (let k = 0; k < 20; k++) {
        const conducted = (riseK / referenceKPerW) * (riseK / referenceK) ** p;
        riseK += (0.05 / capacityJPerK) * (powerAt(t) - conducted);
      }
      return reading;
    });
    const powerW = timeS.map(powerAt);
    return makeRun(
      { timeS, powerW, temperatureC },
      { label: 'convection', conditions: { ambientC: 23 }, powerSample: 'instant' },
    );
  }

  test.each([1 / 4, 1 / 3])('exponent %d, one power: the residuals of heating show it', (p) => {
    expect(findingOf(fitCooler(convectionRig(p, 1500)), 'structured-residuals')).toBeDefined();
  });

  test('exponent 1/3, one power: named, with the run that would tell', () => {
    const finding = findingOf(fitCooler(convectionRig(1 / 3, 1500)), 'convection-not-linear');
    expect(finding?.message).toMatch(/The residuals follow the temperature difference/);
    expect(finding?.remedy).toMatch(/a second run at another power/);
  });

  test.each([1 / 4, 1 / 3])('exponent %d, one power and the cool-down: seriously', (p) => {
    expect(findingOf(fitCooler(convectionRig(p, 3000)), 'structured-residuals')).toMatchObject({
      severity: 'serious',
    });
  });

  test('exponent 0 is linear, and nothing is flagged', () => {
    expect(findingOf(fitCooler(convectionRig(0, 1500)), 'convection-not-linear')).toBeUndefined();
    const model = fitCooler(convectionRig(0, 3000), { powerExponent: 0 });
    expect(findingOf(model, 'structured-residuals')).toBeUndefined();
    expect(model.poles?.timeConstantsS[0]).toBeCloseTo(150, 0);
  });
});
