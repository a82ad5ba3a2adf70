import type { CurveForm } from '../forms/curve-form.js';

/** Mapping between natural parameters and those that are fitted: logarithms, and whitened knots of the correction. */
export interface FittedScale {
  toNatural(x: ArrayLike<number>): Float64Array;
  toFitted(p: ArrayLike<number>): Float64Array;
  /** ∂p/∂x, row-major. */
  derivative(p: ArrayLike<number>): readonly Float64Array[];
}

/** The scale a form is fitted on, for a standard deviation of its correction. */
export function fittedScale(form: CurveForm, correctionSpread: number): FittedScale {
  const knotCount = form.correction?.knotsMHz.length ?? 0;
  const factor = form.correction?.factor ?? new Float64Array(0);
  const count = form.parameters.length;
  const first = count - knotCount;
  const above = form.parameters.map((parameter) => parameter.above);
  return {
    toNatural(x) {
      const p = new Float64Array(count);
      for (let j = 0; j < first; j++) p[j] = above[j] === undefined ? x[j] : above[j]! + Math.exp(x[j]);
      for (let i = 0; i < knotCount; i++) {
        let sum = 0;
        for (let j = 0; j <= i; j++) sum += factor[i * knotCount + j] * x[first + j];
        p[first + i] = correctionSpread * sum;
      }
      return p;
    },
    toFitted(p) {
      const x = new Float64Array(count);
      for (let j = 0; j < first; j++) x[j] = above[j] === undefined ? p[j] : Math.log(p[j] - above[j]!);
      for (let i = 0; i < knotCount; i++) {
        let rest = p[first + i] / correctionSpread;
        for (let j = 0; j < i; j++) rest -= factor[i * knotCount + j] * x[first + j];
        x[first + i] = rest / factor[i * knotCount + i];
      }
      return x;
    },
    derivative(p) {
      const rows = form.parameters.map(() => new Float64Array(count));
      for (let j = 0; j < first; j++) rows[j][j] = above[j] === undefined ? 1 : p[j] - above[j]!;
      for (let i = 0; i < knotCount; i++)
        for (let j = 0; j <= i; j++)
          rows[first + i][first + j] = correctionSpread * factor[i * knotCount + j];
      return rows;
    },
  };
}
