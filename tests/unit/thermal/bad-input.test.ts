// What nobody should log and somebody does: each ends in an error or a finding that says so, never in a crash or in a
// number without a word.
import { describe, expect, test } from 'vitest';
import { ArgumentError, NumericalError } from '../../../toolkit/errors.js';
import { parseRun } from '../../../toolkit/logs/read/parse-run.js';
import { seededRandom } from '../../../toolkit/numerics/random.js';
import type { Finding } from '../../../toolkit/runs/finding.js';
import { type MakeRunOptions, makeRun, type RunColumns } from '../../../toolkit/runs/make-run.js';
import type { Run } from '../../../toolkit/runs/run.js';
import { loadSegments } from '../../../toolkit/runs/segments/load-segments.js';
import { steadyWindow } from '../../../toolkit/runs/segments/steady-window.js';
import { burstPower } from '../../../toolkit/thermal/burst/burst-power.js';
import { timeToLimit } from '../../../toolkit/thermal/burst/time-to-limit.js';
import { bootstrapCooler } from '../../../toolkit/thermal/check/bootstrap.js';
import { simulationCheck } from '../../../toolkit/thermal/check/simulation-check.js';
import { compareCoolers } from '../../../toolkit/thermal/compare/compare-coolers.js';
import type { CoolerModel } from '../../../toolkit/thermal/cooler-model.js';
import { fitCooler } from '../../../toolkit/thermal/fit/fit-cooler.js';
import type { Forecast } from '../../../toolkit/thermal/forecast/forecast.js';
import { forecastSteady } from '../../../toolkit/thermal/forecast/forecast-steady.js';
import { steadyTemperature } from '../../../toolkit/thermal/steady-temperature.js';
import { everyS, knownRun } from './known-cooler.js';

const random = seededRandom(41);
const good = knownRun({
  timeS: everyS(1, 900),
  poles: [
    { timeConstantS: 6, resistanceKPerW: 0.12 },
    { timeConstantS: 150, resistanceKPerW: 0.4 },
  ],
  startPowerW: 10,
  powerSteps: [{ atS: 30, powerW: 85 }],
  noiseK: () => 0.2 * random.normal(),
});
const { timeS, powerW, temperatureC } = good;

const changed = (changes: Partial<RunColumns>, options: Partial<MakeRunOptions> = {}): Run =>
  makeRun(
    { timeS, powerW, temperatureC, ...changes },
    { label: 'bad', conditions: { ambientC: 22 }, ...options },
  );
const withValue = (column: Float64Array, index: number, value: number): Float64Array =>
  column.map((kept, i) => (i === index ? value : kept));
const find = (findings: readonly Finding[], code: string): Finding | undefined =>
  findings.find((finding) => finding.code === code);
/** Everything a person sees of a run and its fit. */
const codesOfBoth = (run: Run): string[] =>
  [...run.findings, ...fitCooler(run).findings].map(({ severity, code }) => `${severity} ${code}`);

test('the run all of these are made from is fine', () => {
  expect(codesOfBoth(changed({}))).toEqual(['note assumed-power-exponent']);
});

describe('values that are no numbers', () => {
  const columns = { timeS, powerW, temperatureC };

  test.each(
    (['timeS', 'powerW', 'temperatureC'] as const).flatMap((name) =>
      [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY].map((value) => [name, value] as const),
    ),
  )('%s of %d is refused, with column and sample', (name, value) => {
    const make = (): Run => changed({ [name]: withValue(columns[name], 400, value) });
    expect(make).toThrow(ArgumentError);
    expect(make).toThrow(`makeRun: \`samples.${name}[400]\` must be`);
    expect(make).toThrow(`(received ${value}); correct the value or leave the whole sample out`);
  });

  test('in a log such rows are left out, with their lines, and the rest is fitted as it is', () => {
    const cells = Array.from(timeS, (t, i) => `${t},${temperatureC[i]},${powerW[i]}`);
    const [nan, infinite, overflowing] = [200, 300, 400];
    cells[nan] = `200,NaN,85`;
    cells[infinite] = `300,inf,85`;
    cells[overflowing] = `400,60,1e999`;
    const run = parseRun(['time_s,temp_c,power_w', ...cells].join('\n'), { conditions: { ambientC: 22 } });
    expect(run.timeS).toHaveLength(timeS.length - 3);
    const lines = run.findings
      .filter(({ code }) => code.startsWith('row-'))
      .flatMap((finding) => finding.lines ?? [])
      .sort((a, b) => a - b);
    expect(lines).toEqual([nan + 2, infinite + 2, overflowing + 2]);
    // 3 of 901 samples fewer.
    expect(fitCooler(run).resistanceLaw.thermalResistanceKPerW).toBeCloseTo(
      fitCooler(good).resistanceLaw.thermalResistanceKPerW,
      3,
    );
  });
});

describe('columns that never move', () => {
  const held = (value: number): Float64Array => timeS.map(() => value);

  test('a temperature that does not answer a step of power is a finding, and no cooler is made of it', () => {
    // The reading hangs from the start, through the step at 30 s.
    const run = changed({ temperatureC: held(50) });
    expect(find(run.findings, 'stuck-sensor')?.message).toMatch(
      /The temperature repeats one reading for 900 s/,
    );
    expect(() => fitCooler(run)).toThrow(NumericalError);
    expect(() => fitCooler(run)).toThrow(/no model .*describes .*does the temperature follow it\?$/);
  });

  test('a temperature at the air’s is refused: there is no rise', () => {
    expect(() => fitCooler(changed({ temperatureC: held(22) }))).toThrow(
      /the temperature does not rise with the power/,
    );
  });

  test('a power that never moves while the temperature goes from idle to load is no silent fit', () => {
    // The load begins at 30 s, which a power stuck at 85 W does not show.
    expect(codesOfBoth(changed({ powerW: held(85) }))).toContain('serious structured-residuals');
  });

  test('no power at all is refused', () => {
    expect(() => fitCooler(changed({ powerW: held(0) }))).toThrow(
      /runs with a package power above 0 W .*without any load.*; check the power column and its unit/,
    );
  });
});

describe('time that runs back', () => {
  test('throughout: refused', () => {
    expect(() => changed({ timeS: timeS.slice().reverse() })).toThrow(
      /makeRun: `samples\.timeS` must be at least two samples with different time stamps/,
    );
    const rows = Array.from(timeS, (t, i) => `${900 - t},${temperatureC[i]},${powerW[i]}`);
    expect(() => parseRun(['time_s,temp_c,power_w', ...rows].join('\n'))).toThrow(
      /column 1: "time_s" never increases/,
    );
  });

  test('in places: the fewest samples are left out and counted, and the fit is that of the rest', () => {
    const run = changed({ timeS: withValue(withValue(timeS, 300, 100), 500, 499) });
    expect(find(run.findings, 'backward-time')).toMatchObject({ count: 1 });
    expect(find(run.findings, 'duplicate-time')).toMatchObject({ count: 1 });
    expect(run.timeS).toHaveLength(timeS.length - 2);
    expect(fitCooler(run).resistanceLaw.thermalResistanceKPerW).toBeCloseTo(
      fitCooler(good).resistanceLaw.thermalResistanceKPerW,
      3,
    );
  });
});

describe('hardly any samples', () => {
  const three = makeRun(
    { timeS: [0, 1, 2], powerW: [80, 80, 80], temperatureC: [22, 30, 35] },
    { label: 'three', conditions: { ambientC: 22 } },
  );

  test('three samples: no cooler, no steady state, and both say why', () => {
    expect(() => fitCooler(three)).toThrow(
      /at least 20 samples without a gap .*; log at about 1 Hz for 10 minutes or more/,
    );
    expect(steadyWindow(three)).toMatchObject({ verdict: 'too-short' });
    expect(loadSegments(three).segments).toHaveLength(1);
  });
});

describe('units that cannot be', () => {
  test('milliwatts taken for watts: a serious finding that names them', () => {
    const finding = find(changed({ powerW: powerW.map((p) => 1000 * p) }).findings, 'implausible-range');
    expect(finding).toMatchObject({ severity: 'serious' });
    expect(finding?.message).toMatch(/The power reaches 85000 W/);
    expect(finding?.remedy).toMatch(/makes it 85 W, .* units: \{ power: 'mW' \}/);
  });

  test('kilowatts taken for watts: a serious finding that names them', () => {
    const finding = find(changed({ powerW: powerW.map((p) => p / 1000) }).findings, 'implausible-range');
    expect(finding).toMatchObject({ severity: 'serious' });
    expect(finding?.message).toMatch(/The power reaches 0\.085 W/);
    expect(finding?.remedy).toMatch(/makes it 85 W, .* units: \{ power: 'kW' \}/);
  });

  test('milliseconds taken for seconds: a serious finding that names them', () => {
    const finding = find(changed({ timeS: timeS.map((t) => 1000 * t) }).findings, 'implausible-range');
    expect(finding).toMatchObject({ severity: 'serious' });
    expect(finding?.remedy).toMatch(/units: \{ time: 'ms' \}/);
  });

  test('kelvin taken for degrees Celsius: a serious finding that names it', () => {
    const finding = find(
      changed({ temperatureC: temperatureC.map((t) => t + 273.15) }).findings,
      'implausible-range',
    );
    expect(finding).toMatchObject({ severity: 'serious' });
    expect(finding?.remedy).toMatch(/units: \{ temperature: 'K' \}/);
  });

  test.each(['temperatureC', 'ambientC'] as const)('a %s below absolute zero is refused', (name) => {
    expect(() => changed({ [name]: timeS.map((_, i) => (i === 7 ? -273.2 : 22)) })).toThrow(
      `makeRun: \`samples.${name}[7]\` must be a temperature above absolute zero, degrees Celsius (received -273.2)`,
    );
  });

  test('in a log such a row is left out, with its line', () => {
    const run = parseRun('time_s,temp_c,power_w\n0,40,50\n1,-300,50\n2,41,50');
    expect(Array.from(run.timeS)).toEqual([0, 2]);
    expect(find(run.findings, 'row-unreadable-value')).toMatchObject({ lines: [3] });
  });

  test('a negative power is refused', () => {
    expect(() => changed({ powerW: powerW.map((p) => -p) })).toThrow(
      /`samples\.powerW\[0\]` must be a power of at least 0 W \(received -10\)/,
    );
  });
});

describe('a temperature that falls under load', () => {
  test('as columns taken for one another do: a serious finding names it', () => {
    const mirrored = temperatureC.map((t) => 94 - t);
    const run = changed({ temperatureC: mirrored });
    expect(find(run.findings, 'temperature-against-power')).toMatchObject({ severity: 'serious' });
    expect(codesOfBoth(run)).toContain('serious structured-residuals');
  });

  test('below the air: a finding says that no cooler does that, and none is made of it', () => {
    const run = changed({ temperatureC: temperatureC.map((t) => 44 - t) });
    expect(find(run.findings, 'below-ambient')).toMatchObject({ severity: 'serious' });
    expect(() => fitCooler(run)).toThrow(/the temperature does not rise with the power/);
  });

  test('slowly, after a start warmer than the load holds: whatever is fitted is marked', () => {
    const run = changed({
      temperatureC: timeS.map((t) => 60 - 20 * (1 - Math.exp(-Math.max(0, t - 30) / 100))),
    });
    expect(codesOfBoth(run).filter((code) => code.startsWith('serious'))).not.toEqual([]);
  });
});

describe('a run put together by hand, past makeRun', () => {
  const cases: readonly [string, Partial<Run>, RegExp][] = [
    [
      'NaN in the temperature',
      { temperatureC: withValue(temperatureC, 400, Number.NaN) },
      /temperatureC\[400\]` must be a finite number \(received NaN\); make run "known" with makeRun or parseRun/,
    ],
    [
      'an infinite power',
      { powerW: withValue(powerW, 400, Number.POSITIVE_INFINITY) },
      /powerW\[400\]` must be a finite number \(received Infinity\)/,
    ],
    [
      'NaN in the air',
      { ambientC: timeS.map((_, i) => (i === 5 ? Number.NaN : 22)) },
      /ambientC\[5\]` must be a finite number/,
    ],
    [
      'time that runs back',
      { timeS: timeS.slice().reverse() },
      /timeS\[1\]` must be later than the sample before, at 900 s \(received 899\)/,
    ],
    [
      'columns of different lengths',
      { powerW: powerW.subarray(0, 500) },
      /powerW` must be of length 901, one value a sample \(received "500 of them"\)/,
    ],
    [
      'a temperature below absolute zero',
      { temperatureC: withValue(temperatureC, 400, -300) },
      /temperatureC\[400\]` must be a temperature above absolute zero \(received -300\)/,
    ],
  ];
  const model = fitCooler(good);

  test.each(cases)('%s is refused by fit, forecast and checks', async (_, changes, message) => {
    const run: Run = { ...good, ...changes };
    expect(() => fitCooler(run)).toThrow(message);
    expect(() => forecastSteady(run)).toThrow(message);
    await expect(bootstrapCooler(model, run, { count: 20 })).rejects.toThrow(message);
    await expect(simulationCheck(model, run, { count: 20 })).rejects.toThrow(message);
  });
});

describe('a forecast from a log that is wrong', () => {
  const seriousCodes = (forecast: Forecast): string[] =>
    forecast.findings.filter(({ severity }) => severity === 'serious').map(({ code }) => code);
  const summaryOf = (forecast: Forecast): string =>
    forecast.kind === 'forecast' ? forecast.summary : forecast.reason;

  test.each([
    ['milliwatts taken for watts', changed({ powerW: powerW.map((p) => 1000 * p) }), 'implausible-range'],
    ['kilowatts taken for watts', changed({ powerW: powerW.map((p) => p / 1000) }), 'implausible-range'],
    [
      'a temperature that falls under load',
      changed({ temperatureC: temperatureC.map((t) => 94 - t) }),
      'temperature-against-power',
    ],
    ['a temperature that never moves', changed({ temperatureC: timeS.map(() => 50) }), 'stuck-sensor'],
  ])('carries what is wrong: %s', (_, run, code) => {
    const forecast = forecastSteady(run);
    expect(seriousCodes(forecast)).toContain(code);
    expect(summaryOf(forecast)).toMatch(/^Provisional, see the findings of the run\. Steady at/);
  });

  test('says why there is none without power, and with three samples', () => {
    expect(summaryOf(forecastSteady(changed({ powerW: timeS.map(() => 0) })))).toBe(
      'The power is 0 W throughout: check the power column; nothing can be said of a load.',
    );
    const three = makeRun(
      { timeS: [0, 1, 2], powerW: [80, 80, 80], temperatureC: [22, 30, 35] },
      { label: 'three', conditions: { ambientC: 22 } },
    );
    expect(summaryOf(forecastSteady(three))).toMatch(/^The load has lasted 2 s, with 3 samples/);
  });
});

describe('a model that was changed by hand', () => {
  const model = fitCooler(changed({}));
  const { poles } = model;
  if (poles === undefined) throw new Error('the good run has stages');
  const withPoles = (changes: Partial<typeof poles>): CoolerModel => ({
    ...model,
    poles: { ...poles, ...changes },
  });
  const withLaw = (changes: Partial<CoolerModel['resistanceLaw']>): CoolerModel => ({
    ...model,
    resistanceLaw: { ...model.resistanceLaw, ...changes },
  });
  const scenario = { limitC: 85, ambientC: 22 };
  const questions: readonly [string, string, (asked: CoolerModel) => unknown][] = [
    ['compareCoolers', 'models[1]', (asked) => compareCoolers([model, asked], { powerW: 80, ambientC: 22 })],
    ['timeToLimit', 'model', (asked) => timeToLimit(asked, { ...scenario, powerW: 200 })],
    ['burstPower', 'model', (asked) => burstPower(asked, { ...scenario, durationS: 60 })],
    ['steadyTemperature', 'model', (asked) => steadyTemperature(asked, { powerW: 80, ambientC: 22 })],
  ];
  const damages: readonly [string, CoolerModel][] = [
    [
      'poles.timeConstantsS[0]` must be a finite number above 0 (received NaN)',
      withPoles({ timeConstantsS: [Number.NaN, 150] }),
    ],
    [
      'poles.resistancesKPerW[1]` must be a finite number at least 0 (received NaN)',
      withPoles({ resistancesKPerW: [0.12, Number.NaN] }),
    ],
    [
      'poles.resistancesKPerW[1]` must be a finite number at least 0 (received undefined)',
      withPoles({ resistancesKPerW: [0.12] }),
    ],
    [
      'resistanceLaw.thermalResistanceKPerW` must be a finite number above 0 (received NaN)',
      withLaw({ thermalResistanceKPerW: Number.NaN }),
    ],
    [
      'resistanceLaw.powerExponent` must be a finite number (received NaN)',
      withLaw({ powerExponent: Number.NaN }),
    ],
    ['resistanceLaw.atPowerW` must be a finite number above 0 (received 0)', withLaw({ atPowerW: 0 })],
  ];

  test.each(
    questions.flatMap(([caller, argument, ask]) =>
      damages.map(([message, damaged]) => [caller, argument, message, damaged, ask] as const),
    ),
  )('%s refuses %s.%s', (caller, argument, message, damaged, ask) => {
    expect(() => ask(damaged)).toThrow(ArgumentError);
    expect(() => ask(damaged)).toThrow(`${caller}: \`${argument}.${message}; make one with fitCooler`);
  });

  test.each(questions)('%s answers of one that was not', (_, __, ask) => {
    expect(() => ask({ ...(JSON.parse(JSON.stringify(model)) as CoolerModel), label: 'copy' })).not.toThrow();
  });
});
