import type { PowerSample } from '../../runs/run.js';
import type { ColumnRole } from '../table/column-rules.js';

/** Roles that are states at an instant; all others are means over time. */
const STATES: ReadonlySet<ColumnRole> = new Set<ColumnRole>(['time', 'temperature', 'ambient']);

/** Which rows belong together. */
export type Stretch =
  /** All within this time, in the unit of the time column. */
  | { readonly kind: 'time'; readonly length: number }
  /** So many one after the other, unless time steps back or an interval longer than this lies between them. */
  | { readonly kind: 'rows'; readonly rowCount: number; readonly longestStep: number };

/**
 * Makes one sample of the rows of a stretch, so that a log far longer than the physics needs fits into memory.
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
  private heldPower = Number.NaN;
  rowCount = 0;
  line = 0;

  /** @param usualStep - what a row stands for whose interval is not known, such as the first: as long as none was seen */
  constructor(
    private readonly roles: readonly ColumnRole[],
    private stretch: Stretch,
    private readonly powerSample: PowerSample,
    private usualStep = 0,
  ) {
    this.sums = new Float64Array(roles.length);
    this.weights = new Float64Array(roles.length);
    this.last = new Float64Array(roles.length).fill(Number.NaN);
  }

  /** A copy that goes its own way from here on. */
  clone(): BlockMeans {
    const copy = new BlockMeans(this.roles, this.stretch, this.powerSample, this.usualStep);
    copy.sums.set(this.sums);
    copy.weights.set(this.weights);
    copy.last.set(this.last);
    copy.startTime = this.startTime;
    copy.lastTime = this.lastTime;
    copy.heldPower = this.heldPower;
    copy.rowCount = this.rowCount;
    copy.line = this.line;
    return copy;
  }

  /** Whether a row at that time belongs to another stretch than the rows so far. */
  isOver(time: number): boolean {
    if (this.rowCount === 0) return false;
    const { stretch, lastTime } = this;
    const isWithin =
      stretch.kind === 'time'
        ? time < this.startTime + stretch.length
        : this.rowCount < stretch.rowCount && time - lastTime <= stretch.longestStep;
    return !(time >= lastTime && isWithin);
  }

  /** Goes on in longer stretches, with the rows so far in the first of them. */
  lengthen(stretch: Stretch): void {
    this.stretch = stretch;
  }

  /** Takes a row: its values in the order of the roles, the time first. */
  add(values: ArrayLike<number>, line: number): void {
    const time = values[0];
    const step = time - this.lastTime;
    const { stretch } = this;
    const isUsual = step > 0 && step <= (stretch.kind === 'time' ? stretch.length : stretch.longestStep);
    if (isUsual) this.usualStep = step;
    const weight = isUsual ? step : this.usualStep;
    for (let k = 0; k < this.roles.length; k++) {
      const role = this.roles[k];
      const value = values[k];
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
        this.sums[k] = this.sums[k] + weight * heating;
        this.weights[k] = this.weights[k] + weight;
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
      into[k] = this.weights[k] > 0 ? this.sums[k] / this.weights[k] : this.last[k];
    }
    this.sums.fill(0);
    this.weights.fill(0);
    this.last.fill(Number.NaN);
    this.rowCount = 0;
  }
}
