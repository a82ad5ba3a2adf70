import type { Finding } from '../../runs/finding.js';
import { LISTED_LINE_COUNT } from '../../runs/quality/listed-lines.js';

/** Cells or rows that share one fault. */
export interface Fault {
  count: number;
  readonly lines: number[];
  /** What the first of them holds. */
  example: string;
}

/** No cell or row yet. */
export function newFault(): Fault {
  return { count: 0, lines: [], example: '' };
}

/** A copy that counts on by itself. */
export function copyOfFault({ count, lines, example }: Fault): Fault {
  return { count, lines: [...lines], example };
}

/** Counts one more. */
export function note(fault: Fault, line: number, example: string): void {
  if (fault.count === 0) fault.example = example;
  fault.count++;
  if (fault.lines.length < LISTED_LINE_COUNT) fault.lines.push(line);
}

/** "and so in 3 more rows", for messages that name the first. */
export function others(fault: Fault): string {
  const more = fault.count - 1;
  return more === 0 ? '' : ` (and so in ${more} more ${more === 1 ? 'row' : 'rows'})`;
}

/** Above this share of rows left out or values filled the answer may change. */
export const NOTED_FRACTION = 0.01;
const SERIOUS_FRACTION = 0.2;

/** How serious it is that so many of the rows were left out. */
export function severityOfLoss(count: number, rowCount: number): Finding['severity'] {
  return count > SERIOUS_FRACTION * rowCount
    ? 'serious'
    : count > NOTED_FRACTION * rowCount
      ? 'warning'
      : 'note';
}

/** Rows that are no samples, by what they are. */
export type NoSample = 'repeated-header' | 'remark' | 'nul-bytes' | 'half-written';

/** Findings about such rows: what they are, in a sentence that begins with their number. */
export const NO_SAMPLE_WORDS: Readonly<
  Record<
    NoSample,
    { readonly message: (count: number) => string; readonly remedy: string; readonly isLoss: boolean }
  >
> = {
  'repeated-header': {
    message: (count) =>
      `${rows(count)} ${count === 1 ? 'repeats' : 'repeat'} the header or its units: the log was continued there; left out as no samples.`,
    remedy: 'nothing to do if it is one run; if several runs stand in the file, read it with parseRuns',
    isLoss: false,
  },
  remark: {
    message: (count) =>
      `${rows(count)} ${count === 1 ? 'begins' : 'begin'} with #: left out as ${count === 1 ? 'a remark' : 'remarks'}.`,
    remedy: 'read them: they may say what happened during the run',
    isLoss: false,
  },
  'nul-bytes': {
    message: (count) =>
      `${rows(count)} ${count === 1 ? 'holds' : 'hold'} NUL bytes, as a machine leaves them that lost its power while writing; left out.`,
    remedy: 'look for what happened at these lines; what stands behind them is another start',
    isLoss: true,
  },
  'half-written': {
    message: (count) =>
      count === 1
        ? 'A line has no line end and is shorter than the others: it was cut off while being written, and left out.'
        : `${rows(count)} were cut off while being written, and left out.`,
    remedy: 'nothing to do, or end the line if it is whole',
    isLoss: false,
  },
};

function rows(count: number): string {
  return `${count} ${count === 1 ? 'row' : 'rows'}`;
}
