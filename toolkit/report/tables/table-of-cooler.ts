import { mountsInWords } from '../../figures/mounts-in-words.js';
import { formatNumber, formatValue } from '../../numerics/format-estimate.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { plusMinusNote, type Table, type TableCell } from './table.js';

/**
 * A cooler model as a table: resistance, stages, ladder, air, noise, and the range it was tested in.
 *
 * @param model - what `fitCooler` or `coolerFromSteadyPoints` returned
 * @returns a table with the columns quantity, value and unit
 * @example
 * const model = coolerFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55 },
 *   { powerW: 90, temperatureC: 71 },
 * ]);
 * tableOfCooler(model).columns; // => [{ name: 'Quantity' }, { name: 'Value' }, { name: 'Unit' }]
 */
export function tableOfCooler(model: CoolerModel): Table {
  const { resistanceLaw, testedRange, noise } = model;
  const rows: TableCell[][] = [
    [
      `Thermal resistance at ${formatNumber(resistanceLaw.atPowerW, 'W')}`,
      model.thermalResistanceKPerW,
      'K/W',
    ],
  ];
  model.stages.forEach((stage, i) => {
    rows.push([`Stage ${i + 1}: time constant`, stage.timeConstantS, 's']);
    rows.push([`Stage ${i + 1}: resistance`, stage.resistanceKPerW, 'K/W']);
  });
  // A ladder made of a stage that the data do not determine would be numbers without meaning.
  const ladder = model.stages.every(({ resistanceKPerW }) => resistanceKPerW.kind === 'estimated')
    ? model.ladder
    : [];
  ladder.forEach((rung, i) => {
    rows.push([`Ladder ${i + 1}: heat capacity`, twoDigits(rung.heatCapacityJPerK), 'J/K']);
    rows.push([`Ladder ${i + 1}: resistance outward`, twoDigits(rung.resistanceKPerW), 'K/W']);
  });
  if (model.sensorLagS !== undefined) rows.push(['Sensor lag', model.sensorLagS, 's']);
  rows.push(['Intake air', model.ambientC, '°C']);
  rows.push([
    'Exponent of resistance over power',
    resistanceLaw.exponentSource === 'fitted'
      ? formatNumber(-resistanceLaw.powerExponent)
      : `${formatNumber(-resistanceLaw.powerExponent)} (assumed)`,
    '',
  ]);
  rows.push(['Standard deviation of residuals', noise.standardDeviationK, 'K']);
  rows.push(['Independent samples', Number(noise.effectiveSampleCount.toPrecision(3)), '']);
  rows.push(['Tested power', rangeText(testedRange.powerW), 'W']);
  rows.push(['Tested temperature', rangeText(testedRange.temperatureC), '°C']);
  return {
    kind: 'table',
    title: [model.cooler ?? model.label, model.enclosure].filter((part) => part !== undefined).join(', '),
    columns: [{ name: 'Quantity' }, { name: 'Value' }, { name: 'Unit' }],
    rows,
    notes: [`${plusMinusNote} ${mountsInWords([model])}`],
  };
}

/**
 * Cooler models side by side, one row each, the lowest resistance first.
 *
 * @param models - at least one model
 * @returns a table
 * @example
 * const averages = [{ powerW: 60, temperatureC: 55 }, { powerW: 90, temperatureC: 71 }];
 * tableOfCoolers([coolerFromSteadyPoints(averages)]).rows.length; // => 1
 */
export function tableOfCoolers(models: readonly CoolerModel[]): Table {
  const sorted = [...models].sort(
    (a, b) => a.resistanceLaw.thermalResistanceKPerW - b.resistanceLaw.thermalResistanceKPerW,
  );
  return {
    kind: 'table',
    columns: [
      { name: 'Cooler' },
      { name: 'Thermal resistance', unit: 'K/W' },
      { name: 'at power', unit: 'W' },
      { name: 'Time constants', unit: 's' },
      { name: 'Runs' },
    ],
    rows: sorted.map((model) => [
      model.cooler ?? model.label,
      model.thermalResistanceKPerW,
      model.resistanceLaw.atPowerW,
      model.stages.length === 0
        ? 'not logged'
        : model.stages.map(({ timeConstantS }) => formatValue(timeConstantS)).join(', '),
      model.runLabels.length,
    ]),
    notes: [`${plusMinusNote} ${mountsInWords(models)}`],
  };
}

function rangeText([low, high]: readonly [number, number]): string {
  const [from, to] = [formatNumber(low), formatNumber(high)];
  return from === to ? from : `${from} to ${to}`;
}

/** A rung follows from the stages, and no better than they are known; the model itself keeps all digits. */
function twoDigits(value: number): number {
  return Number(value.toPrecision(2));
}
