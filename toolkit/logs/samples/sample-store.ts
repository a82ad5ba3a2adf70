import type { Finding } from '../../runs/finding.js';
import type { PowerSample } from '../../runs/run.js';
import type { TimeCells } from '../cells/time-cells.js';
import type { ColumnRole, RoleColumn } from '../table/column-rules.js';
import { median, steps } from '../table/usual-units.js';
import { BlockMeans } from './block-means.js';
import { mergeNeighbours } from './merge-neighbours.js';

/** How many of the rows are kept. */
export interface StoreOptions {
  /** How many rows to make room for. */
  readonly expectedRows: number;
  /**
   * Makes one sample of all rows within this time, s; 0 keeps every row. Default: every row is a sample as long as their
   * numbers keep to the budget.
   */
  readonly blockS?: number;
  /** Bytes that the numbers of a log may take where `blockS` is not given. Default `NUMBERS_BUDGET_BYTES`. */
  readonly budgetBytes?: number;
  readonly powerSample: PowerSample;
}

/**
 * Bytes that the numbers of a log may take where nobody asked for more: 4.4 million samples of eight columns, 10.7 million
 * of three. With what reading itself takes, a log of any length stays within 600 MB.
 */
const NUMBERS_BUDGET_BYTES = 300e6;

/** Rows with an interval between them that is longer than this many samples' are not merged: nothing was logged there. */
const GAP_IN_SAMPLES = 3;

/** Merging that leaves more of the samples than this has not helped: time hardly ever steps ahead. */
const MOST_LEFT_FRACTION = 0.75;

/** Samples farther apart than this may hide how fast a die answers, s. */
const COARSE_S = 1;

/** More samples than this are far more than the physics needs. */
const NOTED_SAMPLES = 4_000_000;

/**
 * Keeps the samples of a log. A row is a sample, unless rows are averaged: over a stretch of time that was asked for, or
 * two by two, as often as it takes, once their numbers no longer fit into the budget.
 *
 * A row is written into `columns` at the index that `openRow` returns, and kept by `keep`; a row that is not kept is
 * overwritten by the next. So nothing but the array itself stands between a reader of cells and its value.
 */
export class SampleStore {
  /** The values of each column in the unit of the log, the time first; those beyond `count` mean nothing. */
  readonly columns: Float64Array[];
  lineNumbers: Uint32Array;
  /** Number of samples so far. */
  count = 0;
  /** Whether a sample is made of several rows. */
  isAveraging: boolean;
  private capacity: number;
  private readonly roles: readonly ColumnRole[];
  /** The rows of the stretch that is not over yet, where stretches are averaged. */
  private block: BlockMeans | undefined;
  private readonly blockValues: Float64Array;
  /** From so many samples on neighbours are merged rather than more room made. */
  private readonly mostSamples: number;
  /** Rows in a sample where neighbours were merged, and the usual time between two of them in the unit of the log. */
  private rowsPerSample = 1;
  private rowStep = Number.NaN;
  /** Rows that the samples were made of, where rows are averaged. */
  private mergedRowCount = 0;

  /**
   * @param roleColumns - the time first
   * @param time - says in which unit the times are, once the first was read
   */
  constructor(
    private readonly roleColumns: readonly RoleColumn[],
    private readonly options: StoreOptions,
    private readonly time: TimeCells,
  ) {
    const { blockS, budgetBytes = NUMBERS_BUDGET_BYTES, expectedRows } = options;
    this.roles = roleColumns.map(({ role }) => role);
    this.blockValues = new Float64Array(this.roles.length);
    // Even, so that merging two by two leaves none over.
    const affordable = 2 * Math.floor(budgetBytes / this.bytesPerSample() / 2);
    this.mostSamples = blockS === undefined ? Math.max(2, affordable) : Number.POSITIVE_INFINITY;
    this.isAveraging = blockS !== undefined && blockS > 0;
    // A block ends every so many seconds; how many rows that makes is not known beforehand.
    this.capacity = this.isAveraging
      ? 1024
      : Math.min(this.mostSamples, Math.max(16, Math.ceil(expectedRows)));
    this.columns = this.roles.map(() => new Float64Array(this.capacity));
    this.lineNumbers = new Uint32Array(this.capacity);
  }

  /** A copy that goes its own way from here on, with room for the sample that is not over yet. */
  clone(): SampleStore {
    const copy = new SampleStore(this.roleColumns, { ...this.options, expectedRows: 0 }, this.time);
    copy.count = this.count;
    copy.isAveraging = this.isAveraging;
    copy.block = this.block?.clone();
    copy.rowsPerSample = this.rowsPerSample;
    copy.rowStep = this.rowStep;
    copy.mergedRowCount = this.mergedRowCount;
    copy.resize(this, this.count + 1);
    return copy;
  }

  /** Where the next row is to be written; makes room for it. */
  openRow(): number {
    if (this.count === this.capacity) this.makeRoom();
    return this.count;
  }

  /** How many rows may be written from there on before they are kept: where rows are averaged, any may end a stretch. */
  get openRowCount(): number {
    return this.isAveraging ? 1 : this.capacity - this.count;
  }

  /** Keeps the rows that were written, `openRowCount` at most; the first stands on that line, each on one. */
  keep(rowCount: number, line: number): void {
    if (this.isAveraging) {
      this.addToBlock(line);
      return;
    }
    const { lineNumbers, count } = this;
    for (let row = 0; row < rowCount; row++) lineNumbers[count + row] = line + row;
    this.count = count + rowCount;
  }

  /** Says that no more rows come: the stretch that is not over yet is a sample, and room that was not used is given back. */
  settle(): void {
    if (this.block !== undefined && this.block.rowCount > 0) this.storeBlock(this.block);
    this.lineNumbers = fitted(this.lineNumbers, this.count);
    for (let k = 0; k < this.columns.length; k++) this.columns[k] = fitted(this.columns[k], this.count);
    this.capacity = this.count;
  }

  /**
   * What is to be said of how many samples were made of the rows, once `settle` was called.
   *
   * @param timeS - of the samples, s
   * @param rowCount - of the log
   */
  findings(timeS: Float64Array, rowCount: number): readonly Finding[] {
    if (this.rowsPerSample > 1) return [this.mergedFinding(timeS)];
    if (this.isAveraging) return [this.blockFinding(rowCount)];
    return this.count > NOTED_SAMPLES ? [this.longLogFinding(timeS)] : [];
  }

  /** Adds the row that was just written to the stretch it belongs to. */
  private addToBlock(line: number): void {
    this.block ??= this.newBlock();
    const values = this.blockValues;
    for (let k = 0; k < values.length; k++) values[k] = this.columns[k][this.count];
    if (this.block.isOver(values[0])) this.storeBlock(this.block);
    this.block.add(values, line);
    this.mergedRowCount++;
  }

  private newBlock(): BlockMeans {
    const { unit } = this.roleColumns[0];
    const blockS = this.options.blockS!;
    const length = this.time.form === 'number' ? (blockS * unit.denominator) / unit.numerator : blockS;
    return new BlockMeans(this.roles, { kind: 'time', length }, this.options.powerSample);
  }

  private storeBlock(block: BlockMeans): void {
    const { line } = block;
    const means = new Float64Array(this.columns.length);
    block.close(means);
    const at = this.openRow();
    for (let k = 0; k < means.length; k++) this.columns[k][at] = means[k];
    this.lineNumbers[at] = line;
    this.count++;
  }

  /** Room for one more sample at least: more memory, or from the budget on fewer samples. */
  private makeRoom(): void {
    if (this.capacity < this.mostSamples) {
      this.resize(this, Math.min(this.mostSamples, Math.ceil(1.5 * this.capacity)));
      return;
    }
    this.merge();
    if (this.count > MOST_LEFT_FRACTION * this.capacity) this.resize(this, Math.ceil(1.5 * this.capacity));
  }

  /** Merges neighbouring samples two by two; what comes is read on in stretches of twice as many rows. */
  private merge(): void {
    const isFirst = this.rowsPerSample === 1;
    if (isFirst) {
      const usual = median(steps(this.columns[0].subarray(0, this.count)));
      // Where time stands still, rows belong together however many they are.
      this.rowStep = Number.isNaN(usual) ? Number.POSITIVE_INFINITY : usual;
      this.mergedRowCount = this.count;
    }
    const sampleStep = Number.isFinite(this.rowStep) ? this.rowsPerSample * this.rowStep : 0;
    this.rowsPerSample *= 2;
    const longestStep = GAP_IN_SAMPLES * this.rowsPerSample * this.rowStep;
    const pairs = new BlockMeans(
      this.roles,
      { kind: 'rows', rowCount: 2, longestStep },
      isFirst ? this.options.powerSample : 'interval-mean',
      sampleStep,
    );
    this.count = mergeNeighbours(this.columns, this.lineNumbers, this.count, pairs);
    if (isFirst) {
      // Rows were merged, not yet means: the block that did it takes the next rows too.
      this.block = pairs;
      this.isAveraging = true;
      return;
    }
    this.block!.lengthen({ kind: 'rows', rowCount: this.rowsPerSample, longestStep });
    if (pairs.rowCount > 0) this.storeBlock(pairs);
  }

  /** Makes room for so many samples, of which the first are those of `from`. */
  private resize({ columns, lineNumbers, count }: SampleStore, capacity: number): void {
    this.capacity = capacity;
    for (let k = 0; k < columns.length; k++) {
      const resized = new Float64Array(capacity);
      resized.set(columns[k].subarray(0, count));
      this.columns[k] = resized;
    }
    const resized = new Uint32Array(capacity);
    resized.set(lineNumbers.subarray(0, count));
    this.lineNumbers = resized;
  }

  /** Eight bytes for every number, and four for the line. */
  private bytesPerSample(): number {
    return 8 * this.roles.length + 4;
  }

  private longLogFinding(timeS: Float64Array): Finding {
    const megabytes = (this.count * this.bytesPerSample()) / 1e6;
    const stepS = median(steps(timeS));
    return {
      code: 'long-log',
      severity: 'note',
      message: `The log has ${this.count} samples ${Number(stepS.toPrecision(2))} s apart, which take ${megabytes.toFixed(0)} MB of memory.`,
      remedy: `to need less, write the option blockS: ${stepS < 1 ? 1 : 10}, which keeps one sample for each such stretch`,
      count: this.count,
    };
  }

  private mergedFinding(timeS: Float64Array): Finding {
    const { budgetBytes = NUMBERS_BUDGET_BYTES } = this.options;
    const stepS = median(steps(timeS));
    const allMegabytes = (this.mergedRowCount * this.bytesPerSample()) / 1e6;
    return {
      code: 'block-means',
      severity: stepS > COARSE_S ? 'warning' : 'note',
      message: `The ${this.mergedRowCount} rows that could be used hold more numbers than fit into ${short(budgetBytes / 1e6)} MB: they were made into ${this.count} samples${Number.isNaN(stepS) ? '' : `, ${short(stepS)} s apart,`} of up to ${this.rowsPerSample} rows each. Temperatures are the last reading of each, everything else the mean over its time.`,
      remedy: `to keep every row, write the option blockS: 0, which takes ${short(allMegabytes)} MB; leaving out a column that is not needed, such as columns: { voltage: false }, leaves room for more samples`,
      count: this.mergedRowCount,
    };
  }

  private blockFinding(rowCount: number): Finding {
    return {
      code: 'block-means',
      severity: 'note',
      message: `The rows were made into ${this.count} samples, one for each ${this.options.blockS} s: temperatures are the last reading of each, everything else the mean over it.`,
      remedy:
        'leave out the option blockS to keep every row; it should be short against the fastest time constant that matters',
      count: rowCount,
    };
  }
}

function short(value: number): string {
  return String(Number(value.toPrecision(3)));
}

/** Drops the room that was reserved and not used; large arrays keep it, since a copy would cost more. */
function fitted<T extends Float64Array | Uint32Array>(values: T, count: number): T {
  const isWasteful = values.length - count > count / 8 || count < 1 << 16;
  return (isWasteful ? values.slice(0, count) : values.subarray(0, count)) as T;
}
