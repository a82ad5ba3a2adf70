import type { CapChoice } from '../cap/choose/cap-choice.js';
import { ArgumentError } from '../errors.js';
import type { Estimate } from '../numerics/estimate.js';
import { requireValue } from '../numerics/estimates.js';
import { formatEstimate, formatNumber } from '../numerics/format-estimate.js';
import type { CoolerComparison } from '../thermal/compare/cooler-comparison.js';
import type { CoolerModel } from '../thermal/cooler-model.js';
import type { Figure, IntervalBars, Trace } from './figure.js';
import { isExtrapolated, shortened, starred } from './figure-text.js';
import { mountsInWords } from './mounts-in-words.js';
import { lightPalette } from './palette.js';
import { type Panel, panelFigure, roomAround } from './panels.js';
import { scenarioInWords } from './scenario-in-words.js';
import { light } from './thinned.js';

const { ink, quiet, blue } = lightPalette;
const longestName = 30;

/**
 * Coolers side by side, one row each: the power cap each can hold, or the thermal resistance of each, with
 * its 95 % interval.
 *
 * For caps the bar spans the caps at which the 95 % band of the steady temperature meets the limit: left of it
 * the limit holds almost surely, right of it almost never. The default cap is drawn where the choices name one.
 * Resistances of models come with the interval of the fit, and the picture says whether the spread from mount to mount is
 * in it. Those of a comparison hold the spread between mounts, and each row says which places the
 * cooler can have: coolers that share a place are not told apart.
 *
 * @param results - what `chooseCap` or `fitCooler` returned, one per cooler, at least one, all of one kind; or what
 * `compareCoolers` returned
 * @returns a figure with one row per cooler, the best on top
 * @throws ArgumentError if there is no result, or the kinds are mixed
 * @example
 * const cooler = coolerFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55 },
 *   { powerW: 90, temperatureC: 71 },
 * ]);
 * figureOfComparison([cooler]).layout.xaxis?.title?.text; // => 'Thermal resistance, die to intake air, K/W'
 * figureOfComparison([]); // => throws /at least one/
 */
export function figureOfComparison(
  results: readonly CapChoice[] | readonly CoolerModel[] | CoolerComparison,
): Figure {
  if ('kind' in results) return comparisonOfCoolers(results);
  if (results.length === 0) {
    throw new ArgumentError({
      caller: 'figureOfComparison',
      argument: 'results',
      expected: 'at least one cap choice or cooler model',
      received: results,
    });
  }
  if (results.every((result) => result.kind === 'cap-choice')) return comparisonOfCaps(results);
  if (results.every((result) => result.kind === 'cooler-model')) return comparisonOfResistances(results);
  throw new ArgumentError({
    caller: 'figureOfComparison',
    argument: 'results',
    expected: 'of one kind, all from chooseCap or all from fitCooler',
    received: results,
    remedy: 'draw two pictures, one for the caps and one for the resistances',
  });
}

function comparisonOfCaps(choices: readonly CapChoice[]): Figure {
  // Rows are counted from the bottom, so the best comes last.
  const sorted = [...choices].sort(
    (a, b) =>
      a.powerCapW - b.powerCapW || (b.steadyTemperatureC.value ?? 0) - (a.steadyTemperatureC.value ?? 0),
  );
  const caps = sorted.map((choice) => choice.powerCapW);
  const bars = sorted.map(capsAtLimit);
  const defaults = [...new Set(choices.map((choice) => choice.scenario.defaultCapW))];
  const defaultCapW = defaults.length === 1 ? defaults[0] : undefined;
  const limits = new Set(choices.map((choice) => choice.scenario.limitC));
  const limit = limits.size === 1 ? formatNumber(sorted[0].scenario.limitC, '°C') : 'its limit';
  const best = sorted.at(-1)!;
  const able = defaultCapW === undefined ? [] : sorted.filter((choice) => choice.powerCapW >= defaultCapW);
  const upTo = best.bindingConstraint === 'tested-range' ? 'at least up to' : 'up to';
  let title = `${shortened(best.cooler)} holds ${limit} ${upTo} ${formatNumber(best.powerCapW, 'W')}`;
  if (defaultCapW !== undefined) {
    const cap = `the default cap of ${formatNumber(defaultCapW, 'W')}`;
    if (able.length > 0 && able.length === sorted.length)
      title = `Every cooler here holds ${limit} at ${cap}`;
    else if (able.length > 0)
      title = `${listed(able.map((choice) => shortened(choice.cooler)))} ${able.length === 1 ? 'holds' : 'hold'} ${limit} at ${cap}`;
    else if (sorted.length === 1) title = `${title}, less than ${cap}`;
    else title = `No cooler here holds ${limit} at ${cap}; ${shortened(best.cooler)} comes closest`;
  }
  const words = new Set(choices.map((choice) => scenarioInWords(choice.scenario)));
  return dotRows({
    title,
    subtitle: `${words.size === 1 ? [...words][0] : 'Scenarios differ.'} Bar: where the 95 % band meets the limit.${sorted.some((choice) => isExtrapolated(choice.frequencyMHz)) ? ' *Extrapolated.' : ''}`,
    xTitle: 'Power cap, W',
    unit: 'W',
    names: sorted.map((choice) => shortened(choice.cooler, longestName)),
    values: caps,
    bars,
    labels: sorted.map((choice) => {
      const cap = formatNumber(choice.powerCapW, 'W');
      return choice.frequencyMHz.value === undefined ? cap : `${cap}, ${starred(choice.frequencyMHz, 'MHz')}`;
    }),
    least: 10,
    ...(defaultCapW === undefined
      ? {}
      : { reference: { x: defaultCapW, text: `default ${formatNumber(defaultCapW, 'W')}` } }),
  });
}

function comparisonOfResistances(models: readonly CoolerModel[]): Figure {
  const resistanceOf = (model: CoolerModel): number => model.resistanceLaw.thermalResistanceKPerW;
  const sorted = [...models].sort((a, b) => resistanceOf(b) - resistanceOf(a));
  const nameOf = (model: CoolerModel): string => shortened(model.cooler ?? model.label, longestName);
  const atPower = (model: CoolerModel): string => formatNumber(model.resistanceLaw.atPowerW, 'W');
  const lowest = sorted.at(-1)!;
  const highest = sorted[0];
  const title =
    sorted.length === 1
      ? `${nameOf(lowest)} has ${formatEstimate(lowest.thermalResistanceKPerW, 'K/W')} at ${atPower(lowest)}`
      : `${nameOf(lowest)} warms by ${formatNumber(resistanceOf(lowest))} K per watt, ${nameOf(highest)} by ${formatNumber(resistanceOf(highest))}`;
  return dotRows({
    title,
    subtitle: `Bar: 95 % interval. ${mountsInWords(models)}`,
    xTitle: 'Thermal resistance, die to intake air, K/W',
    unit: 'K/W',
    names: sorted.map(nameOf),
    values: sorted.map(resistanceOf),
    bars: sorted.map((model) => intervalOf(model.thermalResistanceKPerW)),
    labels: sorted.map(
      (model) => `${formatEstimate(model.thermalResistanceKPerW, 'K/W')} at ${atPower(model)}`,
    ),
    least: 0.1,
  });
}

function comparisonOfCoolers(comparison: CoolerComparison): Figure {
  const { powerW, soundLevelDb, mountAllowanceFraction } = comparison;
  const sound = soundLevelDb === undefined ? '' : ` and ${formatNumber(soundLevelDb, 'dB')}`;
  // Rows are counted from the bottom, so the best comes last.
  const coolers = comparison.coolers.toReversed();
  const allowed = coolers.some((cooler) => cooler.mountSpreadSource === 'allowed');
  const spread = allowed
    ? `, ${formatNumber(100 * mountAllowanceFraction)} % (one standard deviation) where one mount was logged`
    : '';
  return dotRows({
    title: comparison.summary.replace(/\.$/, ''),
    subtitle: `Bar: 95 % interval of each cooler with the spread between its mounts${spread}. Places at ${formatNumber(100 * comparison.confidence)} % confidence together.${coolers.some((cooler) => isExtrapolated(cooler.thermalResistanceKPerW)) ? ' *Extrapolated.' : ''}`,
    xTitle: `Thermal resistance at ${formatNumber(powerW, 'W')}${sound}, die to intake air, K/W`,
    unit: 'K/W',
    names: coolers.map((cooler) => shortened(cooler.label, longestName)),
    values: coolers.map((cooler) => requireValue(cooler.thermalResistanceKPerW)),
    bars: coolers.map((cooler) => intervalOf(cooler.thermalResistanceKPerW)),
    labels: coolers.map(({ thermalResistanceKPerW, fanSpeedRpm, places: [best, worst] }) => {
      const resistance = starred(thermalResistanceKPerW, 'K/W');
      const fan = fanSpeedRpm === undefined ? '' : ` at ${formatNumber(fanSpeedRpm, 'rpm')}`;
      return `${resistance}${fan}, ${best === worst ? `place ${best}` : `places ${best} to ${worst}`}`;
    }),
    least: 0.1,
  });
}

/** Ends of a bar; an end that is not known is not drawn. */
type Bar = readonly [low: number | undefined, high: number | undefined];

interface DotRows {
  readonly title: string;
  readonly subtitle: string;
  readonly xTitle: string;
  readonly unit: string;
  readonly names: readonly string[];
  readonly values: readonly number[];
  readonly bars: readonly (Bar | undefined)[];
  readonly labels: readonly string[];
  readonly least: number;
  readonly reference?: { readonly x: number; readonly text: string };
}

function dotRows(rows: DotRows): Figure {
  const { names, values, bars, reference } = rows;
  const xRange = roomAround(
    [
      ...values,
      ...bars.flatMap((bar) => bar ?? []).filter((end) => end !== undefined),
      ...(reference === undefined ? [] : [reference.x]),
    ],
    rows.least,
    0.09,
  );
  const intervals: IntervalBars = {
    type: 'data',
    symmetric: false,
    array: bars.map((bar, i) => barLength(bar?.[1], values[i])),
    arrayminus: bars.map((bar, i) => barLength(values[i], bar?.[0])),
    color: blue,
    thickness: 2,
    width: 6,
  };
  const trace: Trace = {
    type: 'scatter',
    mode: 'markers',
    name: rows.xTitle,
    x: values.map(light),
    y: names.map((_, row) => row),
    marker: { color: blue, size: 11, symbol: 'circle' },
    error_x: intervals,
    hovertemplate: `%{x} ${rows.unit}<extra></extra>`,
  };
  const panel: Panel = {
    yTitle: '',
    weight: 1,
    // Room above the top row for the reference's name.
    range: [-0.6, names.length - (reference === undefined ? 0.4 : 0.2)],
    traces: [trace],
    rows: names,
    endLabels: rows.labels.map((text, row) => ({ text, y: row, color: ink })),
    ...(reference === undefined
      ? {}
      : {
          shapes: [
            {
              type: 'line' as const,
              x0: reference.x,
              x1: reference.x,
              wholeHeight: true as const,
              layer: 'below' as const,
              line: { color: quiet, width: 1.4, dash: 'dash' },
            },
          ],
          labels: [
            {
              text: reference.text,
              x: reference.x,
              y: names.length - 0.2,
              color: quiet,
              xanchor: 'right' as const,
              yanchor: 'top' as const,
              xshift: -5,
            },
          ],
        }),
  };
  return panelFigure({
    title: rows.title,
    subtitle: rows.subtitle,
    description: `${names
      .map((name, i) => `${name}: ${rows.labels[i]}`)
      .reverse()
      .join('; ')}.`,
    xTitle: rows.xTitle,
    xRange,
    heightPx: 50 + 46 * names.length,
    panels: [panel],
    hovermode: 'closest',
  });
}

/** Caps at which the upper and the lower edge of the band meet the limit, read off the drawn rows. */
function capsAtLimit(choice: CapChoice): Bar | undefined {
  const rows = choice.temperatureAgainstCap;
  const { limitC } = choice.scenario;
  const crossing = (edge: 'lowC' | 'highC'): number | undefined => {
    for (let i = 1; i < rows.length; i++) {
      const before = rows[i - 1];
      const after = rows[i];
      if (before[edge] <= limitC && after[edge] > limitC) {
        const share = (limitC - before[edge]) / (after[edge] - before[edge]);
        return before.powerCapW + share * (after.powerCapW - before.powerCapW);
      }
    }
    return undefined;
  };
  // A limit on the peaks is not the limit of the drawn mean: no bar rather than a wrong one.
  if (choice.scenario.limitAppliesTo === 'peak') return undefined;
  // Where something else binds, the limit is met beyond the dot and says nothing about it.
  if (choice.bindingConstraint !== 'temperature') return undefined;
  return [crossing('highC'), crossing('lowC')];
}

function barLength(end: number | undefined, start: number | undefined): number | null {
  return end === undefined || start === undefined ? null : light(Math.max(0, end - start));
}

function intervalOf(estimate: Estimate): Bar | undefined {
  return estimate.kind === 'estimated' ? estimate.interval95 : undefined;
}

function listed(names: readonly string[]): string {
  return names.length < 2 ? names.join('') : `${names.slice(0, -1).join(', ')} and ${names.at(-1)}`;
}
