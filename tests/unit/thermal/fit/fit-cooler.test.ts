import { describe, expect, test } from 'vitest';
import { NumericalError } from '../../../../toolkit/errors.js';
import type { Estimate } from '../../../../toolkit/numerics/estimate.js';
import { requireValue as numberOf } from '../../../../toolkit/numerics/estimates.js';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import type { Run } from '../../../../toolkit/runs/run.js';
import type { CoolerModel } from '../../../../toolkit/thermal/cooler-model.js';
import { FIT_COOLER_DEFAULTS, fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { simulateTemperature } from '../../../../toolkit/thermal/simulate.js';
import { steadyTemperature } from '../../../../toolkit/thermal/steady-temperature.js';
import { everyS, type KnownRun, knownRun, modelWith } from '../known-cooler.js';

const twoStages = [
  { timeConstantS: 6, resistanceKPerW: 0.12 },
  { timeConstantS: 150, resistanceKPerW: 0.4 },
];

/** A minute or so idle, then load; 0.2 K of white noise unless said otherwise. */
function loadRun(seed: number, changes: Partial<KnownRun> & { readonly loadW?: number } = {}): Run {
  const random = seededRandom(seed);
  return knownRun({
    timeS: everyS(1, 1200),
    poles: twoStages,
    startPowerW: 10,
    powerSteps: [{ atS: 30, powerW: changes.loadW ?? 85 }],
    noiseK: () => 0.2 * random.normal(),
    ...changes,
  });
}

const noNoise = (): number => 0;

/** Sampling instants between 0.4 and 2 s apart. */
function irregularS(seed: number, endS: number): number[] {
  const random = seededRandom(seed);
  const timeS = [0];
  while (timeS[timeS.length - 1] < endS) timeS.push(timeS[timeS.length - 1] + 0.4 + 1.6 * random.uniform());
  return timeS;
}

const codesOf = (model: CoolerModel): string[] => model.findings.map((finding) => finding.code);
const halfWidth = (estimate: Estimate): number =>
  estimate.kind === 'estimated' ? (estimate.interval95[1] - estimate.interval95[0]) / 2 : Number.NaN;
const polesOf = (model: CoolerModel): NonNullable<CoolerModel['poles']> => {
  if (model.poles === undefined) throw new Error('a fit has poles');
  return model.poles;
};

function expectPoles(model: CoolerModel, expected: typeof twoStages, relative: number): void {
  const { timeConstantsS, resistancesKPerW } = polesOf(model);
  expect(timeConstantsS).toHaveLength(expected.length);
  expected.forEach(({ timeConstantS, resistanceKPerW }, k) => {
    expect(Math.abs(timeConstantsS[k] / timeConstantS - 1)).toBeLessThan(relative);
    expect(Math.abs(resistancesKPerW[k] / resistanceKPerW - 1)).toBeLessThan(relative);
  });
}

describe('what is in the data is found', () => {
  test.each(['interval-mean', 'instant'] as const)(
    'two stages at irregular sample times, %s power, without noise: to 1e-6',
    (powerSample) => {
      const timeS = irregularS(5, 1500);
      const run = loadRun(0, {
        timeS,
        powerSample,
        noiseK: noNoise,
        // At a sample: between two, an interval mean would no longer say when the step was.
        powerSteps: [{ atS: timeS[20], powerW: 90 }],
      });
      const model = fitCooler(run, { powerExponent: 0 });
      expectPoles(model, twoStages, 1e-6);
      expect(numberOf(model.thermalResistanceKPerW)).toBeCloseTo(0.52, 7);
      expect(model.starts[0].startPowerW[0]).toBeCloseTo(10, 4);
      expect(codesOf(model)).toEqual([]);
    },
  );

  test('three stages under power that goes up and down, without noise: to 1e-4', () => {
    const poles = [
      { timeConstantS: 2.5, resistanceKPerW: 0.1 },
      { timeConstantS: 25, resistanceKPerW: 0.15 },
      { timeConstantS: 220, resistanceKPerW: 0.3 },
    ];
    const run = loadRun(0, {
      timeS: everyS(0.5, 1500),
      poles,
      noiseK: noNoise,
      powerSteps: [
        { atS: 20, powerW: 90 },
        { atS: 600, powerW: 40 },
        { atS: 700, powerW: 95 },
        { atS: 1300, powerW: 5 },
      ],
    });
    expectPoles(fitCooler(run, { powerExponent: 0 }), poles, 1e-4);
  });

  test('under noise of 0.2 K, within the stated intervals, and the ladder carries the same resistance', () => {
    const model = fitCooler(loadRun(11), { powerExponent: 0 });
    expect(model.stages).toHaveLength(2);
    model.stages.forEach((stage, k) => {
      for (const [estimate, truth] of [
        [stage.timeConstantS, twoStages[k].timeConstantS],
        [stage.resistanceKPerW, twoStages[k].resistanceKPerW],
      ] as const) {
        if (estimate.kind !== 'estimated') throw new Error('estimated');
        expect(estimate.interval95[0]).toBeLessThan(truth);
        expect(estimate.interval95[1]).toBeGreaterThan(truth);
        // Informative as well: noise of 0.2 K on 1,200 samples does not leave a stage open by half.
        expect(halfWidth(estimate) / truth).toBeLessThan(0.5);
      }
    });
    const ladderTotal = model.ladder.reduce((sum, rung) => sum + rung.resistanceKPerW, 0);
    expect(ladderTotal).toBeCloseTo(numberOf(model.thermalResistanceKPerW), 10);
    expect(model.noise.standardDeviationK).toBeCloseTo(0.2, 1);
    // The noise is white: neighbours hardly share it.
    expect(model.noise.samplesPerIndependentSample).toBeLessThan(1.5);
  });

  test('a sensor that lags by 12 s before a stage of 150 s is found as a lag, not as another stage', () => {
    const model = fitCooler(
      loadRun(12, { poles: [{ timeConstantS: 150, resistanceKPerW: 0.45 }], sensorLagS: 12 }),
      { powerExponent: 0 },
    );
    expect(model.stages).toHaveLength(1);
    expect(polesOf(model).resistancesKPerW.every((resistance) => resistance > 0)).toBe(true);
    if (model.sensorLagS?.kind !== 'estimated') throw new Error('the lag is estimated');
    expect(model.sensorLagS.interval95[0]).toBeLessThan(12);
    expect(model.sensorLagS.interval95[1]).toBeGreaterThan(12);
    expect(Math.abs(model.sensorLagS.value - 12)).toBeLessThan(0.6);
    expect(Math.abs(polesOf(model).timeConstantsS[0] / 150 - 1)).toBeLessThan(0.01);
  });

  test('and without candidates with a lag the same data leave structure in the residuals', () => {
    const run = loadRun(12, { poles: [{ timeConstantS: 150, resistanceKPerW: 0.45 }], sensorLagS: 12 });
    const model = fitCooler(run, { powerExponent: 0, sensorLag: false });
    expect(model.orders.every((order) => !order.sensorLag)).toBe(true);
    expect(model.sensorLagS).toBeUndefined();
    expect(codesOf(model)).toContain('structured-residuals');
  });
});

describe('what a power sample means', () => {
  const sixSeconds = [{ timeConstantS: 6, resistanceKPerW: 0.5 }];
  const random = seededRandom(31);
  let atS = 0;
  const powerSteps = Array.from({ length: 60 }, (_, i) => {
    atS += 2 + random.integer(12);
    return { atS, powerW: i % 2 === 0 ? 90 : 20 };
  });
  const run = loadRun(0, { timeS: everyS(1, 400), poles: sixSeconds, powerSteps, noiseK: noNoise });
  const timeConstantS = (of: Run): number =>
    polesOf(fitCooler(of, { powerExponent: 0, stageCount: 1, sensorLag: false })).timeConstantsS[0];

  test('interval means taken as interval means give the 6 s that were put in', () => {
    expect(timeConstantS(run)).toBeCloseTo(6, 6);
  });

  test('taken as held forward they come a sample late and shorten it, at 1 Hz by about a fifth', () => {
    // Near 4.9 s; how much exactly depends on the course of the power.
    const shortened = timeConstantS({ ...run, powerSample: 'instant' });
    expect(shortened).toBeGreaterThan(4.5);
    expect(shortened).toBeLessThan(5.3);
  });
});

describe('order of the model', () => {
  test('the weights of the candidates sum to 1 and one of them is chosen', () => {
    const { orders } = fitCooler(loadRun(13));
    expect(orders.map((order) => [order.stageCount, order.sensorLag])).toEqual([
      [1, false],
      [1, true],
      [2, false],
      [2, true],
      [3, false],
      [3, true],
    ]);
    expect(orders.reduce((sum, order) => sum + order.weight, 0)).toBeCloseTo(1, 12);
    const chosen = orders.filter((order) => order.chosen);
    expect(chosen).toHaveLength(1);
    expect(chosen[0].stageCount).toBe(2);
    expect(chosen[0].rejected).toBeUndefined();
    // One more stage than there is, is said to be empty or merged.
    expect(orders[4].rejected).toMatch(/no resistance|coincide|not identifiable/);
  });

  test('the number of candidates follows the options, whose defaults are as documented', () => {
    expect(FIT_COOLER_DEFAULTS).toEqual({ maxStageCount: 3, sensorLag: true, fitFanSpeed: true });
    const { orders } = fitCooler(loadRun(13), { maxStageCount: 2, sensorLag: false });
    expect(orders.map((order) => order.stageCount)).toEqual([1, 2]);
  });

  test('one stage forced on a system of two is flagged, with the time and a remedy', () => {
    const model = fitCooler(loadRun(14), { stageCount: 1 });
    expect(model.stages).toHaveLength(1);
    const finding = model.findings.find(({ code }) => code === 'structured-residuals');
    expect(finding?.severity).toBe('serious');
    expect(finding?.message).toMatch(/Run "known" departs from the model by .* K over half a minute/);
    expect(finding?.remedy).toMatch(/allow more stages/);
    expect(finding?.rangeS).toBeDefined();
    expect(codesOf(fitCooler(loadRun(14)))).not.toContain('structured-residuals');
  });
});

describe('how the resistance changes with power', () => {
  test('from one power the exponent is assumed, said so, and answers widen away from it', () => {
    const model = fitCooler(loadRun(15, { logAmbient: true }));
    expect(model.resistanceLaw.exponentSource).toBe('assumed');
    const finding = model.findings.find(({ code }) => code === 'assumed-power-exponent');
    expect(finding?.message).toMatch(/One power only was logged \(85/);
    expect(finding?.remedy).toMatch(/second run at a power/);
    const at = (powerW: number): Estimate => steadyTemperature(model, { powerW, ambientC: 23 });
    expect(halfWidth(at(60))).toBeGreaterThan(2 * halfWidth(at(85)));
    expect(halfWidth(at(120))).toBeGreaterThan(2 * halfWidth(at(85)));
    expect(at(85)).toMatchObject({ extrapolated: false });
    expect(at(120)).toMatchObject({ extrapolated: true });
  });

  test('from two powers it is fitted, and both count as tested', () => {
    const model = fitCooler([loadRun(16), loadRun(17, { loadW: 60, label: 'low' })]);
    expect(model.resistanceLaw.exponentSource).toBe('fitted');
    expect(codesOf(model)).not.toContain('assumed-power-exponent');
    // The data are linear: 0, within three standard errors, and these are small.
    expect(Math.abs(model.resistanceLaw.powerExponent)).toBeLessThan(
      3 * model.resistanceLaw.exponentStandardError,
    );
    expect(model.resistanceLaw.exponentStandardError).toBeLessThan(0.02);
    for (const powerW of [60, 70, 85])
      expect(steadyTemperature(model, { powerW, ambientC: 23 })).toMatchObject({ extrapolated: false });
    expect(model.resistanceLaw.atPowerW).toBeCloseTo(Math.sqrt(60 * 85), 1);
    expect(model.runLabels).toEqual(['known', 'low']);
  });

  test('a convection that improves with power comes back as the exponent it was simulated with', () => {
    const truth = modelWith(twoStages, { powerExponent: 0.09, atPowerW: 75, airTimeConstantS: 150 });
    const runs = [60, 90].map((loadW) => {
      const timeS = everyS(1, 1500);
      const powerW = timeS.map((t) => (t <= 30 ? 10 : loadW));
      const temperatureC = simulateTemperature(truth, { timeS, powerW, ambientC: 22, startPowerW: 10 });
      return makeRun({ timeS, powerW, temperatureC }, { label: `${loadW} W`, conditions: { ambientC: 22 } });
    });
    const model = fitCooler(runs, { atPowerW: 75 });
    expect(model.resistanceLaw.powerExponent).toBeCloseTo(0.09, 3);
    expect(numberOf(model.thermalResistanceKPerW)).toBeCloseTo(0.52, 3);
  });

  test('a fixed exponent is used as given and adds no width', () => {
    const model = fitCooler(loadRun(15), { powerExponent: 0.05 });
    expect(model.resistanceLaw).toMatchObject({ powerExponent: 0.05, exponentStandardError: 0 });
    expect(codesOf(model)).not.toContain('assumed-power-exponent');
  });
});

describe('what is wrong with a log', () => {
  test('a gap starts the record anew: nothing is bridged, whatever happened in it', () => {
    // In the gap the load was off for twenty seconds, which nobody logged.
    const whole = loadRun(18, {
      timeS: everyS(1, 1500),
      powerSteps: [
        { atS: 30, powerW: 85 },
        { atS: 602, powerW: 10 },
        { atS: 622, powerW: 85 },
      ],
    });
    const keep = (values: Float64Array): Float64Array =>
      values.filter((_, i) => !(whole.timeS[i] > 600 && whole.timeS[i] < 625));
    const run = makeRun(
      { timeS: keep(whole.timeS), temperatureC: keep(whole.temperatureC), powerW: keep(whole.powerW) },
      { label: 'gap', conditions: whole.conditions },
    );
    const model = fitCooler(run, { powerExponent: 0 });
    const finding = model.findings.find(({ code }) => code === 'gap-new-start');
    expect(finding).toMatchObject({ count: 1, severity: 'note' });
    expect(finding?.message).toMatch(/1 gap; each stretch after a gap was fitted with a start of its own/);
    expect(model.starts.map((start) => start.firstIndex)).toEqual([0, 601]);
    expect(model.starts.map((start) => start.startPowerW.length)).toEqual([1, model.stages.length]);
    expect(codesOf(model)).not.toContain('structured-residuals');
    expectPoles(model, twoStages, 0.15);
    expect(Math.abs(numberOf(model.thermalResistanceKPerW) - 0.52)).toBeLessThan(0.003);
  });

  test('spikes get no weight: counted, and the answer is the one without them', () => {
    const clean = loadRun(19);
    const temperatureC = clean.temperatureC.slice();
    for (const [index, jumpK] of [
      [200, 30],
      [500, -25],
      [501, 40],
      [900, 12],
    ])
      temperatureC[index] += jumpK;
    const spiked = fitCooler({ ...clean, temperatureC }, { powerExponent: 0 });
    const plain = fitCooler(clean, { powerExponent: 0 });
    expect(spiked.findings.find(({ code }) => code === 'spikes-left-out')).toMatchObject({
      count: 4,
      severity: 'note',
    });
    expect(codesOf(plain)).not.toContain('spikes-left-out');
    // Four samples of 1,200 fewer: far less than the noise leaves open.
    polesOf(plain).timeConstantsS.forEach((timeConstantS, k) => {
      expect(Math.abs(polesOf(spiked).timeConstantsS[k] / timeConstantS - 1)).toBeLessThan(5e-3);
    });
    expect(numberOf(spiked.thermalResistanceKPerW) / numberOf(plain.thermalResistanceKPerW)).toBeCloseTo(
      1,
      4,
    );
  });

  test('a run that ends before the steady state is said to be extrapolated', () => {
    const model = fitCooler(loadRun(20, { timeS: everyS(1, 300) }));
    const finding = model.findings.find(({ code }) => code === 'steady-state-not-reached');
    expect(finding?.message).toMatch(/% of the final rise was not seen/);
    expect(finding?.remedy).toMatch(/at least one run of \d+ minutes/);
  });

  test('a run shorter than its slowest time constant makes a guess of it, and says so', () => {
    const model = fitCooler(
      loadRun(21, {
        timeS: everyS(1, 300),
        poles: [{ timeConstantS: 500, resistanceKPerW: 0.5 }],
        noiseK: noNoise,
      }),
      { powerExponent: 0, stageCount: 1, sensorLag: false },
    );
    expect(model.findings.find(({ code }) => code === 'time-constant-beyond-run')).toMatchObject({
      severity: 'serious',
    });
  });

  test('a fan that changed its speed is a finding, and another where that was fitted', () => {
    const run = loadRun(22);
    const fanSpeedRpm = run.timeS.map((t) => (t < 600 ? 1200 : 1500));
    const averaged = fitCooler({ ...run, fanSpeedRpm }, { fitFanSpeed: false });
    const finding = averaged.findings.find(({ code }) => code === 'fan-speed-changed');
    expect(finding?.message).toMatch(/from 1200 to 1500 rpm/);
    const fitted = fitCooler({ ...run, fanSpeedRpm });
    expect(fitted.findings.find(({ code }) => code === 'fan-speed-fitted')?.message).toMatch(
      /from 1200 to 1500 rpm and was fitted/,
    );
    // This fan changed nothing, and the fit says so.
    expect(fitted.fanCurve?.convectionKPerW).toBeLessThan(0.02);
    expect(codesOf(fitCooler({ ...run, fanSpeedRpm: run.timeS.map(() => 1200) }))).not.toContain(
      'fan-speed-changed',
    );
  });
});

describe('several runs', () => {
  test('of two mounts: the model stands for their middle and its interval holds their spread', () => {
    const mounted = (seed: number, mount: string, factor: number): Run =>
      loadRun(seed, {
        label: mount,
        conditions: { mount },
        poles: twoStages.map((pole) => ({ ...pole, resistanceKPerW: factor * pole.resistanceKPerW })),
      });
    const model = fitCooler([mounted(23, 'first', 1.03), mounted(24, 'remounted', 1 / 1.03)]);
    expect(model.findings.find(({ code }) => code === 'several-mounts')?.message).toMatch(
      /2 mounts of the cooler \(first, remounted\); their resistances differ by (5\.\d+|6|6\.\d+) %/,
    );
    expect(model.starts.map((start) => start.mountFactor)[0]).toBeCloseTo(1.03, 2);
    expect(model.starts[0].mountFactor * model.starts[1].mountFactor).toBeCloseTo(1, 12);
    expect(Math.abs(numberOf(model.thermalResistanceKPerW) - 0.52)).toBeLessThan(0.003);
    expect(halfWidth(model.thermalResistanceKPerW)).toBeGreaterThan(0.03 * 0.52);
    // A single mount says nothing of the spread.
    const single = fitCooler([mounted(23, 'first', 1.03), { ...mounted(24, 'first', 1.03), label: 'again' }]);
    expect(halfWidth(single.thermalResistanceKPerW)).toBeLessThan(0.03 * 0.52);
    expect(codesOf(single)).not.toContain('several-mounts');
  });

  test.each([
    ['cooler', 'flat 41 mm', 'tower 88 mm'],
    ['enclosure', 'open bench', 'drawer'],
    ['processor', 'twelve cores', 'sixteen cores'],
  ] as const)('of different %ss are refused, with the call that separates them', (key, a, b) => {
    const runs = [a, b].map((name) => loadRun(25, { label: name, conditions: { [key]: name } }));
    expect(() => fitCooler(runs)).toThrow(
      `fitCooler: \`runs\` must be runs with one ${key} (received "${a}, ${b}"); fit each group of groupRuns(runs, '${key}') on its own`,
    );
  });
});

describe('a model', () => {
  const runs = [loadRun(26), loadRun(27, { loadW: 60, label: 'low', logAmbient: true })];

  test('survives JSON', () => {
    const model = fitCooler(runs);
    expect(JSON.parse(JSON.stringify(model))).toStrictEqual(model);
  });

  test('is the same every time, and the runs stay as they were', () => {
    const before = structuredClone(runs);
    const model = fitCooler(runs);
    expect(runs).toEqual(before);
    expect(fitCooler(runs)).toEqual(model);
  });

  test('does not depend on whether a constant room is logged or stated', () => {
    const stated = fitCooler(loadRun(28));
    const logged = fitCooler(loadRun(28, { logAmbient: true }));
    expect(polesOf(logged).timeConstantsS[0] / polesOf(stated).timeConstantsS[0]).toBeCloseTo(1, 9);
    expect(numberOf(logged.thermalResistanceKPerW)).toBeCloseTo(numberOf(stated.thermalResistanceKPerW), 9);
    // A number noted once is worth less than a thermometer beside the run.
    expect(halfWidth(stated.thermalResistanceKPerW)).toBeGreaterThan(
      halfWidth(logged.thermalResistanceKPerW),
    );
  });

  test('takes its names from the conditions, and its label from the options first', () => {
    const run = loadRun(29, {
      conditions: { cooler: 'tower 88 mm', processor: 'twelve cores', enclosure: 'drawer' },
    });
    expect(fitCooler(run)).toMatchObject({
      kind: 'cooler-model',
      method: 'transient',
      label: 'tower 88 mm',
      cooler: 'tower 88 mm',
      processor: 'twelve cores',
      enclosure: 'drawer',
    });
    expect(fitCooler(run, { label: 'ours' }).label).toBe('ours');
    expect(fitCooler(loadRun(29)).label).toBe('known');
  });

  test('names the parameters of its covariance, a symmetric matrix with positive variances', () => {
    const { covariance } = fitCooler(runs);
    expect(covariance.parameters).toContain('logTimeConstantS[1]');
    expect(covariance.parameters).toContain('powerExponent');
    expect(covariance.parameters).toContain('startPowerW[low]');
    expect(covariance.parameters.at(-1)).toBe('resistanceKPerW[2]');
    expect(covariance.matrix).toHaveLength(covariance.parameters.length);
    covariance.matrix.forEach((row, a) => {
      expect(row[a]).toBeGreaterThan(0);
      row.forEach((value, b) => {
        expect(Math.abs(value - covariance.matrix[b][a])).toBeLessThanOrEqual(
          1e-6 * Math.sqrt(row[a] * covariance.matrix[b][b]),
        );
      });
    });
  });
});

describe('what cannot be fitted is refused', () => {
  const run = loadRun(30);
  const constant = (changes: Partial<Parameters<typeof makeRun>[0]> = {}, ambientC?: number): Run => {
    const timeS = everyS(1, 600);
    return makeRun(
      {
        timeS,
        powerW: timeS.map(() => 80),
        temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))),
        ...changes,
      },
      { label: 'constant', ...(ambientC === undefined ? {} : { conditions: { ambientC } }) },
    );
  };

  test('no run', () => {
    expect(() => fitCooler([])).toThrow('fitCooler: `runs` must be one run or more (received an array of 0)');
  });

  test('constant power and unknown air: says that the two cannot be told apart, and what to give', () => {
    expect(() => fitCooler(constant())).toThrow(
      /^fitCooler: `runs` must be runs with a known air temperature .*run \\?"constant\\?" with neither an air column nor conditions\.ambientC.*; an unknown room and the thermal resistance are told apart only by large changes of power: measure the air at the intake and give it as conditions: \{ ambientC: … \}/,
    );
  });

  test('one sample: refused where the run is made, with the way for averages', () => {
    expect(() => makeRun({ timeS: [0], temperatureC: [60], powerW: [80] }, { label: 'one' })).toThrow(
      /at least two samples .*coolerFromSteadyPoints/,
    );
  });

  test('a handful of samples', () => {
    const few = makeRun(
      { timeS: [0, 1, 2], temperatureC: [22, 30, 35], powerW: [80, 80, 80] },
      { label: 'few', conditions: { ambientC: 22 } },
    );
    expect(() => fitCooler(few)).toThrow(
      'fitCooler: `runs` must be runs with at least 20 samples without a gap (received "run \\"few\\" with 3"); leave it out; log at about 1 Hz for 10 minutes or more, or use coolerFromSteadyPoints for averages',
    );
  });

  test('no power', () => {
    expect(() => fitCooler(constant({ powerW: everyS(1, 600).map(() => 0) }, 22))).toThrow(
      /^fitCooler: `runs` must be runs with a package power above 0 W .*run .*constant.* without any load.*; check the power column and its unit$/,
    );
  });

  test('NaN in a column, where the run is made and in one made by hand', () => {
    const timeS = everyS(1, 600);
    expect(() => constant({ temperatureC: timeS.map((t) => (t === 7 ? Number.NaN : 50)) }, 22)).toThrow(
      /makeRun: `samples\.temperatureC\[7\]` must be a temperature/,
    );
    const temperatureC = run.temperatureC.slice();
    temperatureC[400] = Number.NaN;
    expect(() => fitCooler({ ...run, temperatureC })).toThrow(
      /`runs\[0\]\.temperatureC\[400\]` must be a finite number \(received NaN\); make run "known" with makeRun or parseRun/,
    );
    const powerW = run.powerW.slice();
    powerW[400] = Number.NaN;
    expect(() => fitCooler({ ...run, powerW })).toThrow(/`runs\[0\]\.powerW\[400\]` must be a finite number/);
  });

  test('a temperature that does not follow the power: every candidate is named with its reason', () => {
    const timeS = everyS(1, 600);
    const cold = constant({ temperatureC: timeS.map((t) => 15 + Math.sin(t / 7)) }, 22);
    expect(() => fitCooler(cold)).toThrow(NumericalError);
    expect(() => fitCooler(cold)).toThrow(
      /^fitCooler: no model with 1, 2, 3 stages describes the runs "constant" \(the temperature does not rise with the power.*\); look at the pictures of the runs/,
    );
  });

  test.each([
    [{ maxStageCount: 0 }, 'options.maxStageCount', 'a whole number from 1 to 4', '0'],
    [{ maxStageCount: 5 }, 'options.maxStageCount', 'a whole number from 1 to 4', '5'],
    [{ maxStageCount: 1.5 }, 'options.maxStageCount', 'a whole number from 1 to 4', '1.5'],
    [{ stageCount: 0 }, 'options.stageCount', 'a whole number from 1 to 4', '0'],
    [{ stageCount: 2.5 }, 'options.stageCount', 'a whole number from 1 to 4', '2.5'],
    [{ powerExponent: 0.6 }, 'options.powerExponent', 'a finite number at least -0.2 and at most 0.4', '0.6'],
    [
      { powerExponent: Number.NaN },
      'options.powerExponent',
      'a finite number at least -0.2 and at most 0.4',
      'NaN',
    ],
    [{ atPowerW: 0 }, 'options.atPowerW', 'a finite number above 0', '0'],
  ])('the option %j', (options, argument, expected, received) => {
    expect(() => fitCooler(run, options)).toThrow(
      `fitCooler: \`${argument}\` must be ${expected} (received ${received})`,
    );
  });
});
