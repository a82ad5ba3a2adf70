import { expect, test } from 'vitest';
import { chooseCap } from '../../../toolkit/cap/choose/choose-cap.js';
import { figureOfCapChoice } from '../../../toolkit/figures/figure-of-cap-choice.js';
import { loadModel } from '../../../toolkit/report/models/load-model.js';
import { saveModel } from '../../../toolkit/report/models/save-model.js';
import { tableText } from '../../../toolkit/report/tables/table.js';
import { tableOfChoices } from '../../../toolkit/report/tables/table-of-choices.js';
import { plainCooler } from './plain-cooler.js';
import { plainFanCurve, workedCurve } from './worked-curve.js';

const choice = chooseCap(
  plainCooler({ resistanceStandardErrorKPerW: 0.01, degreesOfFreedom: 20 }, { fanSpeedRpm: 1500 }),
  workedCurve(),
  {
    limitC: 80,
    ambientC: { low: 22, high: 28 },
    defaultCapW: 118,
    objective: 'energy-per-job',
    workPerJobCount: 7200,
    supply: { restOfMachineW: 60, efficiencyFraction: 0.9, budgetW: 220 },
    fan: {
      curve: plainFanCurve(),
      sound: { soundLevelDb: 32, fanSpeedRpm: 1500 },
      power: { powerW: 3, fanSpeedRpm: 1500 },
    },
    maxSoundLevelDb: 34,
    voltageOffset: { lowestMv: -40 },
    minThroughputPerS: 3,
  },
);

test('a choice with everything in it is saved and loaded to the last bit', () => {
  expect(loadModel(saveModel(choice))).toEqual(choice);
});

test('the table names what binds, what is set beside the cap, and the objective with its unit', () => {
  const table = tableOfChoices([choice]);
  expect(table.columns.map(({ name, unit }) => (unit === undefined ? name : `${name}, ${unit}`))).toEqual([
    'Cooler',
    'Power cap, W',
    'With it',
    'What binds',
    'Steady temperature, °C',
    'Energy per job, J',
    'Frequency, MHz',
    'Loss against 118 W, %',
    'Chance of exceeding the limit, %',
  ]);
  expect(tableText(table)).toMatch(/\d+ rpm, −40 mV\s.*objective/);
});

test('the picture draws the objective against the cap and names it in the title', () => {
  const { data, layout } = figureOfCapChoice(choice);
  const objective = data.find(({ name }) => name === 'energy per job at this cap')!;
  expect(objective.x).toEqual(choice.temperatureAgainstCap.map(({ powerCapW }) => powerCapW));
  expect(layout.meta?.title).toMatch(/^Flat 58 mm: best energy per job at \d+ W$/);
  expect(JSON.stringify(layout)).toContain('Energy per job, J');
  // Lines break where the title is balanced.
  expect(
    JSON.stringify(layout)
      .replaceAll(/<[^>]+>/g, ' ')
      .replaceAll(/\s+/g, ' '),
  ).toMatch(/Fan at \d+ rpm, voltage offset −40 mV/);
});
