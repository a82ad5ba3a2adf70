import { reduceToTriangle, solveUpper, solveUpperTransposed } from './householder.js';

/**
 * The damped Gauss–Newton step of the Levenberg–Marquardt method: minimises ‖R s + c‖² + λ‖D s‖² with the
 * damping λ chosen so that ‖D s‖ is the trust radius within 10 % [More1978], and with steps that would cross a
 * bound stopped at it and the others solved again.
 *
 * All arrays are made once; `solve` does not allocate.
 */
export class DampedStep {
  /** The step, one entry per column handed in. */
  readonly step: Float64Array;
  /** The damping λ of the last step, and the first guess for the next one. */
  damping = 0;

  private readonly stride: number;
  private readonly stack: Float64Array;
  private readonly diagonal: Float64Array;
  private readonly unknowns: Int32Array;
  private readonly solution: Float64Array;
  private readonly work: Float64Array;

  constructor(maxColumnCount: number) {
    this.stride = 2 * maxColumnCount;
    this.step = new Float64Array(maxColumnCount);
    this.stack = new Float64Array(this.stride * (maxColumnCount + 1));
    this.diagonal = new Float64Array(maxColumnCount);
    this.unknowns = new Int32Array(maxColumnCount);
    this.solution = new Float64Array(this.stride);
    this.work = new Float64Array(maxColumnCount);
  }

  /**
   * @param r - upper triangle R, column-major with `count` rows per column
   * @param c - rotated residuals, length count
   * @param scale - D, positive, length count
   * @param lowest - smallest step each entry may take (<= 0), length count
   * @param highest - largest step each entry may take (>= 0), length count
   */
  solve(
    r: Float64Array,
    c: Float64Array,
    count: number,
    scale: Float64Array,
    radius: number,
    lowest: Float64Array,
    highest: Float64Array,
  ): void {
    for (let j = 0; j < count; j += 1) {
      this.unknowns[j] = j;
      this.step[j] = 0;
    }
    this.damp(r, c, count, scale, radius);
    let unknownCount = count;
    for (;;) {
      let kept = 0;
      for (let k = 0; k < unknownCount; k += 1) {
        const j = this.unknowns[k];
        if (this.solution[k] < lowest[j]) this.step[j] = lowest[j];
        else if (this.solution[k] > highest[j]) this.step[j] = highest[j];
        else {
          this.unknowns[kept] = j;
          this.solution[kept] = this.solution[k];
          kept += 1;
        }
      }
      if (kept === unknownCount || kept === 0) {
        for (let k = 0; k < kept; k += 1) this.step[this.unknowns[k]] = this.solution[k];
        return;
      }
      unknownCount = kept;
      for (let k = 0; k < kept; k += 1) this.step[this.unknowns[k]] = 0;
      // A singular rest at zero damping: keep those entries still, the next iteration sees the new active bounds.
      if (!this.solveAt(this.damping, r, c, count, scale, unknownCount)) this.solution.fill(0);
    }
  }

  /** Finds the damping by Moré's safeguarded Newton iteration on the length of the step. */
  private damp(r: Float64Array, c: Float64Array, count: number, scale: Float64Array, radius: number): void {
    let lower = 0;
    const fullRank = this.solveAt(0, r, c, count, scale, count);
    if (fullRank) {
      const length = this.scaledLength(count, scale);
      const excess = length - radius;
      if (excess <= 0.1 * radius) {
        this.damping = 0;
        return;
      }
      lower = excess / radius / this.slopeSquare(count, scale, length);
    }
    let square = 0;
    for (let j = 0; j < count; j += 1) {
      let gradient = 0;
      for (let i = 0; i <= j; i += 1) gradient += r[j * count + i] * c[i];
      square += (gradient / scale[j]) ** 2;
    }
    const gradientLength = Math.sqrt(square);
    let upper = gradientLength / radius;
    if (upper === 0) upper = Number.MIN_VALUE / Math.min(radius, 0.1);
    let damping = Math.min(Math.max(this.damping, lower), upper);
    const first = this.scaledLength(count, scale);
    if (damping === 0) damping = fullRank && first > 0 ? gradientLength / first : 0.001 * upper;
    let previousExcess = Number.POSITIVE_INFINITY;
    for (let iteration = 1; ; iteration += 1) {
      if (damping === 0) damping = Math.max(Number.MIN_VALUE, 0.001 * upper);
      this.solveAt(damping, r, c, count, scale, count);
      const length = this.scaledLength(count, scale);
      const excess = length - radius;
      const settled =
        Math.abs(excess) <= 0.1 * radius ||
        (lower === 0 && excess <= previousExcess && previousExcess < 0) ||
        iteration === 10;
      if (settled) break;
      const correction = excess / radius / this.slopeSquare(count, scale, length);
      if (excess > 0) lower = Math.max(lower, damping);
      else upper = Math.min(upper, damping);
      damping = Math.max(lower, damping + correction);
      previousExcess = excess;
    }
    this.damping = damping;
  }

  /** Solves for the unknown entries at one damping; the others contribute their fixed step. False if singular. */
  private solveAt(
    damping: number,
    r: Float64Array,
    c: Float64Array,
    count: number,
    scale: Float64Array,
    unknownCount: number,
  ): boolean {
    const { stack, stride, diagonal, unknowns, solution } = this;
    const rowCount = damping > 0 ? count + unknownCount : count;
    const root = Math.sqrt(damping);
    const right = unknownCount * stride;
    for (let i = 0; i < count; i += 1) stack[right + i] = -c[i];
    for (let i = count; i < rowCount; i += 1) stack[right + i] = 0;
    if (unknownCount < count) {
      for (let j = 0; j < count; j += 1) {
        const fixed = this.step[j];
        if (fixed === 0) continue;
        for (let i = 0; i <= j; i += 1) stack[right + i] -= r[j * count + i] * fixed;
      }
    }
    for (let k = 0; k < unknownCount; k += 1) {
      const j = unknowns[k];
      const column = k * stride;
      for (let i = 0; i < rowCount; i += 1) stack[column + i] = i <= j ? r[j * count + i] : 0;
      if (damping > 0) stack[column + count + k] = root * scale[j];
    }
    reduceToTriangle(stack, rowCount, stride, unknownCount, unknownCount + 1, diagonal);
    for (let k = 0; k < unknownCount; k += 1) {
      // Relative to the column's own length, hence blind to the units of the parameters.
      let square = diagonal[k] * diagonal[k];
      for (let i = 0; i < k; i += 1) square += stack[k * stride + i] ** 2;
      if (!(Math.abs(diagonal[k]) > 1e-14 * Math.sqrt(square))) return false;
      solution[k] = stack[right + k];
    }
    solveUpper(stack, stride, unknownCount, diagonal, solution, solution);
    return true;
  }

  private scaledLength(count: number, scale: Float64Array): number {
    let square = 0;
    for (let j = 0; j < count; j += 1) square += (scale[j] * this.solution[j]) ** 2;
    return Math.sqrt(square);
  }

  /** ‖R_λ⁻ᵀ D² s / ‖D s‖ ‖², minus the relative slope of the step's length with damping. */
  private slopeSquare(count: number, scale: Float64Array, length: number): number {
    for (let j = 0; j < count; j += 1) this.work[j] = (scale[j] * scale[j] * this.solution[j]) / length;
    solveUpperTransposed(this.stack, this.stride, count, this.diagonal, this.work, this.work);
    let square = 0;
    for (let j = 0; j < count; j += 1) square += this.work[j] * this.work[j];
    return square;
  }
}
