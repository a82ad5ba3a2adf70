import { expect, test } from 'vitest';
import {
  answersOfProcessor,
  FREQUENCY_QUESTIONS,
  type FrequencyQuestion,
  frequencyStudy,
} from '../calibration/frequency-study.js';

// The study behind `npm run calibrate`, on fewer processors and other seeds. Of 50 answers with coverage 90 %, fewer than
// 39 hold with a chance below 1 % (binomial distribution).
const PROCESSORS = 50;
const FEWEST = 39;
const rows = new Map(
  frequencyStudy(Array.from({ length: PROCESSORS }, (_, k) => answersOfProcessor(500_000 + k)).flat()).map(
    (row) => [row.question, row],
  ),
);
const rowOf = (question: FrequencyQuestion) => rows.get(question)!;

test.each(FREQUENCY_QUESTIONS)('95 %% intervals hold: %s', (question) => {
  const { answerCount, coveredCount } = rowOf(question);
  expect(answerCount).toBe(PROCESSORS);
  expect(coveredCount).toBeGreaterThanOrEqual(FEWEST);
});

test('answers outside what was tested are marked and wider', () => {
  const inside = rowOf('frequency between three caps');
  const outside = rowOf('frequency a fifth above the highest cap');
  expect(inside.extrapolatedCount).toBe(0);
  expect(outside.extrapolatedCount).toBe(PROCESSORS);
  expect(outside.halfWidthMedian).toBeGreaterThan(2 * inside.halfWidthMedian);
  const logged = rowOf('frequency at an offset that was logged, at an unlogged cap');
  const assumed = rowOf('frequency at an offset, none logged');
  expect(logged.extrapolatedCount).toBe(0);
  expect(assumed.extrapolatedCount).toBe(PROCESSORS);
  expect(assumed.halfWidthMedian).toBeGreaterThan(logged.halfWidthMedian);
});
