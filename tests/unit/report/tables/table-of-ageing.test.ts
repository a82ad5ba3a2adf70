import { describe, expect, it } from 'vitest';
import { tableText } from '../../../../toolkit/report/tables/table.js';
import { tableOfAgeing, tableOfAssumptions } from '../../../../toolkit/report/tables/table-of-ageing.js';
import { tableOfCycles } from '../../../../toolkit/report/tables/table-of-cycles.js';
import { countCycles } from '../../../../toolkit/wear/count-cycles.js';
import { relativeAgeing } from '../../../../toolkit/wear/relative-ageing.js';

const timeS = [0, 900, 1800];
const uncapped = { label: 'default cap', timeS, temperatureC: [30, 90, 30] };
const capped = { label: 'cap of 92 W', timeS, temperatureC: [30, 75, 30] };
const certain = {
  rangeExponent: 2,
  frequencyExponent: 0,
  cyclingActivationEnergyEv: 0,
  steadyActivationEnergyEv: { low: 0.3, likely: 0.7, high: 1.1, source: 'a guess' },
  smallestRangeK: 2,
};

describe('tables of wear', () => {
  it('list cycles by range and say what was left out', () => {
    const table = tableOfCycles(countCycles([20, 60, 59, 60, 20], { smallestRangeK: 2 }));
    expect(table.rows).toEqual([[40, 1]]);
    expect(table.notes?.[1]).toBe('Left out below 2 K: 1 cycles.');
  });

  it('give two digits of each ratio and its range', () => {
    const table = tableOfAgeing(relativeAgeing(uncapped, capped, certain));
    expect(table.rows[0]).toEqual(['temperature cycles', 1.8, 1.8, 1.8]);
    expect(table.rows[1][1]).toBeGreaterThan(1);
    expect(tableText(table)).toContain('default cap against cap of 92 W, per hour');
  });

  it('print every assumption with its source and what it does to the ratio', () => {
    const { rows } = tableOfAssumptions(relativeAgeing(uncapped, capped, certain));
    expect(rows).toHaveLength(6);
    const [statement, origin, low, high, source] = rows[3];
    expect([statement, origin, source]).toEqual([
      'activation energy of ageing by time at temperature 0.7 eV (0.3 to 1.1 eV considered)',
      'given',
      'a guess',
    ]);
    expect(Number(low)).toBeLessThan(Number(high));
    expect(rows[0].slice(2, 4)).toEqual([null, null]);
  });

  it('say why there is no ratio', () => {
    const still = { label: 'resting', timeS, temperatureC: [30, 30.5, 30] };
    expect(tableOfAgeing(relativeAgeing(uncapped, still)).rows[0]).toEqual([
      'temperature cycles',
      "'resting' has no cycle of 2 K or more",
      null,
      null,
    ]);
  });
});
