import type { CapFrontier } from '../../cap/frontier/frontier.js';
import { chancePercent } from './chance-percent.js';
import { plusMinusNote, type Table, type TableCell } from './table.js';

/** More rows than this nobody reads; the figure shows the rest. */
const MOST_ROWS = 24;

/**
 * Caps against what they cost and bring, the lowest first; of many caps an even selection with the knee, the highest
 * allowed and the most efficient one always among them.
 *
 * @param frontier - what `capFrontier` returned
 * @returns a table
 * @example
 * const points = [
 *   { powerW: 60, temperatureC: 52.1, frequencyMHz: 3180 },
 *   { powerW: 100, temperatureC: 72.2, frequencyMHz: 3650 },
 * ];
 * const cooler = coolerFromSteadyPoints(points);
 * const frontier = capFrontier(cooler, curveFromSteadyPoints(points), { limitC: 70, ambientC: 24, maxCapW: 100 });
 * tableOfFrontier(frontier).columns[0]; // => { name: 'Power cap', unit: 'W' }
 */
export function tableOfFrontier(frontier: CapFrontier): Table {
  const { points, knee, highestAllowedW, mostEfficientW } = frontier;
  const marked = new Map<number, string[]>();
  const mark = (capW: number | undefined, word: string): void => {
    if (capW !== undefined) marked.set(capW, [...(marked.get(capW) ?? []), word]);
  };
  mark(highestAllowedW, 'highest allowed');
  mark(knee?.powerCapW, 'knee');
  mark(mostEfficientW, 'most work per Wh');
  const stride = Math.max(1, Math.ceil((points.length - 1) / (MOST_ROWS - 1)));
  const shown = points.filter(
    ({ powerCapW }, i) => i % stride === 0 || i === points.length - 1 || marked.has(powerCapW),
  );
  const knows = (name: 'frequencyMHz' | 'throughputPerS' | 'workPerWh'): boolean =>
    points.some((point) => point[name].kind === 'estimated');
  const withSound = points.some(({ soundLevelDb }) => soundLevelDb !== undefined);
  const withFan = points.some(({ fanSpeedRpm }) => fanSpeedRpm !== undefined);
  return {
    kind: 'table',
    title: `${frontier.cooler}: caps against what they cost and bring`,
    columns: [
      { name: 'Power cap', unit: 'W' },
      { name: 'Steady temperature', unit: '°C' },
      { name: 'Chance of exceeding the limit', unit: '%' },
      ...(knows('frequencyMHz') ? [{ name: 'Frequency', unit: 'MHz' }] : []),
      ...(knows('throughputPerS') ? [{ name: 'Throughput', unit: '1/s' }] : []),
      ...(knows('workPerWh') ? [{ name: 'Efficiency', unit: '1/Wh' }] : []),
      ...(withFan ? [{ name: 'Fan speed', unit: 'rpm' }] : []),
      ...(withSound ? [{ name: 'Sound level', unit: 'dB' }] : []),
      { name: 'Remark' },
    ],
    rows: shown.map((point): readonly TableCell[] => [
      point.powerCapW,
      point.temperatureC,
      chancePercent(point.chanceOfPassingLimit),
      ...(knows('frequencyMHz') ? [point.frequencyMHz] : []),
      ...(knows('throughputPerS') ? [point.throughputPerS] : []),
      ...(knows('workPerWh') ? [point.workPerWh] : []),
      ...(withFan ? [point.fanSpeedRpm ?? null] : []),
      ...(withSound ? [point.soundLevelDb ?? null] : []),
      [
        ...(marked.get(point.powerCapW) ?? []),
        ...(point.allowed ? [] : [`not allowed: ${point.forbiddenBy}`]),
        ...(point.dominated ? ['less power does as much'] : []),
      ].join(', '),
    ]),
    notes: [plusMinusNote, ...(knee === undefined ? [] : [`Knee: ${knee.definition}.`])],
  };
}
