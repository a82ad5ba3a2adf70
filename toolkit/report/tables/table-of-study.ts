import type { Study } from '../../logs/study/study.js';
import type { Table } from './table.js';

/**
 * A folder of runs as a table: for every log what is there, what is missing and what disagrees.
 *
 * @param study - from `readStudy`
 * @returns a table, one row for each log; what is wrong stands below
 * @example
 * const run = makeRun({ timeS: [0, 60], temperatureC: [31, 52], powerW: [16, 95] }, { label: 'drawer' });
 * tableOfStudy({
 *   kind: 'study',
 *   folder: 'runs',
 *   logs: [
 *     { file: 'drawer.csv', label: 'drawer', conditions: { cooler: 'flat 41 mm' }, run, missing: ['ambientC'], issues: [] },
 *   ],
 *   runs: [run],
 *   disagreements: [],
 *   issues: [],
 * }).rows[0].slice(0, 3); // => ['drawer.csv', 'flat 41 mm', null]
 */
export function tableOfStudy(study: Study): Table {
  return {
    kind: 'table',
    title: study.folder,
    columns: [
      { name: 'Log' },
      { name: 'Cooler' },
      { name: 'Enclosure' },
      { name: 'Mount' },
      { name: 'Power cap', unit: 'W' },
      { name: 'Air', unit: '°C' },
      { name: 'Length', unit: 'min' },
      { name: 'Missing' },
      { name: 'Wrong' },
    ],
    rows: study.logs.map(({ file, conditions, run, missing, issues, label }) => {
      const disagreeing = study.disagreements.filter(({ labels }) => labels.includes(label)).length;
      return [
        file,
        conditions.cooler ?? null,
        conditions.enclosure ?? null,
        conditions.mount ?? null,
        conditions.powerCapW ?? null,
        run?.ambientC === undefined ? (conditions.ambientC ?? null) : 'in the log',
        run === undefined ? null : (run.timeS.at(-1) ?? 0) / 60,
        missing.length === 0 ? 'nothing' : missing.join(', '),
        [
          run === undefined ? 'cannot be read' : '',
          run !== undefined && issues.length > 0 ? 'conditions file' : '',
          disagreeing > 0 ? 'disagrees' : '',
        ]
          .filter((part) => part !== '')
          .join(', ') || 'nothing',
      ];
    }),
    notes: [
      ...[...study.issues, ...study.logs.flatMap(({ issues }) => issues)].map(
        ({ source, line, path, message, remedy }) =>
          [
            source ?? '',
            line === undefined ? '' : `line ${line}`,
            `${path === undefined || path === '' ? '' : `${path} `}${message}${remedy === undefined ? '' : `; ${remedy}`}`,
          ]
            .filter((part) => part !== '')
            .join(': '),
      ),
      ...study.disagreements.map(({ message, remedy }) => `${message} To do: ${remedy}.`),
    ],
  };
}
