import type { CoolerModel } from '../../thermal/cooler-model.js';
import { stageTable } from '../../thermal/views/stage-table.js';
import { plusMinusNote, type Table } from './table.js';

/**
 * The stages of a cooler model in words, one row each, fastest first: the part that decides the time constant where it can
 * be told, time constant, resistance and share of the whole.
 *
 * @param model - a model with stages, from `fitCooler`
 * @returns a table
 * @throws ArgumentError if the model has no stages
 * @example
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 80)), temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * tableOfStages(fitCooler(run, { stageCount: 1, powerExponent: 0 })).rows[0][0]; // => 'die side to fins'
 */
export function tableOfStages(model: CoolerModel): Table {
  return {
    kind: 'table',
    title: `${model.cooler ?? model.label}: stages`,
    columns: [
      { name: 'Stage' },
      { name: 'Time constant', unit: 's' },
      { name: 'Resistance', unit: 'K/W' },
      { name: 'Share of the rise', unit: '%' },
    ],
    rows: stageTable(model).map(({ name, timeConstantS, resistanceKPerW, resistanceFraction }) => [
      name,
      timeConstantS,
      resistanceKPerW,
      Math.round(100 * resistanceFraction),
    ]),
    notes: [
      plusMinusNote,
      'A stage is one term of the step response; it has the name of a part only where its time constant justifies one.',
    ],
  };
}
