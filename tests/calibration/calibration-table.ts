import type { CoverageRow } from './coverage-study.js';

/** A 95 % interval is true where it holds the truth in this share of cases. */
const COVERAGE: readonly [low: number, high: number] = [0.9, 0.98];
/** Half-widths that a decision needs, K, in the median. */
const FROM_TWO_CAPS_K = 0.6;
const FROM_ONE_CAP_K = 1.2;
/** How near a forecast must come in nine of ten rigs, K. */
const FORECAST_K = 1;

/** The study as a Markdown table; the last column says what was aimed at and missed. */
export function calibrationTable(rows: readonly CoverageRow[]): string {
  const head = [
    'kind',
    'question',
    'rigs',
    'covered',
    'half-width: median',
    '90 %',
    'bias',
    'departure: median',
    '90 %',
    'aim',
  ];
  const lines = rows.map((row) => {
    const inUnit = (value: number): string => (Number.isNaN(value) ? '–' : `${value.toFixed(2)} ${row.unit}`);
    const [low, high] = row.coverage95.map(percent);
    return [
      row.kind,
      row.question,
      row.refusedCount === 0 ? `${row.answerCount}` : `${row.answerCount} (${row.refusedCount} refused)`,
      Number.isNaN(row.halfWidthMedian)
        ? '–'
        : `${percent(row.coveredCount / row.answerCount)} % (${low} to ${high})`,
      inUnit(row.halfWidthMedian),
      inUnit(row.halfWidth90),
      inUnit(row.bias),
      inUnit(row.departureMedian),
      inUnit(row.departure90),
      verdictOf(row),
    ];
  });
  return [head, head.map(() => '---'), ...lines].map((cells) => `| ${cells.join(' | ')} |`).join('\n');
}

function verdictOf(row: CoverageRow): string {
  // Beside the forecast for comparison: nothing is claimed of it.
  if (row.question.startsWith('mean of')) return '';
  const missed: string[] = [];
  const coverage = row.coveredCount / row.answerCount;
  if (coverage < COVERAGE[0]) missed.push(`coverage below ${percent(COVERAGE[0])} %`);
  if (coverage > COVERAGE[1]) missed.push(`coverage above ${percent(COVERAGE[1])} %`);
  const most = mostHalfWidthK(row);
  if (most !== undefined && row.halfWidthMedian >= most) missed.push(`median half-width not below ${most} K`);
  if (row.question.startsWith('forecast') && row.departure90 > FORECAST_K) {
    missed.push(`not within ${FORECAST_K} K in 90 %`);
  }
  return missed.length === 0 ? 'met' : `**missed**: ${missed.join(', ')}`;
}

function mostHalfWidthK({ question }: CoverageRow): number | undefined {
  if (!question.startsWith('steady')) return undefined;
  const fromOneCap = question.startsWith('steady, lower cap') || question.startsWith('steady, higher cap');
  return fromOneCap ? FROM_ONE_CAP_K : FROM_TWO_CAPS_K;
}

function percent(share: number): string {
  return (100 * share).toFixed(1).replace(/\.0$/, '');
}
