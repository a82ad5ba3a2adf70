import { describe, expect, test } from 'vitest';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { FIT_POWER_CURVE_DEFAULTS, fitPowerCurve } from '../../../../toolkit/power/fit/fit-power-curve.js';
import { frequencyAt, frequencyFunction, powerAt } from '../../../../toolkit/power/predict/frequency-at.js';
import { makeRun, type RunColumns } from '../../../../toolkit/runs/make-run.js';
import type { Conditions, Run } from '../../../../toolkit/runs/run.js';
import {
  drawProcessor,
  frequencyOf,
  type SyntheticRunOptions,
  syntheticRun,
} from '../synthetic-processor.js';

const processor = drawProcessor(seededRandom(5));

function runAt(powerCapW: number, more: Partial<SyntheticRunOptions> & { seed?: number } = {}): Run {
  return syntheticRun(processor, {
    powerCapW,
    thermalResistanceKPerW: 0.45,
    ambientC: 22,
    durationS: 800,
    random: seededRandom(more.seed ?? powerCapW),
    ...more,
  });
}

function changed(run: Run, columns: Partial<RunColumns>, conditions: Partial<Conditions> = {}): Run {
  const { label, timeS, temperatureC, powerW, frequencyMHz, throughputPerS } = run;
  return makeRun(
    {
      timeS,
      temperatureC,
      powerW,
      ...(frequencyMHz && { frequencyMHz }),
      ...(throughputPerS && { throughputPerS }),
      ...columns,
    },
    { label, conditions: { ...run.conditions, ...conditions } },
  );
}

const codes = (curve: { readonly findings: readonly { readonly code: string }[] }): string[] =>
  curve.findings.map(({ code }) => code);

describe('runs at three caps', () => {
  const runs = [118, 95, 72].map((cap) => runAt(cap));
  const curve = fitPowerCurve(runs);

  test('give the frequency at an untested cap inside the tested range', () => {
    const at = { powerW: 106, temperatureC: 70 };
    const answer = frequencyAt(curve, at);
    const truth = frequencyOf(processor, at.powerW, at.temperatureC);
    if (answer.kind !== 'estimated') throw new Error('not estimated');
    expect(answer.extrapolated).toBe(false);
    expect(truth).toBeGreaterThan(answer.interval95[0]);
    expect(truth).toBeLessThan(answer.interval95[1]);
    // Three caps over a ratio of 1.6 are worth better than 1 %.
    expect(answer.interval95[1] - answer.interval95[0]).toBeLessThan(0.01 * truth);
  });

  test('reproduce the fall of frequency with temperature at a held cap', () => {
    const slope = curve.frequencyPerTemperatureMHzPerK;
    if (slope.kind !== 'estimated') throw new Error('not estimated');
    expect(slope.value).toBeLessThan(0);
    expect(slope.interval95[1]).toBeLessThan(0);
    const { temperatureC } = curve.testedRange;
    const middleC = (temperatureC[0] + temperatureC[1]) / 2;
    const quarterK = (temperatureC[1] - temperatureC[0]) / 4;
    const powerW = curve.parameters['referencePowerW'];
    const truth =
      (frequencyOf(processor, powerW, middleC + quarterK) -
        frequencyOf(processor, powerW, middleC - quarterK)) /
      (2 * quarterK);
    expect(truth).toBeGreaterThan(slope.interval95[0]);
    expect(truth).toBeLessThan(slope.interval95[1]);
  });

  test('are ranked beside the plain forms on the same points, weights summing to one', () => {
    expect(curve.candidates.map(({ form }) => form)).toEqual(['electro-thermal', 'power-law', 'polynomial']);
    expect(curve.candidates.reduce((sum, { weight }) => sum + weight, 0)).toBeCloseTo(1, 12);
    expect(curve.candidates.filter(({ chosen }) => chosen).map(({ form }) => form)).toEqual([
      'electro-thermal',
    ]);
    const [electroThermal, powerLaw] = curve.candidates;
    expect(electroThermal.residualRmsMHz).toBeLessThan(0.2 * powerLaw.residualRmsMHz);
    expect(electroThermal.weight).toBeGreaterThan(0.99);
    expect(electroThermal.effectiveParameterCount).toBeLessThan(electroThermal.parameterCount);
  });

  test('converge, and hold one steady point per load segment', () => {
    expect(curve.termination.converged).toBe(true);
    expect(curve.points.map(({ label, limitedBy }) => [label, limitedBy])).toEqual([
      ['118 W', 'cap'],
      ['95 W', 'cap'],
      ['72 W', 'cap'],
    ]);
    curve.points.forEach((point, i) => {
      expect(Math.abs(point.powerW - [118, 95, 72][i])).toBeLessThan(0.5);
    });
  });

  test('survive JSON with the same answers', () => {
    const again = JSON.parse(JSON.stringify(curve)) as typeof curve;
    expect(again).toEqual(curve);
    const at = { powerW: 90, temperatureC: 65 };
    expect(frequencyAt(again, at)).toEqual(frequencyAt(curve, at));
  });

  test('give the same curve twice, to the last digit, and stay as they were', () => {
    const before = runs.map((run) => Array.from(run.frequencyMHz!));
    expect(fitPowerCurve(runs)).toEqual(curve);
    expect(runs.map((run) => Array.from(run.frequencyMHz!))).toEqual(before);
  });

  test('name the step of the frequency and what rounding down would mean', () => {
    const finding = curve.findings.find(({ code }) => code === 'frequency-step');
    expect(finding?.message).toMatch(/steps of 25 MHz .* 12\.5 MHz too low/);
    expect(finding?.remedy).toMatch(/frequencyRounding: 'floor'/);
  });
});

describe('one cap alone', () => {
  const curve = fitPowerCurve([runAt(100)]);

  test('tells the effect of temperature only', () => {
    expect(curve.frequencyPerPowerMHzPerW).toEqual({ kind: 'unavailable', reason: 'not-identifiable' });
    const slope = curve.frequencyPerTemperatureMHzPerK;
    if (slope.kind !== 'estimated') throw new Error('not estimated');
    expect(slope.interval95[1]).toBeLessThan(0);
  });

  test('says what is missing', () => {
    const finding = curve.findings.find(({ code }) => code === 'one-power-level');
    expect(finding?.severity).toBe('warning');
    expect(finding?.remedy).toMatch(/second power cap at least 15 % away/);
    expect(curve.candidates.filter(({ rejected }) => rejected?.includes('power levels'))).toHaveLength(2);
  });

  test('answers at its own power and never guesses at another', () => {
    expect(frequencyAt(curve, { powerW: 100, temperatureC: 60 }).kind).toBe('estimated');
    expect(frequencyAt(curve, { powerW: 85, temperatureC: 60 })).toEqual({
      kind: 'unavailable',
      reason: 'not-identifiable',
    });
    expect(powerAt(curve, { frequencyMHz: 3500, temperatureC: 60 }).kind).toBe('unavailable');
    const frequency = frequencyFunction(curve);
    expect(frequency(100, 60)).toBeGreaterThan(3000);
    expect(() => frequency(85, 60)).toThrow(
      /frequencyFunction: `powerW` must be the one power level of this curve, .*second power cap/,
    );
  });
});

test('caps closer than 15 % are a finding', () => {
  expect(codes(fitPowerCurve([runAt(100), runAt(110)]))).toContain('narrow-power-range');
});

test('two coolers at one cap tell the effect of temperature and not that of power', () => {
  const curve = fitPowerCurve([runAt(100), runAt(100, { thermalResistanceKPerW: 0.3, seed: 8 })]);
  expect(curve.frequencyPerTemperatureMHzPerK.kind).toBe('estimated');
  expect(curve.frequencyPerPowerMHzPerW.kind).toBe('unavailable');
});

test('a floored log is put right by frequencyRounding', () => {
  const floored = [118, 80].map((cap) => {
    const run = runAt(cap, { frequencyStepMHz: 1 });
    return changed(run, { frequencyMHz: run.frequencyMHz!.map((f) => 50 * Math.floor(f / 50)) });
  });
  const at = { powerW: 118, temperatureC: 70 };
  const truth = frequencyOf(processor, at.powerW, at.temperatureC);
  const asIs = frequencyAt(fitPowerCurve(floored), at).value!;
  const corrected = fitPowerCurve(floored, { frequencyRounding: 'floor' });
  const putRight = frequencyAt(corrected, at).value!;
  expect(asIs).toBeLessThan(truth - 10);
  expect(putRight - asIs).toBeGreaterThan(20);
  expect(Math.abs(putRight - truth)).toBeLessThan(Math.abs(asIs - truth));
  expect(codes(corrected)).toContain('frequency-floored');
});

test('runs that each show one coarse reading only are taken as rounded, with half a step of doubt', () => {
  const stuck = [118, 80].map((cap) => {
    const run = runAt(cap, { frequencyStepMHz: 1 });
    const steadyMHz = run.frequencyMHz!.at(-1)!;
    return changed(run, { frequencyMHz: run.frequencyMHz!.map(() => 100 * Math.round(steadyMHz / 100)) });
  });
  const curve = fitPowerCurve(stuck);
  expect(curve.findings.find(({ code }) => code === 'frequency-step')?.message).toMatch(/steps of 100 MHz/);
  const at = { powerW: 118, temperatureC: stuck[0].temperatureC.at(-1)! };
  const answer = frequencyAt(curve, at);
  if (answer.kind !== 'estimated') throw new Error('not estimated');
  const truth = frequencyOf(processor, at.powerW, at.temperatureC);
  expect(truth).toBeGreaterThan(answer.interval95[0]);
  expect(truth).toBeLessThan(answer.interval95[1]);
  // The uniform distribution of a step has a standard deviation of 29 MHz.
  expect(answer.standardError).toBeGreaterThan(20);
  expect(answer.standardError).toBeLessThan(40);
});

test('throughput in proportion to frequency gives work per second and megahertz', () => {
  const random = seededRandom(4);
  const runs = [118, 95, 72].map((cap) => {
    const run = runAt(cap);
    const throughputPerS = run.frequencyMHz!.map((f) => 0.02 * f * (1 + 0.01 * random.normal()));
    return changed(run, { throughputPerS });
  });
  const { throughputPerMHz } = fitPowerCurve(runs);
  if (throughputPerMHz?.kind !== 'estimated') throw new Error('not estimated');
  expect(Math.abs(throughputPerMHz.value - 0.02)).toBeLessThan(3e-5);
  expect(throughputPerMHz.standardError).toBeLessThan(3e-5);
});

test('throughput that saturates is a finding and gives no constant', () => {
  const random = seededRandom(4);
  const runs = [118, 95, 72].map((cap) => {
    const run = runAt(cap);
    const throughputPerS = run.frequencyMHz!.map((f) => f ** 0.5 * (1 + 0.01 * random.normal()));
    return changed(run, { throughputPerS });
  });
  const curve = fitPowerCurve(runs);
  expect(curve.throughputPerMHz).toEqual({ kind: 'unavailable', reason: 'not-identifiable' });
  expect(curve.throughput?.form).toBe('saturating');
  expect(curve.findings.find(({ code }) => code === 'throughput-saturates')?.message).toMatch(
    /waits \d\d % of its time/,
  );
});

test('no throughput column leaves it out', () => {
  expect(fitPowerCurve([runAt(100), runAt(80)])).not.toHaveProperty('throughputPerMHz');
});

test('a run of another workload shows as lack of fit and as a finding', () => {
  const light = changed(
    runAt(80),
    { frequencyMHz: runAt(80).frequencyMHz!.map((f) => 1.12 * f) },
    { workload: 'light' },
  );
  const curve = fitPowerCurve([
    runAt(118),
    runAt(95),
    changed(runAt(80, { seed: 9 }), {}, { workload: 'full' }),
    light,
  ]);
  expect(codes(curve)).toContain('mixed-workloads');
  const finding = curve.findings.find(({ code }) => code === 'lack-of-fit');
  expect(finding?.message).toMatch(/logged \d+ MHz (above|below) the curve/);
  expect(curve.workload).toBeUndefined();
  // Nothing is narrow about a curve that misses its points.
  const answer = frequencyAt(curve, { powerW: 80, temperatureC: 55 });
  if (answer.kind !== 'estimated') throw new Error('not estimated');
  expect(answer.interval95[1] - answer.interval95[0]).toBeGreaterThan(100);
});

test('runs without a frequency column are left out with a finding', () => {
  const { timeS, temperatureC, powerW } = runAt(90);
  const silent = makeRun({ timeS, temperatureC, powerW }, { label: 'silent', conditions: { powerCapW: 90 } });
  const curve = fitPowerCurve([runAt(118), runAt(80), silent]);
  expect(curve.findings.find(({ code }) => code === 'no-frequency')?.message).toMatch(/silent/);
});

test('samples with a frequency of zero are passed over and counted', () => {
  const run = runAt(100);
  const frequencyMHz = run.frequencyMHz!.map((f, i) => (i % 50 === 10 ? 0 : f));
  const curve = fitPowerCurve([changed(run, { frequencyMHz }), runAt(80)]);
  expect(curve.findings.find(({ code }) => code === 'invalid-samples')?.count).toBe(8);
});

/** A noise-free run along given powers and temperatures, one sample per second. */
function runAlong(
  label: string,
  powerW: readonly number[],
  temperatureC: readonly number[],
  capW: number,
): Run {
  return makeRun(
    {
      timeS: powerW.map((_, i) => i),
      temperatureC,
      powerW,
      frequencyMHz: powerW.map((power, i) => Math.round(frequencyOf(processor, power, temperatureC[i]))),
    },
    { label, conditions: { powerCapW: capW } },
  );
}

test('a segment held back by temperature lies on the curve and is used', () => {
  // From 60 s on the temperature sits at 90 °C while the power sinks from 118 to 92 W.
  const times = Array.from({ length: 900 }, (_, i) => i);
  const powerW = times.map((t) => (t < 60 ? 118 : 92 + 26 * Math.exp(-(t - 60) / 200)));
  const temperatureC = times.map((t) => (t < 60 ? 90 - 45 * Math.exp(-t / 15) : 90));
  const hot = runAlong('hot', powerW, temperatureC, 118);
  const curve = fitPowerCurve([hot]);
  expect(curve.points.map(({ limitedBy }) => limitedBy)).toContain('temperature');
  // One run whose power moved tells what a watt changes.
  const answer = frequencyAt(curve, { powerW: 105, temperatureC: 88 });
  if (answer.kind !== 'estimated') throw new Error('not estimated');
  const truth = frequencyOf(processor, 105, 88);
  expect(truth).toBeGreaterThan(answer.interval95[0]);
  expect(truth).toBeLessThan(answer.interval95[1]);
});

test('a load that lacked work is left out and named', () => {
  const times = Array.from({ length: 900 }, (_, i) => i);
  // Half the cores idle from 450 s on: less power at the same frequency, far off the curve.
  const full = times.map(() => 118);
  const temperatureC = times.map((t) => 75 - 40 * Math.exp(-t / 90));
  const mixed = runAlong('mixed', full, temperatureC, 118);
  const powerW = mixed.powerW.map((power, i) => (i < 450 ? power : 70 + 6 * Math.sin(i / 40)));
  const temperatures = mixed.temperatureC.map((value, i) =>
    i < 450 ? value : 57 + 18 * Math.exp(-(i - 450) / 60),
  );
  const frequencyMHz = mixed.frequencyMHz!.map((f, i) => (i < 450 ? f : f + 40 * Math.sin(i / 9)));
  const partly = changed(mixed, { powerW, temperatureC: temperatures, frequencyMHz });
  const curve = fitPowerCurve([partly, runAt(85)]);
  expect(codes(curve)).toContain('demand-limited');
  expect(curve.points.every(({ limitedBy }) => limitedBy === 'cap')).toBe(true);
  const truth = frequencyOf(processor, 85, 58);
  expect(Math.abs(frequencyAt(curve, { powerW: 85, temperatureC: 58 }).value! - truth)).toBeLessThan(20);
});

test('noise-free runs rank the form that made them first', () => {
  const exact = [118, 88].map((powerCapW) => {
    const timeS = Array.from({ length: 600 }, (_, i) => i);
    const temperatureC = timeS.map((t) => 30 + 0.45 * powerCapW * (1 - Math.exp(-t / 90)));
    return makeRun(
      {
        timeS,
        temperatureC,
        powerW: timeS.map(() => powerCapW),
        frequencyMHz: temperatureC.map((t) => frequencyOf(processor, powerCapW, t)),
      },
      { label: `${powerCapW} W`, conditions: { powerCapW } },
    );
  });
  const curve = fitPowerCurve(exact);
  expect(curve.candidates[0].weight).toBeGreaterThan(0.99);
  expect(codes(curve)).not.toContain('plain-form-ranks-first');
});

test('a plain form can be asked for and says that it ignores temperature', () => {
  const runs = [118, 95, 72].map((cap) => runAt(cap));
  for (const form of ['power-law', 'polynomial'] as const) {
    const curve = fitPowerCurve(runs, { form });
    expect(curve.form).toBe(form);
    expect(codes(curve)).toContain('temperature-ignored');
    expect(curve.frequencyPerTemperatureMHzPerK.kind).toBe('unavailable');
    expect(frequencyAt(curve, { powerW: 95, temperatureC: 40 }).value).toBe(
      frequencyAt(curve, { powerW: 95, temperatureC: 60 }).value,
    );
    const truth = frequencyOf(processor, 95, 60);
    expect(Math.abs(frequencyAt(curve, { powerW: 95, temperatureC: 60 }).value! - truth)).toBeLessThan(120);
  }
});

test('the defaults are those of the documentation', () => {
  expect(FIT_POWER_CURVE_DEFAULTS).toEqual({ frequencyRounding: 'nearest', settleS: 5 });
});

describe('bad input', () => {
  test('no runs', () => {
    expect(() => fitPowerCurve([])).toThrow(
      /fitPowerCurve: `runs` must be an array of one run or more .*parseRun or readRun/,
    );
  });

  test('no frequency column in any run', () => {
    const { timeS, temperatureC, powerW } = runAt(90);
    expect(() => fitPowerCurve([makeRun({ timeS, temperatureC, powerW }, { label: 'silent' })])).toThrow(
      /`runs` must be runs with a frequency column \(received "silent"\); .*options\.columns\.frequency/,
    );
  });

  test('runs of different processors', () => {
    expect(() => fitPowerCurve([runAt(100), changed(runAt(80), {}, { processor: 'another' })])).toThrow(
      /must be runs of one processor \(received "synthetic, another"\); fit one curve per processor/,
    );
  });

  test('a run too short to average', () => {
    const { timeS, temperatureC, powerW, frequencyMHz } = runAt(90);
    const short = makeRun(
      {
        timeS: timeS.slice(0, 5),
        temperatureC: temperatureC.slice(0, 5),
        powerW: powerW.slice(0, 5),
        frequencyMHz: frequencyMHz!.slice(0, 5),
      },
      { label: 'short', conditions: { powerCapW: 90 } },
    );
    expect(() => fitPowerCurve([short])).toThrow(/at least two averages under load \(received 0\)/);
  });

  test('stuck sensors: one power and one temperature throughout', () => {
    const timeS = Array.from({ length: 300 }, (_, i) => i);
    const stuck = makeRun(
      {
        timeS,
        temperatureC: timeS.map(() => 60),
        powerW: timeS.map(() => 90),
        frequencyMHz: timeS.map(() => 3600),
      },
      { label: 'stuck', conditions: { powerCapW: 90 } },
    );
    expect(() => fitPowerCurve([stuck])).toThrow(
      /runs that differ in power or temperature \(received "90 W at 60 °C throughout"\); check for stuck/,
    );
  });

  test('a form that the data cannot carry', () => {
    expect(() => fitPowerCurve([runAt(100), runAt(80)], { form: 'polynomial' })).toThrow(
      /`options\.form` must be 'electro-thermal' or 'power-law' for data at 2 power levels/,
    );
  });

  test('options outside their domain', () => {
    const runs = [runAt(100), runAt(80)];
    expect(() => fitPowerCurve(runs, { settleS: -1 })).toThrow(/`options\.settleS` must be .* at least 0/);
    expect(() => fitPowerCurve(runs, { frequencyRounding: 'up' as never })).toThrow(
      /`options\.frequencyRounding` must be 'nearest' or 'floor'/,
    );
    expect(() => fitPowerCurve(runs, { assumptions: { leakageScaleK: { low: -3, high: 30 } } })).toThrow(
      /`options\.assumptions\.leakageScaleK\.low` must be a finite number above 0/,
    );
    expect(() => fitPowerCurve(runs, { assumptions: { leakage: 3 } as never })).toThrow(
      /`options\.assumptions\.leakage` must be one of exponentAboveLowest, /,
    );
  });
});
