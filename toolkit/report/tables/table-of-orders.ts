import type { CoolerModel } from '../../thermal/cooler-model.js';
import { chancePercent } from './chance-percent.js';
import type { Table } from './table.js';

/**
 * The candidates a cooler model was chosen from, one row each: stages, residuals, weight, and why one was not chosen.
 *
 * @param model - what `fitCooler` returned
 * @returns a table; without rows for a model from steady points, which has no candidates
 * @example
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 80)), temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * tableOfOrders(fitCooler(run, { stageCount: 1, sensorLag: false })).rows[0].slice(0, 2); // => [1, 'no']
 */
export function tableOfOrders(model: CoolerModel): Table {
  const isJoint = model.orders.some(({ sharedStageCount }) => sharedStageCount !== undefined);
  return {
    kind: 'table',
    title: `${model.cooler ?? model.label}: candidates`,
    columns: [
      { name: 'Stages' },
      ...(isJoint ? [{ name: 'of these shared' }] : []),
      { name: 'Sensor lag' },
      { name: 'Numbers fitted' },
      { name: 'Residuals, rms', unit: 'K' },
      { name: 'Weight', unit: '%' },
      { name: 'Chosen, or why not' },
    ],
    rows: model.orders.map((order) => [
      order.stageCount,
      ...(isJoint ? [order.sharedStageCount ?? null] : []),
      order.sensorLag ? 'yes' : 'no',
      order.parameterCount,
      order.residualRmsK,
      order.rejected === undefined ? chancePercent(order.weight) : null,
      order.chosen ? 'chosen' : (order.rejected ?? 'less weight'),
    ]),
    notes: ['Weight: about the chance that a candidate is the best of those tried.'],
  };
}
