import { afterAll, beforeAll, expect, it } from 'vitest';
import {
  createTslabEvaluator,
  type Evaluator,
} from '../../../../../toolkit/notebook/kernel/evaluator/evaluator.js';
import type { CellOutput } from '../../../../../toolkit/notebook/kernel/messages/outputs.js';

let evaluator: Evaluator;
let outputs: CellOutput[];
let executionCount = 0;

beforeAll(async () => {
  evaluator = await createTslabEvaluator({ output: (output) => outputs.push(output) });
});

afterAll(() => (evaluator as typeof evaluator | undefined)?.close());

async function shownBy(code: string): Promise<unknown> {
  outputs = [];
  executionCount += 1;
  const result = await evaluator.evaluate(code, executionCount);
  expect(result).toMatchObject({ status: 'ok' });
  const [output] = outputs;
  return output?.output_type === 'execute_result' ? output.data['text/plain'] : undefined;
}

it('names of earlier cells can be written in the shorthand of object literals', async () => {
  await shownBy('const limitC = 85; let ambientC = 23;');
  expect(await shownBy('({ limitC, ambientC })')).toBe('{ limitC: 85, ambientC: 23 }');
  expect(await shownBy('[1].map((x) => ({ limitC, deeper: { ambientC } }))[0].deeper')).toBe(
    '{ ambientC: 23 }',
  );
  await shownBy('ambientC = 27');
  expect(await shownBy('const own = 1; ({ own, ambientC })')).toBe('{ own: 1, ambientC: 27 }');
});

it('names that a function or the cell itself declares stay what they are, and so do globals', async () => {
  await shownBy('const capW = 95;');
  expect(await shownBy('((capW) => ({ capW }))(72)')).toBe('{ capW: 72 }');
  expect(await shownBy('(({ Math }).Math === Math)')).toBe('true');
  expect(await shownBy('const capW = 60; ({ capW })')).toBe('{ capW: 60 }');
});
