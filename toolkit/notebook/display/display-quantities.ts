import type { Estimate } from '../../numerics/estimate.js';
import { plusMinusNote, type Table, type TableCell } from '../../report/tables/table.js';
import { UNIT_SUFFIXES } from '../../units/suffixes.js';

/** Fields that say what an object is rather than what it holds. */
const leftOut = ['kind', 'summary', 'sentence', 'label'];

/** The single numbers, uncertain numbers and words of a result as a table; the unit comes from the name's end. */
export function quantitiesTable(value: Readonly<Record<string, unknown>>): Table | undefined {
  const rows = Object.entries(value).flatMap(([name, field]): TableCell[][] => {
    const cell = leftOut.includes(name) ? undefined : cellOf(field);
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

function cellOf(field: unknown): TableCell | undefined {
  if (typeof field === 'number' || typeof field === 'boolean' || isEstimate(field)) return field;
  return typeof field === 'string' && field.length <= 60 ? field : undefined;
}
