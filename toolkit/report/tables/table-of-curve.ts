import type { Estimate } from '../../numerics/estimate.js';
import { estimated } from '../../numerics/estimates.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { nameOfCurve } from '../../power/name-of-curve.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { scaled } from './scaled.js';
import { plusMinusNote, type Table, type TableCell } from './table.js';

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
    title: nameOfCurve(curve) ?? `Power curve from ${curve.runLabels.length} runs`,
    columns: [{ name: 'Quantity' }, { name: 'Value' }, { name: 'Unit' }],
    rows: [
      ['Frequency per watt', curve.frequencyPerPowerMHzPerW, 'MHz/W'],
      ['Frequency per kelvin', curve.frequencyPerTemperatureMHzPerK, 'MHz/K'],
      ...(curve.throughputPerMHz === undefined
        ? []
        : [['Work per second and gigahertz', scaled(curve.throughputPerMHz, 1000), '1/(s GHz)']]),
      ...throughputRows(curve),
      ...voltageRows(curve),
      ['Form', curve.form, ''],
      ['Tested power', range(testedRange.powerW), 'W'],
      ['Tested frequency', range(testedRange.frequencyMHz), 'MHz'],
      ['Tested temperature', range(testedRange.temperatureC), '°C'],
      ['Steady points', curve.points.length, ''],
    ],
    notes: [plusMinusNote],
  };
}

function throughputRows({ throughput }: PowerCurve): Table['rows'] {
  if (throughput === undefined) return [];
  const { form, waitS, megacycleCount, covariance, degreesOfFreedom } = throughput;
  const row = (index: number, value: number): Estimate =>
    estimated(value, Math.sqrt(covariance.matrix[index][index]), { degreesOfFreedom });
  return [
    ['Work against frequency', form === 'proportional' ? 'proportional' : 'saturating', ''],
    ['Million cycles per unit of work', row(1, megacycleCount), ''],
    ...(form === 'saturating'
      ? [['Wait per unit of work', scaled(row(0, waitS), 1000), 'ms'] satisfies TableCell[]]
      : []),
  ];
}

function voltageRows({ voltage, parameters, covariance, degreesOfFreedom }: PowerCurve): Table['rows'] {
  if (voltage === undefined) return [];
  const parameter = (name: string): Estimate => {
    const index = covariance.parameters.indexOf(name);
    return estimated(parameters[name], Math.sqrt(covariance.matrix[index][index]), { degreesOfFreedom });
  };
  return [
    ['Core voltage at the reference frequency', parameter('referenceVoltageV'), 'V'],
    ['Voltage offset', voltage.offsetMv, 'mV'],
    ['Share of a set offset that reaches the cores', parameter('offsetEffectRatio'), ''],
    ...voltage.offsetLosses.map(({ offsetMv, lossFraction, standardErrorFraction }): TableCell[] => [
      `Work per cycle lost at ${offsetMv} mV`,
      lossFraction === 0 ? 'none beyond noise' : scaled(estimated(lossFraction, standardErrorFraction), 100),
      lossFraction === 0 ? '' : '%',
    ]),
  ];
}

function range([low, high]: readonly [number, number]): string {
  return low === high ? formatNumber(low) : `${formatNumber(low)} to ${formatNumber(high)}`;
}
