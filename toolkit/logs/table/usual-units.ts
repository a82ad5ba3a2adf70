import type { Finding } from '../../runs/finding.js';
import { quoted } from '../cells/quoted.js';
import { LogFormatError } from '../log-format-error.js';
import type { ColumnRole, RoleColumn } from './column-rules.js';

/** What is usual in our own unit; a column without a unit whose median lies outside is refused, not guessed at. */
const USUAL: Readonly<Record<ColumnRole, readonly [low: number, high: number, alternatives: string]>> = {
  time: [0.001, 60, 's, ms, min, h'],
  temperature: [-20, 115, '°C, °F, K'],
  ambient: [-20, 60, '°C, °F, K'],
  power: [0, 2000, 'W, mW, kW'],
  frequency: [50, 20_000, 'MHz, GHz, Hz'],
  throughput: [0, Number.POSITIVE_INFINITY, '1/s, 1/min, 1/h'],
  fanSpeed: [0, 40_000, 'rpm'],
  voltage: [0.2, 3, 'V, mV'],
};

/**
 * The finding that a unit was assumed, where it was.
 *
 * @throws LogFormatError if the values are not usual in the unit that would have to be assumed
 */
export function assumedUnitFindings(
  column: RoleColumn & { readonly values: Float64Array },
  isNumeric: boolean,
): readonly Finding[] {
  // Throughput has the unit of the log, whatever that is.
  if (!column.isUnitAssumed || !isNumeric || column.role === 'throughput') return [];
  const { role, header, index, values, unit } = column;
  const [low, high, alternatives] = USUAL[role];
  const typical = role === 'time' ? median(steps(values)) : median(values);
  if (!(typical >= low && typical <= high)) {
    throw new LogFormatError([
      {
        code: 'unit-not-stated',
        column: index + 1,
        message: `${quoted(header)} (${role}) states no unit, and ${role === 'time' ? 'steps' : 'values'} around ${Number(typical.toPrecision(4))} are not usual in ${unit.symbol}`,
        remedy: `write the option units: { ${role}: '…' } with the unit it has (${alternatives})`,
      },
    ]);
  }
  return [
    {
      code: 'assumed-unit',
      severity: 'note',
      message: `${quoted(header)} (${role}) states no unit; it was read as ${unit.symbol}.`,
      remedy: `state the unit in the header, or write the option units: { ${role}: '${unit.symbol}' }`,
    },
  ];
}

/** Positive steps of at most about a thousand places spread over the column. */
export function steps(values: Float64Array): Float64Array {
  const stride = Math.max(1, Math.floor(values.length / 1000));
  const found: number[] = [];
  for (let i = 1; i < values.length; i += stride) {
    const step = values[i] - values[i - 1];
    if (step > 0) found.push(step);
  }
  return Float64Array.from(found);
}

/** Median of at most about a thousand values spread over the column, those that are numbers. */
export function median(values: Float64Array): number {
  const stride = Math.max(1, Math.floor(values.length / 1000));
  const picked: number[] = [];
  for (let i = 0; i < values.length; i += stride) if (!Number.isNaN(values[i])) picked.push(values[i]);
  picked.sort((a, b) => a - b);
  return picked[picked.length >> 1] ?? Number.NaN;
}
