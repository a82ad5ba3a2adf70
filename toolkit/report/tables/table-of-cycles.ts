import type { CycleCount } from '../../wear/cycle-count.js';
import type { Table } from './table.js';

/**
 * The cycles of a temperature series by their range, the largest first.
 *
 * @param count - what `countCycles` returned
 * @returns a table
 * @example
 * tableOfCycles(countCycles([-2, 1, -3, 5, -1, 3, -4, 4, -2])).rows[1]; // => [8, 1]
 */
export function tableOfCycles(count: CycleCount): Table {
  return {
    kind: 'table',
    title: `${count.label}: temperature cycles`,
    columns: [{ name: 'Range', unit: 'K' }, { name: 'Cycles' }],
    rows: count.ranges.map(({ rangeK, cycleCount }) => [rangeK, cycleCount]),
    notes: [
      count.history === 'repeating'
        ? 'Rainflow count of the series repeated.'
        : 'Rainflow count; ranges that the series never closes are half cycles.',
      ...(count.leftOutCount > 0
        ? [`Left out below ${count.smallestRangeK} K: ${count.leftOutCount} cycles.`]
        : []),
    ],
  };
}
