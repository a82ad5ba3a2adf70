import type { RigLog } from './logger.js';

/** What can be a column of a log, in the order of `RigLog`. */
export type Column = Exclude<keyof RigLog, 'truth'>;

/** How a log is written down. */
export interface Dialect {
  readonly delimiter: string;
  readonly decimalMark: '.' | ',';
  readonly time: 'seconds' | 'clock';
  readonly temperatureUnit: 'C' | 'F';
  readonly byteOrderMark: boolean;
  readonly lineEnd: '\n' | '\r\n';
  /** Header and decimals of each column, in the order written; a column left out is not written. */
  readonly columns: Readonly<Partial<Record<Column, { readonly header: string; readonly decimals: number }>>>;
}

/** Writes a log as delimited text; a cell that is not a number is left empty. */
export function writeLog(log: RigLog, dialect: Dialect): string {
  const columns = Object.entries(dialect.columns).map(([name, { header, decimals }]) => ({
    header,
    cell: cellWriter(name as Column, decimals, dialect),
    values: columnOf(log, name as Column),
  }));
  const lines = [columns.map(({ header }) => header).join(dialect.delimiter)];
  for (let row = 0; row < log.timeS.length; row += 1) {
    lines.push(columns.map(({ cell, values }) => cell(values[row])).join(dialect.delimiter));
  }
  return (dialect.byteOrderMark ? '\uFEFF' : '') + lines.join(dialect.lineEnd) + dialect.lineEnd;
}

function columnOf(log: RigLog, name: Column): Float64Array {
  const values = log[name];
  if (values !== undefined) return values;
  throw new Error(`writeLog: the dialect writes ${name}, which the logger did not record`);
}

function cellWriter(column: Column, decimals: number, dialect: Dialect): (value: number) => string {
  if (column === 'timeS' && dialect.time === 'clock') return clockTime;
  const inFahrenheit =
    dialect.temperatureUnit === 'F' && (column === 'temperatureC' || column === 'ambientC');
  return (value) => {
    if (Number.isNaN(value)) return '';
    return (inFahrenheit ? 1.8 * value + 32 : value).toFixed(decimals).replace('.', dialect.decimalMark);
  };
}

/** Hours, minutes and whole seconds: 0:25:07. */
function clockTime(timeS: number): string {
  const seconds = Math.round(timeS);
  const two = (value: number): string => String(value).padStart(2, '0');
  return `${Math.floor(seconds / 3600)}:${two(Math.floor(seconds / 60) % 60)}:${two(seconds % 60)}`;
}
