import { ArgumentError } from '../errors.js';
import { formatNumber, formatValue } from '../numerics/format-estimate.js';
import type { CoolerModel } from '../thermal/cooler-model.js';
import { type RungIntervals, structureFunction } from '../thermal/views/structure-function.js';
import type { Figure } from './figure.js';
import { shortened } from './figure-text.js';
import { lightPalette } from './palette.js';
import { type PanelLabel, type PanelShape, panelFigure } from './panels.js';
import { light } from './thinned.js';

const { blue, ochre, quiet } = lightPalette;

/**
 * The way of the heat from the die to the air: heat capacity passed against resistance passed, and below it how much
 * heat capacity each rung has per resistance.
 *
 * Cumulative and differential structure function of the model's ladder, as in `structureFunction`; logarithmic in heat
 * capacity. Bars are 95 % intervals where the model knows them.
 *
 * @param model - a model from `fitCooler` whose stages are identified
 * @returns a figure with two panels over the resistance from the die in K/W
 * @throws ArgumentError if the model has no ladder, as in models from steady points
 * @example
 * const averages = coolerFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55 },
 *   { powerW: 90, temperatureC: 71 },
 * ]);
 * figureOfStructureFunction(averages); // => throws /stages/
 */
export function figureOfStructureFunction(model: CoolerModel): Figure {
  if (model.poles === undefined || model.ladder.length === 0) {
    throw new ArgumentError({
      caller: 'figureOfStructureFunction',
      argument: 'model',
      expected: 'a model with identified stages',
      received: `"${model.label}" without a ladder`,
      remedy: 'fit a run that logs the warm-up itself at a few samples per second',
    });
  }
  const structure = structureFunction(model);
  const ends = structure.cumulativeResistanceKPerW;
  const capacities = structure.cumulativeHeatCapacityJPerK;
  const slopes = structure.differentialJWPerK2;
  const starts = [0, ...ends.slice(0, -1)];
  const middles = ends.map((end, k) => (starts[k] + end) / 2);
  const total = ends.at(-1)!;
  const all = capacities.at(-1)!;

  const xRange = [0, total * 1.07] as const;
  const capacityRange = decadesAround([
    ...capacities,
    ...(structure.cumulativeHeatCapacityIntervalsJPerK ?? []).flat(),
  ]);
  const slopeRange = decadesAround([...slopes, ...(structure.differentialIntervalsJWPerK2 ?? []).flat()]);
  const rungEdges = ends.slice(0, -1).map(
    (x): PanelShape => ({
      type: 'line',
      x0: light(x),
      x1: light(x),
      wholeHeight: true,
      layer: 'below',
      line: { color: quiet, width: 1, dash: 'dot' },
    }),
  );
  const intervalBars = (
    values: readonly number[],
    intervals: readonly (readonly [number, number])[] | undefined,
    color: string,
  ) =>
    intervals === undefined
      ? {}
      : {
          error_y: {
            type: 'data' as const,
            symmetric: false as const,
            array: intervals.map(([, high], k) => light(high - values[k])),
            arrayminus: intervals.map(([low], k) => light(values[k] - low)),
            color,
            thickness: 1.6,
            width: 5,
          },
        };
  const besideMarkers = (
    values: readonly number[],
    intervals: RungIntervals | undefined,
    unit: string,
    color: string,
  ): PanelLabel[] =>
    values.map((value, k) => ({
      text: asKnown(value, intervals?.[k], unit),
      x: middles[k],
      // Above the bar, in the middle of the rung: beside it the next riser would cross the words.
      y: Math.log10(intervals?.[k]?.[1] ?? value),
      color,
      xanchor: 'center',
      yanchor: 'bottom',
      yshift: 4,
    }));
  const words = ends.map(
    (_, k) =>
      `${asKnown(model.ladder[k].heatCapacityJPerK, undefined, 'J/K')} then ${asKnown(model.ladder[k].resistanceKPerW, undefined, 'K/W')}`,
  );
  const count = ends.length;
  return panelFigure({
    title: `${shortened(model.cooler ?? model.label)} holds ${asKnown(all, structure.cumulativeHeatCapacityIntervalsJPerK?.at(-1), 'J/K')} along ${asKnown(total, structure.cumulativeResistanceIntervalsKPerW?.at(-1), 'K/W')} from die to air`,
    subtitle: `Structure function of the ladder, ${count === 1 ? 'one rung' : `${count} rungs`}: lumps of the fit, not parts one could unscrew.${structure.cumulativeHeatCapacityIntervalsJPerK === undefined ? '' : ' Bars: 95 % intervals.'}`,
    description: `From the die outward: ${words.join('; ')}; then the air.`,
    xTitle: 'Thermal resistance from the die, K/W',
    xRange,
    heightPx: 420,
    panels: [
      {
        yTitle: 'Heat capacity up to there, J/K',
        weight: 1,
        range: capacityRange,
        scale: 'log',
        traces: [
          {
            type: 'scatter',
            mode: 'lines',
            name: 'cumulative structure function',
            // Level along each rung, up where the next lump joins, and up without end at the air.
            x: [...ends.flatMap((end, k) => [light(starts[k]), light(end)]), light(total)],
            y: [...capacities.flatMap((c) => [light(c), light(c)]), light(10 ** capacityRange[1])],
            line: { color: blue, width: 2.4, simplify: false },
            hovertemplate: '%{x:.3f} K/W: %{y:.3g} J/K<extra></extra>',
          },
          {
            type: 'scatter',
            mode: 'markers',
            name: 'rungs',
            x: middles.map(light),
            y: capacities.map(light),
            marker: { color: blue, size: 8, symbol: 'circle' },
            ...intervalBars(capacities, structure.cumulativeHeatCapacityIntervalsJPerK, blue),
            hoverinfo: 'skip',
          },
        ],
        shapes: rungEdges,
        labels: [
          ...besideMarkers(capacities, structure.cumulativeHeatCapacityIntervalsJPerK, 'J/K', blue),
          {
            text: 'air',
            x: total,
            y: capacityRange[1],
            color: quiet,
            xanchor: 'left',
            yanchor: 'top',
            xshift: 6,
            yshift: -2,
          },
        ],
      },
      {
        yTitle: 'Slope dC/dR, J·W/K²',
        weight: 0.8,
        range: slopeRange,
        scale: 'log',
        traces: [
          {
            type: 'scatter',
            mode: 'lines',
            name: 'differential structure function',
            x: ends.flatMap((end, k) => [light(starts[k]), light(end)]),
            y: slopes.flatMap((k) => [light(k), light(k)]),
            line: { color: ochre, width: 2.4, simplify: false },
            hovertemplate: '%{x:.3f} K/W: %{y:.3g} J·W/K²<extra></extra>',
          },
          {
            type: 'scatter',
            mode: 'markers',
            name: 'slopes',
            x: middles.map(light),
            y: slopes.map(light),
            marker: { color: ochre, size: 8, symbol: 'diamond' },
            ...intervalBars(slopes, structure.differentialIntervalsJWPerK2, ochre),
            hoverinfo: 'skip',
          },
        ],
        shapes: rungEdges,
        labels: besideMarkers(slopes, structure.differentialIntervalsJWPerK2, 'J·W/K²', ochre),
      },
    ],
    hovermode: 'closest',
  });
}

/** A number with the digits that its interval leaves; without one, two. */
function asKnown(value: number, interval: RungIntervals[number] | undefined, unit: string): string {
  if (interval === undefined) return formatNumber(Number(value.toPrecision(2)), unit);
  return formatValue(
    { kind: 'estimated', value, standardError: (interval[1] - interval[0]) / 4, interval95: interval },
    unit,
  );
}

/** Logarithms of the ends of a scale that leaves room around the values. */
function decadesAround(values: readonly number[]): readonly [number, number] {
  const logs = values.map(Math.log10);
  return [Math.min(...logs) - 0.2, Math.max(...logs) + 0.4];
}
