import type { PowerSample } from '../../runs/run.js';
import type { ColumnRole } from '../table/column-rules.js';

/** Roles that are states at an instant; all others are means over time. */
const STATES: ReadonlySet<ColumnRole> = new Set<ColumnRole>(['time', 'temperature', 'ambient']);

/**
 * Makes one sample of all rows within a stretch of time, so that a log far longer than the physics needs fits into memory.
 *
 * The sample stands at the time of the last row. Temperatures are those of the last row, since they are the state at that
 * time; power, frequency, throughput, fan speed and voltage are means over the stretch, each row weighted by the time it
 * stands for: the interval before it, or, where powers are instants, the power before it held over that interval.
 */
export class BlockMeans {
  private readonly sums: Float64Array;
  private readonly weights: Float64Array;
  private readonly last: Float64Array;
  private startTime = Number.NaN;
  private lastTime = Number.NaN;
  private usualStep = 0;
  private heldPower = Number.NaN;
  rowCount = 0;
  line = 0;

  constructor(
    private readonly roles: readonly ColumnRole[],
    /** In the unit of the time column. */
    private readonly length: number,
    private readonly powerSample: PowerSample,
  ) {
    this.sums = new Float64Array(roles.length);
    this.weights = new Float64Array(roles.length);
    this.last = new Float64Array(roles.length).fill(Number.NaN);
  }

  /** A copy that goes its own way from here on. */
  clone(): BlockMeans {
    const copy = new BlockMeans(this.roles, this.length, this.powerSample);
    copy.sums.set(this.sums);
    copy.weights.set(this.weights);
    copy.last.set(this.last);
    copy.startTime = this.startTime;
    copy.lastTime = this.lastTime;
    copy.usualStep = this.usualStep;
    copy.heldPower = this.heldPower;
    copy.rowCount = this.rowCount;
    copy.line = this.line;
    return copy;
  }

  /** Whether a row at that time belongs to another stretch than the rows so far. */
  isOver(time: number): boolean {
    return this.rowCount > 0 && !(time >= this.lastTime && time < this.startTime + this.length);
  }

  /** Takes a row: its values in the order of the roles, the time first. */
  add(values: ArrayLike<number>, line: number): void {
    const time = values[0]!;
    const step = time - this.lastTime;
    const isUsual = step > 0 && step <= this.length;
    if (isUsual) this.usualStep = step;
    const weight = isUsual ? step : this.usualStep;
    for (let k = 0; k < this.roles.length; k++) {
      const role = this.roles[k]!;
      const value = values[k]!;
      if (STATES.has(role)) {
        if (!Number.isNaN(value)) this.last[k] = value;
        continue;
      }
      // A power that is held until the next sample has heated during the interval before this row.
      const heating =
        role === 'power' && this.powerSample === 'instant' && isUsual && !Number.isNaN(this.heldPower)
          ? this.heldPower
          : value;
      if (!Number.isNaN(heating) && weight > 0) {
        this.sums[k] = this.sums[k]! + weight * heating;
        this.weights[k] = this.weights[k]! + weight;
      }
      if (role === 'power') this.heldPower = value;
      if (!Number.isNaN(value)) this.last[k] = value;
    }
    if (this.rowCount === 0) this.startTime = time;
    this.lastTime = time;
    this.line = line;
    this.rowCount++;
  }

  /** The value of each role over the rows so far, NaN where none was readable; then begins anew. */
  close(into: Float64Array): void {
    for (let k = 0; k < this.roles.length; k++) {
      into[k] = this.weights[k]! > 0 ? this.sums[k]! / this.weights[k]! : this.last[k]!;
    }
    this.sums.fill(0);
    this.weights.fill(0);
    this.last.fill(Number.NaN);
    this.rowCount = 0;
  }
}
