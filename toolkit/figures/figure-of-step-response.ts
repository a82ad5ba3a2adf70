import { ArgumentError } from '../errors.js';
import type { EstimatedNumber } from '../numerics/estimate.js';
import { formatEstimate, formatValue } from '../numerics/format-estimate.js';
import type { CoolerModel } from '../thermal/cooler-model.js';
import { stepResponse } from '../thermal/views/step-response.js';
import type { Figure } from './figure.js';
import { shortened } from './figure-text.js';
import { logTicks } from './log-ticks.js';
import { lightPalette } from './palette.js';
import { bandOutline, type PanelLabel, panelFigure } from './panels.js';
import { light } from './thinned.js';

const { quiet, blue, blueBand } = lightPalette;
const pointCount = 160;

interface KnownStage {
  readonly tau: CoolerModel['stages'][number]['timeConstantS'];
  readonly tauS: number;
  readonly resistanceKPerW: number;
}

function knownStagesOf(model: CoolerModel): readonly KnownStage[] {
  return model.stages.flatMap(({ timeConstantS: tau, resistanceKPerW: { value } }) =>
    tau.value !== undefined && tau.value > 0 && value !== undefined
      ? [{ tau, tauS: tau.value, resistanceKPerW: value }]
      : [],
  );
}

/** Whether every stage of a model has a time constant and a resistance, without which there is nothing to draw. */
export function hasKnownStages(model: CoolerModel): boolean {
  return model.stages.length > 0 && knownStagesOf(model).length === model.stages.length;
}

/**
 * How a cooler warms after a step of one watt, over the logarithm of time, with its time constants.
 *
 * Zth(t) = Σ rₖ (1 − exp(−t/τₖ)) with its 95 % band, as in `stepResponse`; without the sensor's lag. The bar at the right
 * is the 95 % interval of the total resistance.
 *
 * @param model - a model from `fitCooler` whose stages are identified
 * @returns a figure with one panel; time in s along the bottom, rise per watt in K/W
 * @throws ArgumentError if the stages are not identifiable, as in models from steady points
 * @example
 * const averages = coolerFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55 },
 *   { powerW: 90, temperatureC: 71 },
 * ]);
 * figureOfStepResponse(averages); // => throws /identified stages/
 */
export function figureOfStepResponse(model: CoolerModel): Figure {
  const known = knownStagesOf(model);
  if (!hasKnownStages(model)) {
    throw new ArgumentError({
      caller: 'figureOfStepResponse',
      argument: 'model.stages',
      expected: 'identified stages, each with a time constant and a resistance',
      received: `${known.length} of ${model.stages.length} known`,
      remedy: 'fit a run that logs the warm-up itself at a few samples per second',
    });
  }
  const fastestS = Math.min(...known.map((stage) => stage.tauS));
  const slowestS = Math.max(...known.map((stage) => stage.tauS));
  const startS = fastestS / 20;
  const endS = slowestS * 8;
  const timeS = Array.from(
    { length: pointCount },
    (_, i) => startS * (endS / startS) ** (i / (pointCount - 1)),
  );
  const response = stepResponse(model, { timeS });
  const riseAt = (t: number): number => stepResponse(model, { timeS: [t] }).risePerPowerKPerW[0];
  const outline =
    response.lowKPerW === undefined || response.highKPerW === undefined
      ? undefined
      : bandOutline(timeS, response.lowKPerW, response.highKPerW);
  const total = known.reduce((sum, stage) => sum + stage.resistanceKPerW, 0);
  const interval =
    model.thermalResistanceKPerW.kind === 'estimated' ? model.thermalResistanceKPerW : undefined;
  const top = Math.max(total, interval?.interval95[1] ?? 0) * 1.12;
  const xRange = [Math.log10(startS), Math.log10(endS)] as const;
  const labels: PanelLabel[] = known.map((stage) => ({
    text: formatValue(stage.tau, 's'),
    x: Math.log10(stage.tauS),
    y: riseAt(stage.tauS),
    color: blue,
    xanchor: 'right',
    yanchor: 'bottom',
    xshift: -8,
    yshift: 2,
  }));
  const name = shortened(model.cooler ?? model.label);
  const timeConstants = known.map((stage) => formatEstimate(stage.tau, 's')).join(', ');
  const title = `${name} warms by ${formatEstimate(model.thermalResistanceKPerW)} K per watt, ${
    known.length === 1 ? 'in one stage' : `in ${known.length} stages`
  }`;
  return panelFigure({
    title,
    subtitle: `Time constants ${timeConstants}. ${outline === undefined ? 'Bars' : 'Band and bars'}: 95 % intervals.`,
    description: `Time constants: ${timeConstants}.`,
    xTitle: 'Time since the step, s',
    xRange,
    xAxis: { type: 'log', ...logTicks(xRange) },
    heightPx: 320,
    panels: [
      {
        yTitle: 'Temperature rise per watt, K/W',
        weight: 1,
        range: [0, top],
        traces: [
          ...(outline === undefined
            ? []
            : [
                {
                  type: 'scatter' as const,
                  mode: 'lines' as const,
                  name: '95 % band',
                  x: outline.x.map(light),
                  y: outline.y.map(light),
                  line: { width: 0, color: blue },
                  fill: 'toself' as const,
                  fillcolor: blueBand,
                  hoverinfo: 'skip' as const,
                },
              ]),
          {
            type: 'scatter',
            mode: 'lines',
            name: 'step response',
            x: timeS.map(light),
            y: response.risePerPowerKPerW.map(light),
            line: { color: blue, width: 2.4, simplify: false },
            hovertemplate: '%{x:.3g} s: %{y:.3f} K/W<extra></extra>',
          },
          {
            type: 'scatter',
            mode: 'markers',
            name: 'time constants',
            x: known.map((stage) => light(stage.tauS)),
            y: known.map((stage) => light(riseAt(stage.tauS))),
            marker: { color: blue, size: 9, symbol: 'circle' },
            error_x: {
              type: 'data',
              symmetric: false,
              array: known.map(({ tau }) => (isEstimated(tau) ? light(tau.interval95[1] - tau.value) : null)),
              arrayminus: known.map(({ tau }) =>
                isEstimated(tau) ? light(Math.min(tau.value - tau.interval95[0], tau.value * 0.95)) : null,
              ),
              color: blue,
              thickness: 1.6,
              width: 5,
            },
            hoverinfo: 'skip',
          },
          ...(interval === undefined
            ? []
            : [
                {
                  type: 'scatter' as const,
                  mode: 'markers' as const,
                  name: 'total resistance',
                  x: [light(endS * 0.93)],
                  y: [light(interval.value)],
                  marker: { color: quiet, size: 8, symbol: 'diamond' },
                  error_y: {
                    type: 'data' as const,
                    symmetric: false as const,
                    array: [light(interval.interval95[1] - interval.value)],
                    arrayminus: [light(interval.value - interval.interval95[0])],
                    color: quiet,
                    thickness: 1.6,
                    width: 5,
                  },
                  hoverinfo: 'skip' as const,
                },
              ]),
        ],
        labels,
        endLabels: [
          { text: `total ${formatEstimate(model.thermalResistanceKPerW, 'K/W')}`, y: total, color: quiet },
        ],
      },
    ],
    hovermode: 'closest',
  });
}

function isEstimated(estimate: CoolerModel['thermalResistanceKPerW']): estimate is EstimatedNumber {
  return estimate.kind === 'estimated';
}
