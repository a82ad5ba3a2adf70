import type { Finding } from '../../runs/finding.js';
import { asSentence } from '../as-sentence.js';
import type { Table } from './table.js';

const severities = ['serious', 'warning', 'note'] as const;

/**
 * Findings as a table, the serious ones first.
 *
 * @param findings - of a run, a model or a curve
 * @returns a table: severity, what was seen and done, what to do
 * @example
 * tableOfFindings([{ code: 'gap', severity: 'note', message: '3 s are missing.' }]).rows;
 * // => [['note', '3 s are missing.', '']]
 */
export function tableOfFindings(findings: readonly Finding[]): Table {
  const sorted = [...findings].sort(
    (a, b) => severities.indexOf(a.severity) - severities.indexOf(b.severity),
  );
  return {
    kind: 'table',
    columns: [{ name: 'Severity' }, { name: 'Finding' }, { name: 'What to do' }],
    rows: sorted.map((finding) => [
      finding.severity,
      finding.message,
      finding.remedy === undefined ? '' : asSentence(finding.remedy),
    ]),
  };
}
