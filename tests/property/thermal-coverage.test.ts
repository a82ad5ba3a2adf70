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
  }, 300_000);

  const claims: readonly Question[] = QUESTIONS.filter((question) => !question.startsWith('mean of'));
  const rowsOf = (question: Question): readonly CoverageRow[] =>
    rows.filter((row) => row.question === question);

  test.each(claims)('hold the truth as often as they say: %s', (question) => {
    const covered = rowsOf(question).reduce((sum, row) => sum + row.coveredCount, 0);
    const refused = rowsOf(question).reduce((sum, row) => sum + row.refusedCount, 0);
    expect(refused).toBeLessThanOrEqual(1);
    // 40 of 48: a true coverage of 90 % passes with 95 %, one of 75 % fails with 88 %, one of 60 % always.
    expect(covered).toBeGreaterThanOrEqual(40 - refused);
  });

  test('are narrow from two caps: half-widths below 0.6 K in the median, departures below 0.2 K', () => {
    for (const row of rowsOf('steady, two caps → the cap between')) {
      expect(row.halfWidthMedian).toBeLessThan(0.6);
      expect(row.departureMedian).toBeLessThan(0.2);
    }
  });

  test('stay usable from one cap: half-widths below 1.2 K downward and 1.4 K upward in the median', () => {
    for (const row of rowsOf('steady, higher cap → lower cap')) expect(row.halfWidthMedian).toBeLessThan(1.2);
    // How the resistance changes with power is not known from one cap. Upward that weighs in with one and a half times
    // the power, and the aim of 1.2 K is met by the liquid rigs alone: see the contributor's guide.
    for (const row of rowsOf('steady, lower cap → higher cap')) {
      expect(row.halfWidthMedian).toBeLessThan(row.kind === 'liquid' ? 1.2 : 1.4);
    }
    for (const question of ['steady, higher cap → lower cap', 'steady, lower cap → higher cap'] as const)
      for (const row of rowsOf(question)) expect(row.departure90).toBeLessThan(1.2);
  });

  test('a forecast after 8 minutes is nearer than the mean of its last two minutes', () => {
    for (const kind of ['air', 'liquid'] as const) {
      const [forecast, mean] = (
        ['forecast after 8 of 25 minutes', 'mean of the last two of 8 minutes'] as const
      ).map((question) => rowsOf(question).find((row) => row.kind === kind));
      expect(forecast?.departureMedian).toBeLessThan((mean?.departureMedian ?? 0) / 4);
    }
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
