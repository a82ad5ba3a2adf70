import { formatNumber } from '../numerics/format-estimate.js';
import type { PowerCurve } from '../power/power-curve.js';
import { scaled } from './scaled.js';
import { plusMinusNote, type Table } from './table.js';

/**
 * A power curve as a table: what a watt and a kelvin change, and the range it was tested in.
 *
 * @param curve - what `fitPowerCurve` or `curveFromSteadyPoints` returned
 * @returns a table with the columns quantity, value and unit
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55, frequencyMHz: 3100 },
 *   { powerW: 90, temperatureC: 70, frequencyMHz: 3520 },
 *   { powerW: 118, temperatureC: 84, frequencyMHz: 3810 },
 * ]);
 * tableOfCurve(curve).rows[0][0]; // => 'Frequency per watt'
 */
export function tableOfCurve(curve: PowerCurve): Table {
  const { testedRange } = curve;
  return {
    kind: 'table',
    title: curve.processor ?? curve.label,
    columns: [{ name: 'Quantity' }, { name: 'Value' }, { name: 'Unit' }],
    rows: [
      ['Frequency per watt', curve.frequencyPerPowerMHzPerW, 'MHz/W'],
      ['Frequency per kelvin', curve.frequencyPerTemperatureMHzPerK, 'MHz/K'],
      ...(curve.throughputPerMHz === undefined
        ? []
        : [['Work per second and gigahertz', scaled(curve.throughputPerMHz, 1000), '1/(s GHz)']]),
      ['Form', curve.form, ''],
      ['Tested power', range(testedRange.powerW), 'W'],
      ['Tested frequency', range(testedRange.frequencyMHz), 'MHz'],
      ['Tested temperature', range(testedRange.temperatureC), '°C'],
      ['Steady points', curve.points.length, ''],
    ],
    notes: [plusMinusNote],
  };
}

function range([low, high]: readonly [number, number]): string {
  return low === high ? formatNumber(low) : `${formatNumber(low)} to ${formatNumber(high)}`;
}
