import type { AgeingRatio, RelativeAgeing } from '../../wear/relative-ageing.js';
import type { Table, TableCell } from './table.js';

/**
 * Two schedules held against each other: how many times as fast the first ages, by either mechanism, with the range over
 * the assumptions.
 *
 * @param ageing - what `relativeAgeing` returned
 * @returns a table with one row for each mechanism
 * @example
 * const timeS = [0, 900, 1800];
 * const ageing = relativeAgeing(
 *   { label: 'default cap', timeS, temperatureC: [30, 90, 30] },
 *   { label: 'cap of 92 W', timeS, temperatureC: [30, 75, 30] },
 * );
 * tableOfAgeing(ageing).rows.length; // => 2
 */
export function tableOfAgeing(ageing: RelativeAgeing): Table {
  const [first, second] = ageing.schedules;
  return {
    kind: 'table',
    title: `${first.label} against ${second.label}, per hour`,
    columns: [{ name: 'Ageing by' }, { name: 'Times as fast' }, { name: 'Lowest' }, { name: 'Highest' }],
    rows: [
      ['temperature cycles', ...cellsOf(ageing.cycling)],
      ['time at temperature', ...cellsOf(ageing.steady)],
    ],
    notes: ['Lowest and highest: over all combinations of the ends of the assumptions. Relative only.'],
  };
}

/**
 * Everything a comparison of two schedules assumes, with its source, and what either end of each range makes of the ratio.
 *
 * @param ageing - what `relativeAgeing` returned
 * @returns a table with one row for each assumption
 * @example
 * const timeS = [0, 900, 1800];
 * const ageing = relativeAgeing(
 *   { label: 'default cap', timeS, temperatureC: [30, 90, 30] },
 *   { label: 'cap of 92 W', timeS, temperatureC: [30, 75, 30] },
 *   { rangeExponent: 2 },
 * );
 * tableOfAssumptions(ageing).rows[0].slice(0, 2); // => ['damage of a cycle grows with its range to the power 2', 'given']
 */
export function tableOfAssumptions(ageing: RelativeAgeing): Table {
  const sensitivities = [ageing.cycling, ageing.steady].flatMap((ratio) =>
    ratio.kind === 'compared' ? ratio.sensitivities : [],
  );
  return {
    kind: 'table',
    title: 'What is assumed',
    columns: [
      { name: 'Assumption' },
      { name: 'Given or default' },
      { name: 'Ratio at its low end' },
      { name: 'Ratio at its high end' },
      { name: 'Source' },
    ],
    rows: ageing.assumptions.map(({ name, statement, origin, source }) => {
      const at = sensitivities.find((sensitivity) => sensitivity.name === name);
      return [
        statement,
        origin,
        at === undefined ? null : twoDigits(at.lowEndRatio),
        at === undefined ? null : twoDigits(at.highEndRatio),
        source,
      ];
    }),
  };
}

function cellsOf(ratio: AgeingRatio): readonly TableCell[] {
  return ratio.kind === 'compared'
    ? [ratio.speedRatio, ratio.lowRatio, ratio.highRatio].map(twoDigits)
    : [ratio.reason, null, null];
}

/** Laws with assumed exponents carry no more. */
function twoDigits(ratio: number): number {
  return Number(ratio.toPrecision(2));
}
