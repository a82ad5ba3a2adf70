import { formatNumber } from '../../numerics/format-estimate.js';
import type { CoolerComparison } from '../../thermal/compare/cooler-comparison.js';
import { plusMinusNote, type Table } from './table.js';

/**
 * Coolers compared, one row each, the lowest resistance first: resistance and rise at the power of the comparison, the
 * places each can have, the fan speed where they were compared at equal sound level.
 *
 * @param comparison - what `compareCoolers` returned
 * @returns a table
 * @example
 * const model = (label: string, temperatureC: number) =>
 *   coolerFromSteadyPoints([{ powerW: 80, temperatureC, ambientC: 22 }], { label });
 * const table = tableOfComparison(compareCoolers([model('flat 41 mm', 78), model('tower 88 mm', 52)], { powerW: 80 }));
 * table.rows.map((row) => row[0]); // => ['tower 88 mm', 'flat 41 mm']
 */
export function tableOfComparison(comparison: CoolerComparison): Table {
  const { coolers, powerW, ambientC, soundLevelDb, confidence } = comparison;
  const withTemperature = ambientC !== undefined;
  const withSound = soundLevelDb !== undefined;
  const sound = withSound ? ` and ${formatNumber(soundLevelDb, 'dB')}` : '';
  return {
    kind: 'table',
    title: `Coolers at ${formatNumber(powerW, 'W')}${sound}`,
    columns: [
      { name: 'Cooler' },
      { name: 'Places' },
      { name: 'Thermal resistance', unit: 'K/W' },
      { name: 'Steady rise', unit: 'K' },
      ...(withTemperature ? [{ name: `Steady in air of ${formatNumber(ambientC, '°C')}`, unit: '°C' }] : []),
      ...(withSound ? [{ name: 'Fan speed', unit: 'rpm' }] : []),
      { name: 'Mounts logged' },
      { name: 'Spread between mounts', unit: '%' },
    ],
    rows: coolers.map((cooler) => {
      const [best, worst] = cooler.places;
      return [
        cooler.label,
        best === worst ? `${best}` : `${best} to ${worst}`,
        cooler.thermalResistanceKPerW,
        cooler.steadyRiseK,
        ...(withTemperature ? [cooler.steadyTemperatureC ?? null] : []),
        ...(withSound ? [cooler.fanSpeedRpm === undefined ? null : Math.round(cooler.fanSpeedRpm)] : []),
        cooler.mountCount,
        `${formatNumber(100 * cooler.mountSpreadFraction)} (${cooler.mountSpreadSource})`,
      ];
    }),
    notes: [
      plusMinusNote,
      `Coolers that share a place are not told apart at ${formatNumber(100 * confidence)} % confidence, all pairs together.`,
    ],
  };
}

/**
 * Every pair of a comparison: the difference, the verdict, and how many more mounts of each would tell.
 *
 * @param comparison - what `compareCoolers` returned
 * @returns a table, first minus second, in the order of the models
 * @example
 * const model = (label: string, temperatureC: number) =>
 *   coolerFromSteadyPoints([{ powerW: 80, temperatureC, ambientC: 22 }], { label, temperatureUncertaintyK: 0.5 });
 * const table = tableOfPairs(compareCoolers([model('flat 41 mm', 78), model('flat 58 mm', 75)], { powerW: 80 }));
 * table.rows[0].slice(0, 3); // => ['flat 41 mm', 'not told apart from', 'flat 58 mm']
 */
export function tableOfPairs(comparison: CoolerComparison): Table {
  return {
    kind: 'table',
    title: `Pairs at ${formatNumber(comparison.powerW, 'W')}`,
    columns: [
      { name: 'Cooler' },
      { name: 'Verdict' },
      { name: 'Other cooler' },
      { name: 'Difference', unit: 'K/W' },
      { name: 'Difference of the rise', unit: 'K' },
      { name: 'Further mounts of each to tell' },
    ],
    rows: comparison.pairs.map((pair) => [
      pair.first,
      pair.verdict === 'not told apart' ? 'not told apart from' : `${pair.verdict} than`,
      pair.second,
      pair.differenceKPerW,
      pair.riseDifferenceK,
      pair.verdict === 'not told apart' ? pair.moreMountsOfEachCount : null,
    ]),
    notes: [
      plusMinusNote,
      'The intervals are those of each pair alone; the verdicts hold for all pairs together.',
    ],
  };
}
