import { describe, expect, test } from 'vitest';
import { requireValue } from '../../../../toolkit/numerics/estimates.js';
import { seededRandom } from '../../../../toolkit/numerics/random.js';
import { makeRun } from '../../../../toolkit/runs/make-run.js';
import type { Run } from '../../../../toolkit/runs/run.js';
import type { SteadyForecast } from '../../../../toolkit/thermal/forecast/forecast.js';
import {
  FORECAST_DEFAULTS,
  type ForecastSteadyOptions,
  forecastSteady,
} from '../../../../toolkit/thermal/forecast/forecast-steady.js';
import { everyS, type KnownRun, knownRun } from '../known-cooler.js';

/** An air cooler: half a kelvin per watt, the slowest stage at two minutes. */
const poles = [
  { timeConstantS: 1.5, resistanceKPerW: 0.08 },
  { timeConstantS: 15, resistanceKPerW: 0.12 },
  { timeConstantS: 120, resistanceKPerW: 0.3 },
];
/** A liquid loop: the slowest stage at six minutes. */
const loop = [
  { timeConstantS: 1.5, resistanceKPerW: 0.1 },
  { timeConstantS: 15, resistanceKPerW: 0.15 },
  { timeConstantS: 360, resistanceKPerW: 0.15 },
];

/** A minute of idling, then 90 W, in logged air of 22 °C, with noise. */
function runSoFar(endS: number, changes: Partial<KnownRun> = {}, noise = 0.15): Run {
  const random = seededRandom(5);
  return knownRun({
    timeS: everyS(1, endS),
    poles,
    startPowerW: 10,
    powerSteps: [{ atS: 60, powerW: 90 }],
    logAmbient: true,
    noiseK: () => noise * random.normal(),
    ...changes,
  });
}

function forecastOf(run: Run, options: ForecastSteadyOptions = {}): SteadyForecast {
  const forecast = forecastSteady(run, options);
  if (forecast.kind !== 'forecast') throw new Error(forecast.reason);
  return forecast;
}

function halfWidthK({ steadyTemperatureC }: SteadyForecast): number {
  if (steadyTemperatureC.kind !== 'estimated') throw new Error('estimated');
  return (steadyTemperatureC.interval95[1] - steadyTemperatureC.interval95[0]) / 2;
}

const codes = ({ findings }: { readonly findings: readonly { readonly code: string }[] }): string[] =>
  findings.map(({ code }) => code);

describe('forecastSteady', () => {
  test('finds the steady temperature of a known cooler five minutes into the load, where the readings are 3 K short', () => {
    const forecast = forecastOf(runSoFar(360));
    expect(Math.abs(requireValue(forecast.steadyTemperatureC) - 67)).toBeLessThan(0.8);
    expect(halfWidthK(forecast)).toBeGreaterThan(Math.abs(requireValue(forecast.steadyTemperatureC) - 67));
    expect(forecast.powerW).toBeCloseTo(90, 1);
    expect(forecast.ambientC).toBeCloseTo(22, 9);
    expect(forecast.loadS).toBeCloseTo(300, -1);
    expect(Math.abs(requireValue(forecast.thermalResistanceKPerW) - 0.5)).toBeLessThan(0.01);
    // Mean of the last two minutes of load: 24 K · mean of e^(−t/120 s) from 180 to 300 s short.
    const shortK = 0.3 * 80 * (Math.exp(-1.5) - Math.exp(-2.5));
    expect(Math.abs(requireValue(forecast.lastTwoMinutesC) - (67 - shortK))).toBeLessThan(0.1);
    // 2.0 of 45 K are still to come.
    expect(Math.abs(requireValue(forecast.missingRiseFraction) - 0.0475)).toBeLessThan(0.02);
  });

  test('follows convection that improves as the fins warm, at the pace of their heat capacity', () => {
    // C dT/dt = P − flow(T), flow ∝ T^(1 + p), by small steps: settled 40 K above the die's own 18 K at 90 W. An exponent
    // of 0.15 on two thirds of the rise is more than what is assumed of the whole, so that its course matters.
    const exponent = 0.15;
    const settledK = 40;
    const heatCapacityJPerK = 90 / (settledK / 360);
    const flowW = (riseK: number): number => 90 * (riseK / settledK) ** (1 + exponent);
    const timeS = everyS(1, 540);
    const powerW = timeS.map((t) => (t > 60 ? 90 : 10));
    const departuresK = [5, 6, 7, 8, 9, 10].map((seed) => {
      const random = seededRandom(seed);
      let outerK = settledK * (10 / 90) ** (1 / (1 + exponent));
      let innerK = 2;
      const temperatureC = powerW.map((power, i) => {
        for (let sub = 0; i > 0 && sub < 20; sub++)
          outerK += (0.05 * (power - flowW(outerK))) / heatCapacityJPerK;
        if (i > 0) innerK = 0.2 * power + (innerK - 0.2 * power) * Math.exp(-1 / 2.5);
        return 22 + outerK + innerK + 0.15 * random.normal();
      });
      const run = makeRun(
        { timeS, temperatureC, powerW, ambientC: timeS.map(() => 22) },
        { label: `convection ${seed}` },
      );
      return requireValue(forecastOf(run).steadyTemperatureC) - 80;
    });
    // 10 K are still to come. A bend that runs ahead of the fins, as if they were settled, is 1.0 K too high on average.
    const meanK = departuresK.reduce((sum, departure) => sum + departure, 0) / departuresK.length;
    expect(Math.abs(meanK)).toBeLessThan(0.5);
  });

  test('says the same from many samples a second as from one', () => {
    const slow = forecastOf(runSoFar(480, {}, 0.15));
    const fast = forecastOf(runSoFar(480, { timeS: everyS(0.05, 480) }, 0.15 * Math.sqrt(20)));
    const gapped = everyS(0.05, 480).filter((t) => t < 200 || t > 230);
    const withGap = forecastOf(runSoFar(480, { timeS: gapped }, 0.15 * Math.sqrt(20)));
    for (const forecast of [fast, withGap]) {
      expect(
        Math.abs(requireValue(forecast.steadyTemperatureC) - requireValue(slow.steadyTemperatureC)),
      ).toBeLessThan(halfWidthK(slow));
      expect(Math.abs(requireValue(forecast.steadyTemperatureC) - 67)).toBeLessThan(halfWidthK(forecast));
      expect(halfWidthK(forecast) / halfWidthK(slow)).toBeLessThan(1.5);
      expect(halfWidthK(forecast) / halfWidthK(slow)).toBeGreaterThan(0.7);
    }
    expect(codes(withGap)).toContain('gap-new-start');
  });

  test('the interval narrows as the load goes on, and holds the truth all the way', () => {
    for (const cooler of [poles, loop]) {
      let beforeK = Number.POSITIVE_INFINITY;
      const steadyC = 22 + 90 * cooler.reduce((sum, { resistanceKPerW }) => sum + resistanceKPerW, 0);
      for (const endS of [300, 480, 900, 1500]) {
        const forecast = forecastOf(runSoFar(endS, { poles: cooler }));
        if (forecast.steadyTemperatureC.kind !== 'estimated') throw new Error('estimated');
        const [low, high] = forecast.steadyTemperatureC.interval95;
        expect(low).toBeLessThan(steadyC);
        expect(high).toBeGreaterThan(steadyC);
        expect(halfWidthK(forecast)).toBeLessThan(beforeK);
        beforeK = halfWidthK(forecast);
      }
      expect(beforeK).toBeLessThan(0.3);
    }
  });

  test('says how much longer to log, and then the wanted half-width is there', () => {
    const now = forecastOf(runSoFar(420, { poles: loop }));
    expect(now.verdict).toBe('more-time');
    expect(now.moreTimeS).toBeGreaterThan(60);
    const then = forecastOf(runSoFar(420 + (now.moreTimeS ?? 0), { poles: loop }));
    // The promise rests on what is expected of the run, which it need not keep exactly.
    expect(halfWidthK(then)).toBeLessThan(1.25 * 0.5);
    expect(halfWidthK(now)).toBeGreaterThan(0.5);
  });

  test('a smaller half-width takes longer, one that is there already no time, one below the floor is out of reach', () => {
    const run = runSoFar(480, { poles: loop });
    const [one, half] = [1, 0.5].map((wanted) => forecastOf(run, { halfWidthK: wanted }));
    expect(one.moreTimeS).toBeLessThan(half.moreTimeS ?? 0);
    const wide = forecastOf(run, { halfWidthK: 4 });
    expect(wide).toMatchObject({ verdict: 'known', moreTimeS: 0, wantedHalfWidthK: 4 });
    const tiny = forecastOf(run, { halfWidthK: 0.02 });
    expect(tiny.verdict).toBe('out-of-reach');
    expect(tiny.moreTimeS).toBeUndefined();
    expect(codes(tiny)).toContain('half-width-out-of-reach');
  });

  test('sums it up in one sentence', () => {
    const run = runSoFar(480);
    expect(forecastOf(run, { halfWidthK: 1 }).summary).toMatch(
      /^Steady at 6[67]\.\d+ ± 0\.\d+ °C at 90\.0 W in air of 22\.0 °C; known within ± 1 K\.$/,
    );
    expect(forecastOf(run, { halfWidthK: 0.18 }).summary).toMatch(
      /; (half a minute more|\d+ more minutes?) for ± 0\.18 K\.$/,
    );
    expect(forecastOf(run, { halfWidthK: 0.02 }).summary).toMatch(
      /; ± 0\.02 K is not reached within another hour\.$/,
    );
  });

  test('a narrower prior helps while the load is young, and hardly matters later', () => {
    const air = { slowestTimeConstantS: [60, 250] } as const;
    const early = runSoFar(200);
    expect(halfWidthK(forecastOf(early, air))).toBeLessThan(halfWidthK(forecastOf(early)));
    const late = runSoFar(1200);
    expect(
      Math.abs(
        requireValue(forecastOf(late, air).steadyTemperatureC) -
          requireValue(forecastOf(late).steadyTemperatureC),
      ),
    ).toBeLessThan(0.05);
  });

  test('a temperature that falls to its steady value after a step down has less than nothing missing', () => {
    const run = runSoFar(900, {
      powerSteps: [
        { atS: 60, powerW: 130 },
        { atS: 700, powerW: 90 },
      ],
    });
    const forecast = forecastOf(run);
    expect(forecast.powerW).toBeCloseTo(90, 0);
    expect(requireValue(forecast.missingRiseFraction)).toBeLessThan(0);
    expect(Math.abs(requireValue(forecast.steadyTemperatureC) - 67)).toBeLessThan(0.5);
    expect(codes(forecast)).toContain('power-changed');
  });

  test('a log that starts in the middle of the load still finds the end, with a wider interval', () => {
    const whole = runSoFar(600);
    const from = 150;
    const part = makeRun(
      {
        timeS: whole.timeS.slice(from),
        temperatureC: whole.temperatureC.slice(from),
        powerW: whole.powerW.slice(from),
        ambientC: whole.ambientC!.slice(from),
      },
      { label: 'late' },
    );
    const forecast = forecastOf(part);
    expect(codes(forecast)).toContain('starts-under-load');
    expect(Math.abs(requireValue(forecast.steadyTemperatureC) - 67)).toBeLessThan(halfWidthK(forecast));
    expect(halfWidthK(forecast)).toBeGreaterThan(halfWidthK(forecastOf(whole)));
  });

  test('a gap costs certainty, not correctness', () => {
    const timeS = everyS(1, 600).filter((t) => t < 200 || t > 260);
    const forecast = forecastOf(runSoFar(600, { timeS }));
    expect(codes(forecast)).toContain('gap-new-start');
    expect(Math.abs(requireValue(forecast.steadyTemperatureC) - 67)).toBeLessThan(0.6);
    expect(halfWidthK(forecast)).toBeGreaterThan(halfWidthK(forecastOf(runSoFar(600))));
  });

  test('spikes of the sensor do not move it', () => {
    const clean = forecastOf(runSoFar(480));
    const run = runSoFar(480);
    for (const i of [100, 230, 333, 470]) run.temperatureC[i] += 25;
    expect(
      Math.abs(requireValue(forecastOf(run).steadyTemperatureC) - requireValue(clean.steadyTemperatureC)),
    ).toBeLessThan(0.1);
  });

  test('instant power samples give the same as interval means', () => {
    const mean = forecastOf(runSoFar(480));
    const instant = forecastOf(runSoFar(480, { powerSample: 'instant' }));
    expect(requireValue(instant.steadyTemperatureC)).toBeCloseTo(requireValue(mean.steadyTemperatureC), 1);
  });

  test('air that is given, not measured, makes it less sure and says so', () => {
    const given = forecastOf(runSoFar(480, { logAmbient: false }));
    expect(codes(given)).toContain('air-not-measured');
    expect(halfWidthK(given)).toBeGreaterThan(halfWidthK(forecastOf(runSoFar(480))));
  });

  test('air that goes on warming is told, and the forecast is for the air as it is', () => {
    const run = runSoFar(600);
    // An enclosure of ten minutes: the cooler follows it late, the forecast accounts for that.
    const air = run.ambientC!;
    const seenK = { at: 0 };
    for (let i = 0; i < air.length; i++) {
      const warmerK = i < 60 ? 0 : 6 * (1 - Math.exp((60 - i) / 600));
      seenK.at += (warmerK - seenK.at) / 120;
      air[i] += warmerK;
      run.temperatureC[i] += seenK.at;
    }
    const forecast = forecastOf(run);
    expect(codes(forecast)).toContain('air-drifting');
    expect(Math.abs(requireValue(forecast.steadyTemperatureC) - (45 + forecast.ambientC))).toBeLessThan(0.6);
    expect(codes(forecastOf(runSoFar(600)))).not.toContain('air-drifting');
  });

  test('a fan that changes its speed shows as structured residuals', () => {
    const run = runSoFar(900);
    // From 500 s on the fins are a quarter worse: the end moves up by 6 K.
    for (let i = 500; i <= 900; i++) run.temperatureC[i] += 6 * (1 - Math.exp((500 - i) / 60));
    const forecast = forecastOf(run);
    expect(codes(forecast)).toContain('structured-residuals');
    expect(halfWidthK(forecast)).toBeGreaterThan(2 * halfWidthK(forecastOf(runSoFar(900))));
  });

  test('what came after the load is left out', () => {
    const run = runSoFar(700, {
      powerSteps: [
        { atS: 60, powerW: 90 },
        { atS: 540, powerW: 10 },
      ],
    });
    const forecast = forecastOf(run);
    expect(codes(forecast)).toContain('load-ended');
    expect(Math.abs(requireValue(forecast.steadyTemperatureC) - 67)).toBeLessThan(0.6);
  });

  test('a processor held at its temperature limit is told from one that settles', () => {
    const timeS = everyS(1, 700);
    // Reaches 95 °C and stays; the power falls to keep it there.
    const run = makeRun(
      {
        timeS,
        temperatureC: timeS.map((t) => (t < 60 ? 27 : Math.min(95, 100 - 73 * Math.exp((60 - t) / 90)))),
        powerW: timeS.map((t) => (t <= 60 ? 10 : t < 300 ? 120 : 104 + 16 * Math.exp((300 - t) / 120))),
        ambientC: timeS.map(() => 22),
      },
      { label: 'hot', conditions: { powerCapW: 120 } },
    );
    expect(codes(forecastOf(run))).toContain('held-by-temperature');
  });

  test('changes nothing of the run and gives the same answer again', () => {
    const run = runSoFar(400);
    const before = run.temperatureC.slice();
    const first = forecastSteady(run);
    expect(run.temperatureC).toEqual(before);
    expect(forecastSteady(run)).toEqual(first);
  });

  test('its defaults are those of its documentation', () => {
    expect(FORECAST_DEFAULTS).toEqual({ halfWidthK: 0.5, slowestTimeConstantS: [50, 800] });
  });
});

describe('forecastSteady is too early', () => {
  test('before the load', () => {
    const idle = runSoFar(120, { powerSteps: [] });
    expect(forecastSteady(idle, { idleBelowW: 30 })).toEqual({
      kind: 'too-early',
      reason: 'The processor is not under load yet.',
      loadS: 0,
      findings: [],
    });
    // Nothing else tells idling from a light load: then it is a forecast of that.
    expect(Math.abs(requireValue(forecastOf(idle).steadyTemperatureC) - 27)).toBeLessThan(0.3);
  });

  test('in the first minute of load, and says how long to wait', () => {
    expect(forecastSteady(runSoFar(100))).toMatchObject({
      kind: 'too-early',
      reason: expect.stringMatching(
        /^The load has lasted \d+ s, with \d+ samples; the fast stages take a minute to settle\.$/,
      ),
      moreTimeS: expect.closeTo(20, -1),
    });
  });

  test('with a handful of samples', () => {
    const forecast = forecastSteady(runSoFar(180, { timeS: everyS(12, 180) }));
    expect(forecast).toMatchObject({ kind: 'too-early', reason: expect.stringContaining('samples') });
    expect(forecast.moreTimeS).toBeGreaterThan(60);
  });

  test('where there is no rise to follow', () => {
    const run = runSoFar(300, { poles: [{ timeConstantS: 60, resistanceKPerW: 0.01 }] }, 0.05);
    expect(forecastSteady(run)).toMatchObject({
      kind: 'too-early',
      reason: expect.stringMatching(
        /^The temperature is only 0\.\d+ K above the air; there is no rise to follow\.$/,
      ),
    });
  });

  test('where the run still allows temperatures far apart', () => {
    const slow = [...poles.slice(0, 2), { timeConstantS: 500, resistanceKPerW: 0.5 }];
    const forecast = forecastSteady(runSoFar(135, { poles: slow, powerSteps: [{ atS: 60, powerW: 150 }] }));
    expect(forecast).toMatchObject({
      kind: 'too-early',
      reason: expect.stringMatching(/^The run so far allows steady temperatures from \d+ to \d+ °C\.$/),
    });
    expect(forecast.moreTimeS).toBeGreaterThanOrEqual(30);
  });
});

describe('forecastSteady refuses', () => {
  const run = runSoFar(300);
  test.each([
    [{ halfWidthK: 0 }, 'options.halfWidthK', 'a finite number above 0 (received 0)'],
    [{ halfWidthK: Number.NaN }, 'options.halfWidthK', 'a finite number above 0 (received NaN)'],
    [
      { slowestTimeConstantS: [0, 100] as const },
      'options.slowestTimeConstantS[0]',
      'a finite number at least 1 (received 0)',
    ],
    [
      { slowestTimeConstantS: [250, 60] as const },
      'options.slowestTimeConstantS',
      'an interval whose second number is larger than its first (received "250 to 60")',
    ],
    [
      { slowestTimeConstantS: [60, Number.POSITIVE_INFINITY] as const },
      'options.slowestTimeConstantS[1]',
      'a finite number (received Infinity)',
    ],
  ])('%j', (options, argument, expected) => {
    expect(() => forecastSteady(run, options)).toThrow(`forecastSteady: \`${argument}\` must be ${expected}`);
  });

  test('a run whose air is not known, however early', () => {
    const { timeS, temperatureC, powerW } = runSoFar(100);
    const airless = makeRun({ timeS, temperatureC, powerW }, { label: 'no air' });
    expect(() => forecastSteady(airless)).toThrow(
      /forecastSteady: `runs` must be runs with a known air temperature .* \(received "run \\"no air\\" with neither/,
    );
  });
});
