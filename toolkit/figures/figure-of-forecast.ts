import { ArgumentError, requireKind } from '../errors.js';
import type { EstimatedNumber } from '../numerics/estimate.js';
import { formatEstimate } from '../numerics/format-estimate.js';
import { requireRun } from '../runs/require-run.js';
import type { Run } from '../runs/run.js';
import { loadSegments } from '../runs/segments/load-segments.js';
import type { Forecast, SteadyForecast } from '../thermal/forecast/forecast.js';
import type { Figure } from './figure.js';
import { shortened } from './figure-text.js';
import { lightPalette } from './palette.js';
import { panelFigure, roomAround } from './panels.js';
import { light, thinned } from './thinned.js';
import { inMinutes } from './time-in-minutes.js';

const { ink, blue, blueBand, red } = lightPalette;
/** Length of the mean beside a forecast, `lastTwoMinutesC`. */
const MEAN_MIN = 2;
/** Room to the right of the run for the band, as a share of its length. */
const AHEAD_FRACTION = 0.18;

/** A forecast with a number; those that are too early have none to draw. */
type Drawn = SteadyForecast & { readonly steadyTemperatureC: EstimatedNumber };

/**
 * A run under load with the forecasts that were made on the way: where it was expected to settle, and how surely.
 *
 * Each forecast stands at the time at which it was made with its 95 % interval; the band runs on from the latest one. A
 * bar two minutes long before each is the mean of these minutes: what one would have written down then. Draws what the
 * forecasts contain and computes nothing of its own.
 *
 * @param run - the run, as far as it is known now
 * @param forecasts - what `forecastSteady` said, one or several, in any order; those that are too early are left out
 * @returns a figure with one panel; time since the start of the load in minutes along the bottom
 * @throws ArgumentError if no forecast holds a temperature, or the run has no load
 * @example
 * const timeS = Array.from({ length: 361 }, (_, i) => i);
 * const run = makeRun(
 *   {
 *     timeS,
 *     powerW: timeS.map((t) => (t <= 30 ? 10 : 80)),
 *     temperatureC: timeS.map((t) => 27 + (t <= 30 ? 0 : 35 * (1 - Math.exp((30 - t) / 120)))),
 *     ambientC: timeS.map(() => 22),
 *   },
 *   { label: 'drawer' },
 * );
 * figureOfForecast(run, [forecastSteady(run)]).layout.meta.title.startsWith('Steady at '); // => true
 */
export function figureOfForecast(run: Run, forecasts: Forecast | readonly Forecast[]): Figure {
  const caller = 'figureOfForecast';
  requireRun(run, caller);
  const list = Array.isArray(forecasts) ? (forecasts as readonly Forecast[]) : [forecasts as Forecast];
  const drawn = list.filter(isDrawn).sort((a, b) => a.loadS - b.loadS);
  const latest = drawn.at(-1);
  if (latest === undefined) {
    throw new ArgumentError({
      caller,
      argument: 'forecasts',
      expected: 'at least one forecast that holds a steady temperature',
      received: `${list.length} that ${list.length === 1 ? 'does' : 'do'} not`,
      remedy: 'draw the run with figureOfRun until forecastSteady gives one',
    });
  }
  const startS = loadStartS(run, caller);
  const minutes = inMinutes(run.timeS.map((timeS) => timeS - startS));
  const madeAt = drawn.map(({ loadS }) => loadS / 60);
  const endMin = Math.max(minutes.at(-1)!, ...madeAt);
  const xRange = [Math.min(0, minutes[0]), endMin * (1 + AHEAD_FRACTION)] as const;
  const steady = drawn.map(({ steadyTemperatureC }) => steadyTemperatureC);
  const [lowC, highC] = latest.steadyTemperatureC.interval95;
  const latestMin = madeAt.at(-1)!;
  const temperature = thinned(minutes, run.temperatureC);
  const means = drawn.flatMap(({ loadS, lastTwoMinutesC: { value } }) =>
    value === undefined ? [] : [{ fromMin: Math.max(0, loadS / 60 - MEAN_MIN), toMin: loadS / 60, value }],
  );
  const lastMean = means.at(-1);
  const shownC = temperature.y.filter((value): value is number => typeof value === 'number');
  return panelFigure({
    title: `${latest.summary.replace(/\.$/, '')}: ${shortened(run.label)}`,
    subtitle: `Points: forecasts of the steady temperature on the way, with 95 % intervals.${lastMean === undefined ? '' : ' Short bars: mean of the two minutes before each.'}`,
    description: `${drawn.length} ${drawn.length === 1 ? 'forecast' : 'forecasts'}; the latest, after ${latestMin.toFixed(1)} min of load, ${formatEstimate(latest.steadyTemperatureC, '°C')}.`,
    xTitle: 'Time since the start of the load, min',
    xRange,
    heightPx: 330,
    panels: [
      {
        yTitle: 'Temperature, °C',
        weight: 1,
        range: roomAround([...shownC, ...steady.flatMap(({ interval95 }) => interval95)], 5),
        traces: [
          {
            type: 'scatter',
            mode: 'lines',
            name: '95 % band',
            x: [latestMin, xRange[1], xRange[1], latestMin].map(light),
            y: [highC, highC, lowC, lowC].map(light),
            line: { width: 0, color: blue },
            fill: 'toself',
            fillcolor: blueBand,
            hoverinfo: 'skip',
          },
          {
            type: 'scatter',
            mode: 'lines',
            name: 'temperature',
            ...temperature,
            line: { color: red, width: 1.4 },
            connectgaps: false,
            hovertemplate: 'temperature %{y:.1f} °C<extra></extra>',
          },
          ...(lastMean === undefined
            ? []
            : [
                {
                  type: 'scatter' as const,
                  mode: 'lines' as const,
                  name: 'mean of the last two minutes',
                  x: means.flatMap(({ fromMin, toMin }) => [light(fromMin), light(toMin), null]),
                  y: means.flatMap(({ value }) => [light(value), light(value), null]),
                  line: { color: ink, width: 3 },
                  connectgaps: false as const,
                  hovertemplate: 'mean of the last two minutes %{y:.1f} °C<extra></extra>',
                },
              ]),
          {
            type: 'scatter',
            mode: 'markers',
            name: 'forecast',
            x: madeAt.map(light),
            y: steady.map(({ value }) => light(value)),
            marker: { color: blue, size: 8, symbol: 'circle' },
            error_y: {
              type: 'data',
              symmetric: false,
              array: steady.map(({ value, interval95 }) => light(interval95[1] - value)),
              arrayminus: steady.map(({ value, interval95 }) => light(value - interval95[0])),
              color: blue,
              thickness: 1.6,
              width: 5,
            },
            hovertemplate: 'forecast %{y:.1f} °C<extra></extra>',
          },
        ],
        endLabels: [
          {
            text: `steady ${formatEstimate(latest.steadyTemperatureC, '°C')}`,
            y: latest.steadyTemperatureC.value,
            color: blue,
          },
        ],
      },
    ],
    hovermode: 'closest',
  });
}

function isDrawn(forecast: Forecast): forecast is Drawn {
  if ((forecast as { readonly kind?: unknown } | undefined)?.kind === 'too-early') return false;
  requireKind(forecast, 'forecast', {
    caller: 'figureOfForecast',
    argument: 'forecasts',
    remedy: 'make them with forecastSteady',
  });
  return (forecast as SteadyForecast).steadyTemperatureC.kind === 'estimated';
}

/** Where the last load began: the same one that the forecast counts from. */
function loadStartS(run: Run, caller: string): number {
  const { segments } = loadSegments(run);
  let startS: number | undefined;
  segments.forEach((segment, index) => {
    if (segment.kind === 'load' && segments[index - 1]?.kind !== 'load') startS = segment.startS;
  });
  if (startS === undefined) {
    throw new ArgumentError({
      caller,
      argument: 'run',
      expected: 'a run with a load in it',
      received: 'only idle time',
    });
  }
  return startS;
}
