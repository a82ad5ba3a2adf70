import type { CapScenario } from '../../cap/choose/cap-choice.js';
import { ArgumentError } from '../../errors.js';
import type { ParseRunOptions } from '../../logs/read/parse-run.js';
import type { Conditions } from '../../runs/run.js';
import type { Notebook } from '../document/notebook-file.js';

/** Tag of the one cell of a notebook that names the logs and asks the question. */
const yourLogsTag = 'your-logs';

/** Tag of cells that tell of the demo and have no place beside a person's own logs. */
const demoOnlyTag = 'demo-only';

/** What that cell says: the constants every following cell builds on. */
export interface YourLogs {
  /** Paths from the folder the kernel works in, or absolute. */
  readonly logs: readonly string[];
  /** For what neither the logs nor the files beside them say. */
  readonly whatTheLogsDoNotSay: Conditions;
  /** Columns and units, where headers leave them open, and the order of dates. */
  readonly howToRead: Pick<ParseRunOptions, 'columns' | 'units' | 'dateOrder'>;
  /** A number that nobody has said yet is NaN: the cell then asks for it. */
  readonly question: CapScenario;
  /** What some logs leave open, for the person to fill in: code of an entry, and whom it concerns. */
  readonly open?: readonly { readonly entry: string; readonly about: string }[];
}

/** The code of the cell, as a person would write it. */
export function yourLogsCode(input: YourLogs): string {
  return [
    '// Your logs, and your question. Everything below follows from this cell.',
    'const logs = [',
    ...input.logs.map((path) => `  ${JSON.stringify(path)},`),
    '];',
    `const whatTheLogsDoNotSay: kpw.Conditions = ${withOpen(literal(input.whatTheLogsDoNotSay), input.open ?? [])};`,
    `const howToRead: kpw.ParseRunOptions = ${literal(input.howToRead)};`,
    `const question: kpw.CapScenario = ${literal(input.question)};`,
  ].join('\n');
}

/** The notebook with its tagged cell replaced and what tells of the demo left out; the rest stays as it is. */
export function withYourLogs(notebook: Notebook, input: YourLogs): Notebook {
  const cells = notebook.cells.filter((cell) => cell.metadata.tags?.includes(demoOnlyTag) !== true);
  return withTaggedCell({ ...notebook, cells }, () => yourLogsCode(input));
}

/** The notebook on its own logs, with the fields of the question that were asked for changed. */
export function withDemoChanges(
  notebook: Notebook,
  changes: Partial<Omit<YourLogs, 'logs' | 'question'>> & { readonly question: Partial<CapScenario> },
): Notebook {
  const lines = Object.entries(changes)
    .filter(([, fields]) => Object.keys(fields).length > 0)
    .map(([name, fields]) => `Object.assign(${name}, ${literal(fields)});`);
  return withTaggedCell(notebook, (source) => [source, ...lines].join('\n'));
}

function withTaggedCell(notebook: Notebook, change: (source: string) => string): Notebook {
  const tagged = notebook.cells.filter((cell) => cell.metadata.tags?.includes(yourLogsTag) === true);
  if (tagged.length !== 1)
    throw new ArgumentError({
      caller: 'npm run decide',
      argument: 'notebook',
      expected: `a notebook with one cell tagged ${yourLogsTag}`,
      received: tagged.length,
    });
  const cells = notebook.cells.map((cell) =>
    cell === tagged[0] ? { ...cell, source: change(cell.source) } : cell,
  );
  return { ...notebook, cells };
}

/** Entries that are still open stand in the object as comments, ready to be filled in. */
function withOpen(object: string, open: NonNullable<YourLogs['open']>): string {
  if (open.length === 0) return object;
  const lines = open.map(({ entry, about }) =>
    `  // ${entry}, // ${about}`.replaceAll(/[\r\n\u2028\u2029]/g, ' '),
  );
  return object === '{}' ? ['{', ...lines, '}'].join('\n') : object.replace(/\}$/, `${lines.join('\n')}\n}`);
}

const toFillIn: Readonly<Record<string, string>> = {
  limitC: 'fill in: the highest die temperature you accept, °C',
  ambientC: 'fill in: the air of the room where the machine will work, °C; { low: 20, high: 26 } for a range',
};

function literal(value: object): string {
  const fields = Object.entries(value).filter(([, field]) => field !== undefined);
  if (fields.length === 0) return '{}';
  const text = (field: unknown): string =>
    typeof field === 'object' && field !== null
      ? `{ ${Object.entries(field)
          .map(([name, inner]) => `${name}: ${text(inner)}`)
          .join(', ')} }`
      : Number.isNaN(field)
        ? 'Number.NaN'
        : JSON.stringify(field);
  const remark = (name: string, field: unknown): string =>
    Number.isNaN(field) && toFillIn[name] !== undefined ? ` // ${toFillIn[name]}` : '';
  return [
    '{',
    ...fields.map(([name, field]) => `  ${name}: ${text(field)},${remark(name, field)}`),
    '}',
  ].join('\n');
}
