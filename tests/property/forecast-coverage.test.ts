// How good is a forecast eight minutes into a load of twenty-five? Rigs of the demo's generator, whose physics is richer
// than the model: six nodes and a board, convection that improves with temperature, drifting air, coarse lagging sensors.
// Their seeds were not used in tuning.
import { beforeAll, describe, expect, test } from 'vitest';
import { randomRig } from '../../datasets-demo/generator/random-rig.js';
import { simulateRig } from '../../datasets-demo/generator/rig.js';
import { steadyTemperatures } from '../../datasets-demo/generator/thermal-network.js';
import { requireValue } from '../../toolkit/numerics/estimates.js';
import { makeRun } from '../../toolkit/runs/make-run.js';
import { forecastSteady } from '../../toolkit/thermal/forecast/forecast-steady.js';

const RIGS = 60;
const FIRST_SEED = 7400;
const LEAD_IN_S = 60;
const LOAD_S = 480;

interface Answer {
  readonly kind: 'air' | 'liquid';
  readonly departureK: number;
  readonly held: boolean;
  readonly halfWidthK: number;
  /** How far the mean of the last two minutes is off. */
  readonly meanDepartureK: number;
}

const median = (values: readonly number[]): number => values.toSorted((a, b) => a - b)[values.length >> 1];

describe('eight minutes into the load, at one cap', () => {
  const answers: Answer[] = [];
  const of = (kind: Answer['kind']): Answer[] => answers.filter((answer) => answer.kind === kind);

  beforeAll(() => {
    for (let n = 0; n < RIGS; n++) {
      const kind = n % 2 === 0 ? 'air' : 'liquid';
      const [low, high] = kind === 'air' ? [60, 90] : [80, 118];
      const rig = randomRig(
        { kind, powerCapW: n % 4 < 2 ? low : high, leadInS: LEAD_IN_S, loadS: LOAD_S },
        FIRST_SEED + n,
      );
      const { truth, ...log } = simulateRig(rig, 10 * (FIRST_SEED + n));
      const forecast = forecastSteady(makeRun(log, { label: `rig ${n}` }));
      if (forecast.kind !== 'forecast') throw new Error(forecast.reason);
      const { steadyTemperatureC } = forecast;
      if (steadyTemperatureC.kind !== 'estimated') throw new Error('estimated');
      // The truth: where the network settles at the load's power in the true air of the last minute.
      const air = truth.roomAirC.slice(-60);
      const truthC = steadyTemperatures(
        rig.network,
        forecast.powerW,
        air.reduce((sum, value) => sum + value, 0) / air.length,
      )[0];
      const [lowC, highC] = steadyTemperatureC.interval95;
      answers.push({
        kind,
        departureK: Math.abs(steadyTemperatureC.value - truthC),
        held: lowC <= truthC && truthC <= highC,
        halfWidthK: (highC - lowC) / 2,
        meanDepartureK: Math.abs(requireValue(forecast.lastTwoMinutesC) - truthC),
      });
    }
  }, 120_000);

  test('the steady temperature is within 1 K in nine of ten rigs', () => {
    // 50 of 60: a true share of 90 % passes with 97 %, one of 75 % fails with 91 %.
    expect(answers.filter(({ departureK }) => departureK < 1).length).toBeGreaterThanOrEqual(50);
  });

  test('intervals hold the truth as often as they say', () => {
    // 50 of 60, as above; what is assumed of slow stages beforehand makes them rather too wide with liquid.
    expect(answers.filter(({ held }) => held).length).toBeGreaterThanOrEqual(50);
  });

  test('and are narrow enough to be of use: half-widths below 0.4 K with air and 1.2 K with liquid in the median', () => {
    expect(median(of('air').map(({ halfWidthK }) => halfWidthK))).toBeLessThan(0.4);
    expect(median(of('liquid').map(({ halfWidthK }) => halfWidthK))).toBeLessThan(1.2);
  });

  test('the mean of the last two minutes is at least five times as far off in the median', () => {
    for (const kind of ['air', 'liquid'] as const) {
      const mean = median(of(kind).map(({ meanDepartureK }) => meanDepartureK));
      expect(mean).toBeGreaterThan(5 * median(of(kind).map(({ departureK }) => departureK)));
    }
    expect(median(of('liquid').map(({ meanDepartureK }) => meanDepartureK))).toBeGreaterThan(2);
  });
});
