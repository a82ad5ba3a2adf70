import { formatEstimate, formatNumber, formatValue } from '../numerics/format-estimate.js';
import { requireRun } from '../runs/require-run.js';
import type { Run } from '../runs/run.js';
import type { CoolerModel } from '../thermal/cooler-model.js';
import { fitOf } from '../thermal/fit/fit-of.js';
import { requireModel } from '../thermal/require-model.js';
import type { Figure } from './figure.js';
import { shortened } from './figure-text.js';
import { lightPalette } from './palette.js';
import { panelFigure, roomAround } from './panels.js';
import { thinned } from './thinned.js';
import { inMinutes } from './time-in-minutes.js';

const { ink, quiet, blue, red, strongShade } = lightPalette;

/**
 * Measured and modelled temperature of one run, with the residuals below.
 *
 * The shaded strip around the residuals is twice the standard deviation the fit reports; a pattern that leaves it
 * again and again means that the model lacks something.
 *
 * @param run - a run the model was fitted from
 * @param model - what `fitCooler` returned
 * @returns a figure with two panels; time in minutes along the bottom
 * @throws ArgumentError if the run is not among those the model was fitted from
 * @example
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 80)), temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * figureOfFit(run, fitCooler(run)).data.map((trace) => trace.name); // => ['measured', 'model', 'measured − model']
 */
export function figureOfFit(run: Run, model: CoolerModel): Figure {
  requireRun(run, 'figureOfFit');
  requireModel(model, 'figureOfFit');
  const fit = fitOf(model, run);
  const minutes = inMinutes(run.timeS);
  const fitMinutes = inMinutes(fit.timeS);
  const measured = thinned(minutes, run.temperatureC);
  const modelled = thinned(fitMinutes, fit.modelledC);
  const residual = thinned(fitMinutes, fit.residualK);
  const xRange = [0, minutes.at(-1)!] as const;
  const { standardDeviationK } = model.noise;
  const isFinal = (value: number | null): value is number => value !== null;
  const residualRange = roomAround(
    [...residual.y.filter(isFinal), -2 * standardDeviationK, 2 * standardDeviationK],
    0.2,
  );
  const lastOf = (line: { readonly y: readonly (number | null)[] }): number =>
    line.y.filter(isFinal).at(-1) ?? 0;

  const stageCount = model.stages.length;
  const stages =
    stageCount === 0
      ? ''
      : `${stageCount === 1 ? 'One stage' : `${stageCount} stages`}, time constant${stageCount === 1 ? '' : 's'} ${model.stages
          .map((stage) => formatValue(stage.timeConstantS, 's'))
          .join(', ')}; `;
  const title = `Model and measurement differ by ${formatNumber(twoDigits(standardDeviationK), 'K')} (standard deviation): ${shortened(run.label)}`;
  const resistance = `${formatEstimate(model.thermalResistanceKPerW, 'K/W')} at ${formatNumber(model.resistanceLaw.atPowerW, 'W')}`;
  return panelFigure({
    title,
    subtitle: `${stages}total thermal resistance ${resistance}. Strip: twice the standard deviation.`,
    description: `Total thermal resistance ${resistance}.`,
    xTitle: 'Time, min',
    xRange,
    heightPx: 430,
    panels: [
      {
        yTitle: 'Temperature, °C',
        weight: 2.2,
        range: roomAround([...measured.y, ...modelled.y].filter(isFinal), 5),
        traces: [
          {
            type: 'scatter',
            mode: 'lines',
            name: 'measured',
            ...measured,
            line: { color: red, width: 1.2 },
            connectgaps: false,
            hovertemplate: 'measured %{y:.1f} °C<extra></extra>',
          },
          {
            type: 'scatter',
            mode: 'lines',
            name: 'model',
            ...modelled,
            line: { color: blue, width: 2.2, dash: 'dash' },
            connectgaps: false,
            hovertemplate: 'model %{y:.1f} °C<extra></extra>',
          },
        ],
        endLabels: [
          { text: 'measured', y: lastOf(measured), color: red },
          { text: 'model', y: lastOf(modelled), color: blue },
        ],
      },
      {
        yTitle: 'Residual, K',
        weight: 1,
        range: residualRange,
        traces: [
          {
            type: 'scatter',
            mode: 'lines',
            name: 'measured − model',
            ...residual,
            line: { color: ink, width: 1 },
            connectgaps: false,
            hovertemplate: 'residual %{y:.2f} K<extra></extra>',
          },
        ],
        shapes: [
          {
            type: 'rect',
            x0: xRange[0],
            x1: xRange[1],
            y0: -2 * standardDeviationK,
            y1: 2 * standardDeviationK,
            layer: 'below',
            fillcolor: strongShade,
            line: { width: 0 },
          },
          {
            type: 'line',
            x0: xRange[0],
            x1: xRange[1],
            y0: 0,
            y1: 0,
            layer: 'below',
            line: { color: quiet, width: 1 },
          },
        ],
        endLabels: [
          { text: `± ${formatNumber(twoDigits(2 * standardDeviationK), 'K')}`, y: 0, color: quiet },
        ],
      },
    ],
    hovermode: 'x unified',
  });
}

/** A spread is known to two digits at best. */
function twoDigits(value: number): number {
  return Number(value.toPrecision(2));
}
