import { ArgumentError, type KnownNames, requireKnownNames } from '../../errors.js';
import { MAKE_RUN_NAMES, type MakeRunOptions, makeRun, type RunColumns } from '../../runs/make-run.js';
import type { Run } from '../../runs/run.js';
import { columnHead, isEstimate, type Table } from './table.js';

/** What we need of a danfojs table. */
export interface Frame {
  readonly columns: string[];
  readonly shape: number[];
  readonly values: unknown;
  /** One column by its name. */
  column(name: string): { readonly values: unknown };
}

/** What we need of the danfojs module: `danfojs-node` in Node, `danfojs` in a browser. */
export interface DanfoModule<AFrame extends Frame = Frame> {
  readonly DataFrame: new (data: Record<string, unknown>[] | Record<string, unknown[]>) => AFrame;
}

const TO_FRAME_NAMES: KnownNames<{ readonly danfojs?: unknown }> = { danfojs: true };

/** One row of plain cells by column name. */
export type PlainRow = Readonly<Record<string, string | number | boolean | null>>;

const runColumns = [
  'timeS',
  'temperatureC',
  'powerW',
  'frequencyMHz',
  'throughputPerS',
  'ambientC',
  'fanSpeedRpm',
  'voltageV',
] as const satisfies readonly (keyof RunColumns)[];

/**
 * A run, a table of ours or plain rows as a danfojs table, to filter, group, join or write elsewhere.
 *
 * A run gives one column per logged quantity, named as in the run (`timeS`, `temperatureC` …). A table gives one
 * column per column, and for uncertain numbers a second one named `… ±` with the half-width of the 95 % interval;
 * what is missing is `NaN`.
 *
 * danfojs-node is loaded when this is called for the first time (about a second), and only then.
 *
 * @param source - a run, a table, or an array of rows with the same names
 * @param options - `danfojs`: the module itself, for its full types or for a browser
 * @returns the danfojs table
 * @throws ArgumentError if the source is none of these or has no rows, or danfojs-node is not installed
 * @example
 * const frame = await toFrame([{ cooler: 'flat 41 mm', cap: 74 }, { cooler: 'flat 58 mm', cap: 92 }]);
 * frame.columns; // => ['cooler', 'cap']
 */
export async function toFrame<AFrame extends Frame = Frame>(
  source: Run | Table | readonly PlainRow[],
  options: { readonly danfojs?: DanfoModule<AFrame> } = {},
): Promise<AFrame> {
  requireKnownNames(options, TO_FRAME_NAMES, { caller: 'toFrame', argument: 'options' });
  const columns = columnsOf(source);
  const rowCount = Object.values(columns)[0]?.length ?? 0;
  if (rowCount === 0) {
    throw new ArgumentError({
      caller: 'toFrame',
      argument: 'source',
      expected: 'at least one row of at least one column',
      received: source,
    });
  }
  const danfojs = options.danfojs ?? ((await loadDanfo('toFrame')) as DanfoModule<AFrame>);
  return new danfojs.DataFrame(columns);
}

/** Which column of a frame holds which quantity of a run. */
export type FrameColumns = { readonly [name in keyof RunColumns]: string };

/**
 * A run from a danfojs table.
 *
 * @param frame - a danfojs table with one row per sample
 * @param columns - for each quantity the name of its column; the numbers must already be in s, °C, W and MHz
 * @param options - label and conditions, as for `makeRun`; label defaults to `frame`
 * @returns the run, with its findings
 * @throws ArgumentError naming a column that the table has not, or the row of a cell that is not a number
 * @example
 * const frame = await toFrame([
 *   { second: 0, die: 31, watt: 60 },
 *   { second: 1, die: 34, watt: 60 },
 *   { second: 2, die: 36, watt: 61 },
 * ]);
 * const run = fromFrame(frame, { timeS: 'second', temperatureC: 'die', powerW: 'watt' }, { label: 'by hand' });
 * run.temperatureC; // => [31, 34, 36]
 */
export function fromFrame(frame: Frame, columns: FrameColumns, options: Partial<MakeRunOptions> = {}): Run {
  if (typeof frame?.column !== 'function' || !Array.isArray(frame.columns)) {
    throw new ArgumentError({
      caller: 'fromFrame',
      argument: 'frame',
      expected: 'a danfojs DataFrame',
      received: frame,
    });
  }
  if (typeof columns !== 'object' || columns === null) {
    throw new ArgumentError({
      caller: 'fromFrame',
      argument: 'columns',
      expected: `an object that names the columns, such as { timeS: '${frame.columns[0]}', … }`,
      received: columns,
    });
  }
  requireKnownNames(options, MAKE_RUN_NAMES, { caller: 'fromFrame', argument: 'options' });
  const samples: Partial<Record<keyof RunColumns, Float64Array>> = {};
  for (const [quantity, header] of Object.entries(columns)) {
    if (!runColumns.some((name) => name === quantity)) {
      throw new ArgumentError({
        caller: 'fromFrame',
        argument: `columns.${quantity}`,
        expected: `one of ${runColumns.join(', ')}`,
        received: quantity,
      });
    }
    if (header === undefined) continue;
    if (!frame.columns.includes(header)) {
      throw new ArgumentError({
        caller: 'fromFrame',
        argument: `columns.${quantity}`,
        expected: `a column of the table: ${frame.columns.map((name) => `'${name}'`).join(', ')}`,
        received: header,
      });
    }
    samples[quantity as keyof RunColumns] = numbersOf(frame, header);
  }
  return makeRun(samples as unknown as RunColumns, { label: 'frame', ...options });
}

function numbersOf(frame: Frame, header: string): Float64Array {
  const values = frame.column(header).values as ArrayLike<unknown>;
  const numbers = new Float64Array(values.length);
  for (let row = 0; row < values.length; row++) {
    const cell = values[row];
    if (typeof cell !== 'number' || !Number.isFinite(cell)) {
      throw new ArgumentError({
        caller: 'fromFrame',
        argument: `frame['${header}'][${row}]`,
        expected: 'a finite number',
        received: cell,
        remedy: 'fill or drop the rows with missing cells first, for example with dropNa',
      });
    }
    numbers[row] = cell;
  }
  return numbers;
}

function columnsOf(source: Run | Table | readonly PlainRow[]): Record<string, unknown[]> {
  if (Array.isArray(source)) return columnsOfRows(source as readonly PlainRow[]);
  if (typeof source === 'object' && source !== null) {
    if ('kind' in source && source.kind === 'table') return columnsOfTable(source);
    if ('timeS' in source && 'temperatureC' in source) {
      const columns: Record<string, unknown[]> = {};
      for (const name of runColumns) {
        const column = source[name];
        if (column !== undefined) columns[name] = Array.from(column);
      }
      return columns;
    }
  }
  throw new ArgumentError({
    caller: 'toFrame',
    argument: 'source',
    expected: 'a run, a table or an array of rows',
    received: source,
  });
}

function columnsOfRows(rows: readonly PlainRow[]): Record<string, unknown[]> {
  const names = [...new Set(rows.flatMap((row) => Object.keys(row)))];
  return Object.fromEntries(names.map((name) => [name, rows.map((row) => row[name] ?? Number.NaN)]));
}

function columnsOfTable(table: Table): Record<string, unknown[]> {
  const columns: Record<string, unknown[]> = {};
  table.columns.forEach((column, i) => {
    const head = columnHead(column);
    const cells = table.rows.map((row) => row[i] ?? null);
    columns[head] = cells.map((cell) =>
      isEstimate(cell) ? (cell.value ?? Number.NaN) : (cell ?? Number.NaN),
    );
    if (!cells.some(isEstimate)) return;
    columns[`${head} ±`] = cells.map((cell) =>
      isEstimate(cell) && cell.kind === 'estimated'
        ? (cell.interval95[1] - cell.interval95[0]) / 2
        : Number.NaN,
    );
  });
  return columns;
}

async function loadDanfo(caller: string): Promise<DanfoModule> {
  // A name in a variable keeps bundlers from pulling 80 MB of it into every page.
  const moduleName = 'danfojs-node';
  try {
    const loaded = (await import(/* @vite-ignore */ moduleName)) as DanfoModule & { default?: DanfoModule };
    return loaded.DataFrame === undefined && loaded.default !== undefined ? loaded.default : loaded;
  } catch (cause) {
    throw new ArgumentError({
      caller,
      argument: 'options.danfojs',
      expected: 'given, or danfojs-node installed',
      received: cause instanceof Error ? cause.message : cause,
      remedy: 'install danfojs-node, or pass the module: { danfojs }',
    });
  }
}
