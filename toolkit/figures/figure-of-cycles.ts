import { ArgumentError, requireKind } from '../errors.js';
import { formatNumber } from '../numerics/format-estimate.js';
import type { CycleCount } from '../wear/cycle-count.js';
import type { Figure, Trace } from './figure.js';
import { shortened } from './figure-text.js';
import { lightPalette } from './palette.js';
import { type Panel, panelFigure, roomAround } from './panels.js';
import { light } from './thinned.js';

const { blue, red, ochre } = lightPalette;

/** Each count has a colour and a shape of its own, so that neither carries the meaning alone. */
const LOOKS = [
  { color: blue, symbol: 'circle' },
  { color: red, symbol: 'diamond' },
  { color: ochre, symbol: 'square' },
] as const;

/** From this ratio of the largest to the smallest number on, the scale is logarithmic. */
const LOGARITHMIC_FROM = 30;

/**
 * Temperature cycles by their range, one stem for each range of the table: how many, or how many an hour where all
 * durations are known. Up to three counts in one picture.
 *
 * @param counts - what `countCycles` returned, one or up to three
 * @returns a figure with the range in K along the bottom
 * @throws ArgumentError if there is no count, more than three, or none of them has a cycle
 * @example
 * const count = countCycles({ label: 'first act', timeS: [0, 600, 1200, 1800], temperatureC: [30, 80, 40, 75] });
 * figureOfCycles(count).layout.meta.title; // => 'The largest temperature cycle of first act spans 50 K'
 * figureOfCycles([]); // => throws /one to three/
 */
export function figureOfCycles(counts: CycleCount | readonly CycleCount[]): Figure {
  const caller = 'figureOfCycles';
  const list: readonly CycleCount[] = 'kind' in counts ? [counts] : counts;
  if (list.length === 0 || list.length > LOOKS.length)
    throw new ArgumentError({
      caller,
      argument: 'counts',
      expected: 'one to three cycle counts',
      received: counts,
      remedy: 'make them with countCycles',
    });
  for (const [i, count] of list.entries())
    requireKind(count, 'cycle-count', {
      caller,
      argument: 'kind' in counts ? 'counts' : `counts[${i}]`,
      remedy: 'make one with countCycles',
    });
  const perHour = list.every(({ durationS }) => durationS !== undefined && durationS > 0);
  const rows = list.map(({ ranges, durationS }) =>
    ranges.map(({ rangeK, cycleCount }) => ({
      rangeK,
      height: perHour ? (cycleCount * 3600) / durationS! : cycleCount,
    })),
  );
  const heights = rows.flat().map(({ height }) => height);
  if (heights.length === 0)
    throw new ArgumentError({
      caller,
      argument: 'counts',
      expected: 'at least one with a cycle',
      received: list.map(({ label }) => label).join(', '),
      remedy: 'a temperature that does not change has none; check smallestRangeK',
    });
  const highest = Math.max(...heights);
  const lowest = Math.min(...heights);
  const logarithmic = highest > LOGARITHMIC_FROM * lowest;
  const floor = logarithmic ? lowest / 2 : 0;
  const unit = perHour ? 'cycles an hour' : 'cycles';
  const panel: Panel = {
    yTitle: perHour ? 'Cycles, 1/h' : 'Cycles, number',
    weight: 1,
    range: logarithmic ? [Math.log10(floor), Math.log10(1.6 * highest)] : [0, 1.12 * highest],
    ...(logarithmic ? { scale: 'log' as const } : {}),
    traces: rows.flatMap((stems, i) => tracesOf(stems, list[i].label, floor, LOOKS[i], unit)),
    endLabels: list.map(({ label }, i) => ({
      text: `${['●', '◆', '■'][i]} ${shortened(label, 24)}`,
      y: logarithmic ? Math.log10(highest) : highest,
      color: LOOKS[i].color,
    })),
  };
  const largest = list.map(({ cycles }) => cycles.reduce((most, { rangeK }) => Math.max(most, rangeK), 0));
  const ranges = rows.flat().map(({ rangeK }) => rangeK);
  const [first] = list;
  const leftOut = list.some(({ leftOutCount }) => leftOutCount > 0)
    ? ` Cycles below ${formatNumber(Math.max(...list.map(({ smallestRangeK }) => smallestRangeK)), 'K')} are left out.`
    : '';
  return panelFigure({
    title: titleOf(list, largest),
    subtitle: `Rainflow count, ${first.history === 'repeating' ? 'the series repeated' : 'open ranges as half cycles'}${first.rangeStepK === 0 ? '' : `; ranges rounded to ${formatNumber(first.rangeStepK, 'K')}`}.${leftOut}`,
    description: list.map(({ summary }) => summary).join(' '),
    xTitle: 'Temperature range of the cycle, K',
    xRange: [0, roomAround([0, ...ranges], 5)[1]],
    heightPx: 300,
    panels: [panel],
    hovermode: 'closest',
  });
}

function tracesOf(
  stems: readonly { readonly rangeK: number; readonly height: number }[],
  label: string,
  floor: number,
  look: (typeof LOOKS)[number],
  unit: string,
): readonly Trace[] {
  const rangesK = stems.map(({ rangeK }) => light(rangeK));
  const heights = stems.map(({ height }) => light(height));
  return [
    {
      type: 'scatter',
      mode: 'lines',
      name: `${label}: stems`,
      x: rangesK.flatMap((rangeK) => [rangeK, rangeK, null]),
      y: heights.flatMap((height) => [light(floor), height, null]),
      line: { color: look.color, width: 1.6 },
      connectgaps: false,
      hoverinfo: 'skip',
    },
    {
      type: 'scatter',
      mode: 'markers',
      name: label,
      x: rangesK,
      y: heights,
      marker: { color: look.color, size: 8, symbol: look.symbol },
      hovertemplate: `%{x} K: %{y:.3~g} ${unit}<extra></extra>`,
    },
  ];
}

function titleOf(list: readonly CycleCount[], largestK: readonly number[]): string {
  const name = (i: number): string => shortened(list[i].label);
  if (list.length === 1)
    return `The largest temperature cycle of ${name(0)} spans ${formatNumber(largestK[0], 'K')}`;
  const order = list.map((_, i) => i).sort((a, b) => largestK[b] - largestK[a]);
  return `The largest cycle spans ${order.map((i) => `${formatNumber(largestK[i], 'K')} with ${name(i)}`).join(', ')}`;
}
