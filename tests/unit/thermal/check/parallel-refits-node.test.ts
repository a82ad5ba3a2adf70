import { existsSync } from 'node:fs';
import { resolve } from 'node:path';
import { pathToFileURL } from 'node:url';
import { expect, test } from 'vitest';
import { bootstrapCooler } from '../../../../toolkit/thermal/check/bootstrap.js';
import { simulationCheck } from '../../../../toolkit/thermal/check/simulation-check.js';
import { fitCooler } from '../../../../toolkit/thermal/fit/fit-cooler.js';
import { noisyRun } from '../noisy-cooler.js';

// Worker threads run the built toolkit, which plain Node can load.
const path = 'dist/toolkit/thermal/check/parallel-refits-node.js';
if (!existsSync(path)) throw new Error('worker threads run the built toolkit: run `npm run build` first');
const { bootstrapCoolerInParallel, simulationCheckInParallel } = (await import(
  pathToFileURL(resolve(path)).href
)) as typeof import('../../../../toolkit/thermal/check/parallel-refits-node.js');

const runs = [
  noisyRun(4, { label: 'high' }),
  noisyRun(5, { label: 'low', powerSteps: [{ atS: 30, powerW: 60 }] }),
];
const model = fitCooler(runs, { stageCount: 2, sensorLag: false });

test.each([1, 3])('on %d threads the results are those of one, to the last digit', async (workerCount) => {
  const options = { count: 70, seed: 8, powerW: 72 };
  const seen: number[] = [];
  const onProgress = (doneCount: number): number => seen.push(doneCount);
  expect(await simulationCheckInParallel(model, runs, { ...options, workerCount, onProgress })).toEqual(
    await simulationCheck(model, runs, options),
  );
  expect(seen).toHaveLength(4);
  expect(seen[3]).toBe(70);
  expect(await bootstrapCoolerInParallel(model, runs, { ...options, blockS: 12, workerCount })).toEqual(
    await bootstrapCooler(model, runs, { ...options, blockS: 12 }),
  );
});

test('the threads end when they are told to', async () => {
  const stop = new AbortController();
  const stopped = bootstrapCoolerInParallel(model, runs, {
    count: 100_000,
    workerCount: 1,
    signal: stop.signal,
    onProgress: (doneCount) => {
      if (doneCount >= 40) stop.abort(new Error('enough'));
    },
  });
  await expect(stopped).rejects.toThrow('enough');
});

test('bad options are refused before any thread starts', async () => {
  await expect(bootstrapCoolerInParallel(model, runs, { workerCount: 1.5 })).rejects.toThrow(
    /bootstrapCoolerInParallel: `options.workerCount` must be a whole number \(received 1.5\)/,
  );
  await expect(simulationCheckInParallel(model, [], {})).rejects.toThrow(
    /simulationCheckInParallel: `runs` must be the runs the model was fitted from/,
  );
});
