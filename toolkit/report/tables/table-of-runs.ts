import type { Run } from '../../runs/run.js';
import type { Table } from './table.js';

/**
 * Runs side by side, one row each: what was run, how long, how hot it became, and how many findings there are.
 *
 * @param runs - in the order the rows shall have
 * @returns a table
 * @example
 * const run = makeRun({ timeS: [0, 60], temperatureC: [31, 52], powerW: [16, 95] }, { label: 'drawer' });
 * tableOfRuns([run]).rows[0].slice(0, 4); // => ['drawer', null, null, 1]
 */
export function tableOfRuns(runs: readonly Run[]): Table {
  return {
    kind: 'table',
    columns: [
      { name: 'Run' },
      { name: 'Cooler' },
      { name: 'Power cap', unit: 'W' },
      { name: 'Length', unit: 'min' },
      { name: 'Samples' },
      { name: 'Highest temperature', unit: '°C' },
      { name: 'Findings' },
    ],
    rows: runs.map((run) => [
      run.label,
      run.conditions.cooler ?? null,
      run.conditions.powerCapW ?? null,
      (run.timeS.at(-1) ?? 0) / 60,
      run.timeS.length,
      run.temperatureC.reduce((highest, value) => Math.max(highest, value), -Infinity),
      findingsInWords(run),
    ]),
  };
}

function findingsInWords(run: Run): string {
  const counts = (['serious', 'warning', 'note'] as const).map((severity) => {
    const count = run.findings.filter((finding) => finding.severity === severity).length;
    return count === 0 ? '' : `${count} ${severity}${count > 1 && severity !== 'serious' ? 's' : ''}`;
  });
  return counts.filter((part) => part !== '').join(', ') || 'none';
}
