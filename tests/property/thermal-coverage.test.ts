// Do stated intervals hold the truth? The study of `npm run calibrate` on fewer rigs, with other seeds; neither were
// used in tuning. See tests/calibration/coverage-study.ts for what the rigs are and what is asked of them.
import { beforeAll, describe, expect, test } from 'vitest';
import {
  answersOfRig,
  type CoverageRow,
  coverageStudy,
  QUESTIONS,
  type Question,
  studyRigs,
} from '../calibration/coverage-study.js';

const RIGS = 48;
const FIRST_SEED = 5000;

describe('95 % intervals, on rigs whose physics is richer than the model', () => {
  let rows: readonly CoverageRow[] = [];

  beforeAll(() => {
    rows = coverageStudy(studyRigs(RIGS, FIRST_SEED).flatMap(answersOfRig));
  }, 600_000);

  const claims: readonly Question[] = QUESTIONS.filter((question) => !question.startsWith('mean of'));
  const rowOf = (kind: CoverageRow['kind'], question: Question): CoverageRow => {
    const row = rows.find((candidate) => candidate.kind === kind && candidate.question === question);
    if (row === undefined) throw new Error(`no answer of ${kind} rigs to "${question}"`);
    return row;
  };

  test.each(claims)('hold the truth as often as they say: %s', (question) => {
    const { answerCount, refusedCount, coveredCount } = rowOf('both', question);
    expect(answerCount + refusedCount).toBe(RIGS);
    expect(refusedCount).toBeLessThanOrEqual(1);
    // 40 of 48: a true coverage of 90 % passes with 95 %, one of 75 % fails with 88 %, one of 60 % always.
    expect(coveredCount).toBeGreaterThanOrEqual(40 - refusedCount);
  });

  // The aim is 0.6 K. In the median of 200 rigs 0.1 K with air and 0.2 K with liquid, whose median of 24 differs from one
  // set of seeds to the next by half of itself: slow loops are far from settled after 25 minutes.
  test.each([
    ['air', 0.2],
    ['liquid', 0.45],
  ] as const)('are narrow from two caps and from three: %s, %d K', (kind, mostK) => {
    for (const question of [
      'steady, two caps → the cap between',
      'steady, three caps → between them',
    ] as const) {
      const { halfWidthMedian, departureMedian } = rowOf(kind, question);
      expect(halfWidthMedian).toBeLessThan(mostK);
      expect(departureMedian).toBeLessThan(0.15);
    }
  });

  // A fifth beyond the logged powers; the aim is that of one cap asked about another, 1.2 K.
  test.each([
    ['air', 0.4],
    ['liquid', 1.2],
  ] as const)('stay usable beyond two caps: %s, %d K', (kind, mostK) => {
    for (const question of ['steady, two caps → a cap above', 'steady, two caps → a cap below'] as const)
      expect(rowOf(kind, question).halfWidthMedian).toBeLessThan(mostK);
  });

  test.each(['air', 'liquid'] as const)(
    'are wide enough where a second run is short, and no wider: %s',
    (kind) => {
      for (const question of [
        'steady, 300 s at the higher cap beside the lower',
        'steady, 600 s at the higher cap beside the lower',
        'steady, 300 s at the lower cap beside the higher',
      ] as const) {
        const { answerCount, coveredCount, halfWidthMedian } = rowOf(kind, question);
        // 24 rigs of each kind: at 90 % covered, fewer than 18 come up once in a hundred and thirty times; before what
        // the fit leaves out was counted, these intervals held the truth in a fifth to three quarters of the rigs.
        expect(coveredCount).toBeGreaterThanOrEqual(answerCount - 6);
        expect(halfWidthMedian).toBeLessThan(0.8);
      }
    },
  );

  test.each(['air', 'liquid'] as const)('stay usable from one cap at another: %s', (kind) => {
    for (const question of ['steady, higher cap → lower cap', 'steady, lower cap → higher cap'] as const) {
      const { halfWidthMedian, departure90 } = rowOf(kind, question);
      // The aim; 1.1 K upward with air among 400 rigs, and the median of 24 is known to some 0.05 K.
      expect(halfWidthMedian).toBeLessThan(1.2);
      expect(departure90).toBeLessThan(1.2);
    }
  });

  test.each(['air', 'liquid'] as const)(
    'and a forecast is far nearer than its last two minutes: %s',
    (kind) => {
      const forecast = rowOf(kind, 'forecast after 8 of 25 minutes');
      const mean = rowOf(kind, 'mean of the last two of 8 minutes');
      expect(forecast.departureMedian).toBeLessThan(mean.departureMedian / 4);
      // Nine of ten of 24 rigs; among 200 of each kind 0.2 K with air and 0.7 K with liquid.
      expect(forecast.departure90).toBeLessThan(1);
    },
  );

  test('are not shifted: a forecast is as often too high as too low', () => {
    // A bias of 0.4 K, as a wrong course of convection causes it with liquid, is five of these standard errors.
    expect(Math.abs(rowOf('liquid', 'forecast after 8 of 25 minutes').bias)).toBeLessThan(0.25);
    expect(Math.abs(rowOf('air', 'forecast after 8 of 25 minutes').bias)).toBeLessThan(0.1);
  });
});

describe('the study', () => {
  test('counts a missing interval as refused, not as covered', () => {
    const question = 'forecast after 8 of 25 minutes';
    const [row] = coverageStudy([
      { kind: 'air', seed: 1, question },
      { kind: 'air', seed: 2, question, departure: -1, halfWidth: 0.5, covered: false },
      { kind: 'air', seed: 3, question, departure: 0.25, halfWidth: 0.5, covered: true },
    ]);
    expect(row).toMatchObject({ answerCount: 2, refusedCount: 1, coveredCount: 1, bias: -0.375 });
  });
});
