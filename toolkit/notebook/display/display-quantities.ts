import type { CorrelatedMean } from '../../numerics/autocorrelation.js';
import type { Estimate } from '../../numerics/estimate.js';
import { plusMinusNote, type Table, type TableCell } from '../../report/tables/table.js';
import { UNIT_SUFFIXES } from '../../units/suffixes.js';

/** Fields that say what an object is rather than what it holds. */
const leftOut = ['kind', 'summary', 'sentence', 'label'];

/** The single numbers, uncertain numbers and words of a result as a table; the unit comes from the name's end. */
export function quantitiesTable(value: Readonly<Record<string, unknown>>): Table | undefined {
  const rows = Object.entries(value).flatMap(([name, field]): TableCell[][] => {
    const cell = leftOut.includes(name) || name.endsWith('Index') ? undefined : cellOf(field);
    if (cell === undefined) return [];
    const { words, unit } = nameInWords(name);
    return [[words, cell, unit]];
  });
  if (rows.length === 0) return undefined;
  const hasEstimate = rows.some(([, cell]) => isEstimate(cell));
  return {
    kind: 'table',
    ...(typeof value['label'] === 'string' ? { title: value['label'] } : {}),
    columns: [{ name: 'Quantity' }, { name: 'Value' }, { name: 'Unit' }],
    rows,
    ...(hasEstimate ? { notes: [plusMinusNote] } : {}),
  };
}

/**
 * A list of like results as a table, one row each: their kinds, numbers, uncertain numbers and short words, units in the
 * heads. Undefined where they hold none of these.
 */
export function listTable(
  list: readonly Readonly<Record<string, unknown>>[],
  title?: string,
): Table | undefined {
  const names = [...new Set(list.flatMap((one) => Object.keys(one)))].filter(
    (name) =>
      !name.endsWith('Index') && name !== 'reason' && list.some((one) => cellOf(one[name]) !== undefined),
  );
  if (names.length === 0) return undefined;
  const rows = list.map((one) => names.map((name) => cellOf(one[name]) ?? null));
  return {
    kind: 'table',
    ...(title === undefined ? {} : { title }),
    columns: names.map((name) => {
      const { words, unit } = nameInWords(name);
      return { name: words, ...(unit === '' ? {} : { unit }) };
    }),
    rows,
    ...(rows.some((row) => row.some(isEstimate)) ? { notes: [plusMinusNote] } : {}),
  };
}

/** The series of a result, as arrays of numbers of one length, side by side. */
export function seriesTable(value: Readonly<Record<string, unknown>>, mostRows: number): Table | undefined {
  const series = Object.entries(value).filter((entry): entry is [string, ArrayLike<number>] =>
    isSeries(entry[1]),
  );
  const count = series[0]?.[1].length ?? 0;
  if (count < 2 || series.some(([, numbers]) => numbers.length !== count)) return undefined;
  const shown = Math.min(count, mostRows);
  return {
    kind: 'table',
    columns: series.map(([name]) => {
      const { words, unit } = nameInWords(name);
      return { name: words, ...(unit === '' ? {} : { unit }) };
    }),
    rows: Array.from({ length: shown }, (_, row) =>
      series.map(([, numbers]) => {
        const number = numbers[row];
        return number !== undefined && Number.isFinite(number) ? number : null;
      }),
    ),
    ...(count > shown ? { notes: [`The first ${shown} of ${count} rows.`] } : {}),
  };
}

function isSeries(value: unknown): value is ArrayLike<number> {
  return (
    (Array.isArray(value) && value.length > 0 && value.every((one) => typeof one === 'number')) ||
    value instanceof Float64Array
  );
}

/** `steadyTemperatureC` as "Steady temperature" and "°C". */
export function nameInWords(name: string): { readonly words: string; readonly unit: string } {
  const suffix = Object.keys(UNIT_SUFFIXES)
    .filter((end) => name.endsWith(end) && /[a-z0-9]$/.test(name.slice(0, -end.length)))
    .sort((a, b) => b.length - a.length)[0];
  const unit = suffix === undefined ? '' : (UNIT_SUFFIXES[suffix]?.unit ?? '');
  const stem = suffix === undefined || unit === '' ? name : name.slice(0, -suffix.length);
  const words = stem.replaceAll(/([a-z])([A-Z0-9])/g, '$1 $2').toLowerCase();
  return { words: words.slice(0, 1).toUpperCase() + words.slice(1), unit };
}

/** Whether a value is a number with its uncertainty, known or not. */
export function isEstimate(value: unknown): value is Estimate {
  if (typeof value !== 'object' || value === null || !('kind' in value)) return false;
  if (value.kind === 'estimated') return 'value' in value && 'interval95' in value;
  return value.kind === 'unavailable' && 'reason' in value;
}

/** Whether a value is the mean of correlated samples, which holds its uncertain number. */
export function isMean(value: unknown): value is CorrelatedMean {
  return typeof value === 'object' && value !== null && 'estimate' in value && isEstimate(value.estimate);
}

function cellOf(field: unknown): TableCell | undefined {
  if (isMean(field)) return field.estimate;
  if (typeof field === 'number' || typeof field === 'boolean' || isEstimate(field)) return field;
  return typeof field === 'string' && field.length <= 60 ? field : undefined;
}
