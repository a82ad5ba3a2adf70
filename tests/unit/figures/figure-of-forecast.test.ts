import { describe, expect, it } from 'vitest';
import { figureOfForecast } from '../../../toolkit/figures/figure-of-forecast.js';
import { makeRun } from '../../../toolkit/runs/make-run.js';
import type { Run } from '../../../toolkit/runs/run.js';
import type { Forecast } from '../../../toolkit/thermal/forecast/forecast.js';
import { forecastSteady } from '../../../toolkit/thermal/forecast/forecast-steady.js';

/** A minute of idle, then 80 W on a cooler of 0.5 K/W and 120 s in air of 22 °C. */
function runOf(lengthS: number): Run {
  const timeS = Array.from({ length: lengthS }, (_, i) => i);
  return makeRun(
    {
      timeS,
      powerW: timeS.map((t) => (t <= 60 ? 10 : 80)),
      temperatureC: timeS.map((t) => 27 + (t <= 60 ? 0 : 35 * (1 - Math.exp((60 - t) / 120)))),
      ambientC: timeS.map(() => 22),
    },
    { label: 'drawer <b>' },
  );
}

describe('the picture of forecasts', () => {
  const run = runOf(600);
  const forecasts = [540, 240, 360, 600].map((lengthS) => forecastSteady(runOf(lengthS)));

  it('puts every forecast at the time since the load began, in order, with its interval', () => {
    const figure = figureOfForecast(run, forecasts);
    const points = figure.data.find(({ name }) => name === 'forecast')!;
    expect(points.x).toHaveLength(4);
    // The load begins with the sample after 60 s; the parts end one sample before their length.
    [2.97, 4.97, 7.97, 8.97].forEach((minutes, i) => {
      expect(points.x[i]).toBeCloseTo(minutes, 1);
    });
    const latest = forecasts[3] as Extract<Forecast, { kind: 'forecast' }>;
    expect(points.y[3]).toBeCloseTo(latest.steadyTemperatureC.value!, 3);
    expect(points.error_y!.array[0]!).toBeGreaterThan(points.error_y!.array[3]!);
  });

  it('runs the band on from the latest forecast beyond the end of the run', () => {
    const figure = figureOfForecast(run, forecasts);
    const band = figure.data.find(({ name }) => name === '95 % band')!;
    const ends = band.x.map(Number);
    expect(Math.min(...ends)).toBeCloseTo(8.97, 1);
    expect(Math.max(...ends)).toBeGreaterThan(9.9);
  });

  it('draws the mean of the two minutes before each forecast where these minutes were', () => {
    const bars = figureOfForecast(run, forecasts).data.find(({ name }) => /^mean of/.test(name))!;
    const sorted = [1, 2, 0, 3].map((i) => forecasts[i] as Extract<Forecast, { kind: 'forecast' }>);
    expect(bars.y.filter((_, i) => i % 3 === 0)).toEqual(
      sorted.map(({ lastTwoMinutesC }) => Number(lastTwoMinutesC.value!.toPrecision(7))),
    );
    sorted.forEach(({ loadS }, i) => {
      expect(bars.x[3 * i]).toBeCloseTo(loadS / 60 - 2, 5);
      expect(bars.x[3 * i + 1]).toBeCloseTo(loadS / 60, 5);
      expect(bars.x[3 * i + 2]).toBeNull();
    });
  });

  it('says the latest forecast in its title, a hostile label as text', () => {
    const { layout } = figureOfForecast(run, forecasts);
    expect(layout.meta.title).toMatch(/^Steady at \d.* °C at 80\.0 W in air of 22\.0 °C; .*: drawer <b>$/);
    expect(layout.title.text).not.toContain('<b>drawer <b>');
    expect(layout.title.text).toContain('&lt;b&gt;');
  });

  it('leaves out what was too early, and refuses to draw nothing', () => {
    const early = forecastSteady(runOf(90));
    expect(early.kind).toBe('too-early');
    expect(
      figureOfForecast(run, [early, forecasts[0]]).data.find(({ name }) => name === 'forecast')!.x,
    ).toHaveLength(1);
    expect(() => figureOfForecast(run, early)).toThrow(
      /at least one forecast .*received "1 that does not".*figureOfRun/,
    );
    expect(() => figureOfForecast(run, [])).toThrow(/at least one forecast/);
    expect(() => figureOfForecast(run, {} as Forecast)).toThrow(/a forecast/);
  });
});
