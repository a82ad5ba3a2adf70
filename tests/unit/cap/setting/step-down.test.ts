import { expect, test } from 'vitest';
import { stepDown } from '../../../../toolkit/cap/setting/step-down.js';

test('a cap is rounded down, never up, to the settable step', () => {
  expect(stepDown(99.99, 1)).toBe(99);
  expect(stepDown(100, 1)).toBe(100);
  expect(stepDown(100.0000001, 1)).toBe(100);
  expect(stepDown(104.9, 5)).toBe(100);
  expect(stepDown(0.4, 1)).toBe(0);
});

test('a value within 1e-9 W below a step is that step, and one further below is not', () => {
  expect(stepDown(99.9999999999, 1)).toBe(100);
  expect(stepDown(99.999999998, 1)).toBe(99);
});

test('steps that binary numbers cannot hold give tidy caps', () => {
  expect(stepDown(0.35, 0.1)).toBe(0.3);
  expect(stepDown(92.7, 0.1)).toBe(92.7);
  expect(stepDown(1000, 0.125)).toBe(1000);
});
