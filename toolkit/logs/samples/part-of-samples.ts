import type { ColumnRole } from '../table/column-rules.js';
import type { CollectedSamples } from './collected-samples.js';

/** The samples from one index up to another, in arrays of their own; the findings stay those of the whole. */
export function partOfSamples(samples: CollectedSamples, from: number, to: number): CollectedSamples {
  const columns: Partial<Record<ColumnRole, Float64Array>> = {};
  for (const [role, values] of Object.entries(samples.columns))
    columns[role as ColumnRole] = values.slice(from, to);
  return { ...samples, columns, lineNumbers: samples.lineNumbers.slice(from, to) };
}
