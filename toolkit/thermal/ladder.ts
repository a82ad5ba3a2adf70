import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import { ArgumentError, requireNumber } from '../errors.js';
import type { LadderRung } from './cooler-model.js';

/** One term of a step response as plain numbers: resistance · (1 − exp(−t / time constant)). */
export interface Pole {
  readonly timeConstantS: number;
  readonly resistanceKPerW: number;
}

/**
 * The ladder of heat capacities and resistances that has the given step response at the die.
 *
 * A sum of poles Σ rₖ / (1 + s τₖ) with rₖ > 0 and distinct τₖ is the impedance of exactly one ladder
 * C₁ – R₁ – C₂ – … – Rₙ that starts with a heat capacity at the die and ends in the air (continued fraction
 * expansion, "Foster to Cauer"). It is computed through the symmetric tridiagonal matrix with eigenvalues 1/τₖ
 * and spectral weights rₖ/τₖ, by Lanczos recursion with full reorthogonalisation, which stays accurate where the
 * polynomial long division loses digits [GolubMeurant2010, ch. 3–4] [JESD51-14, annex].
 *
 * @param poles - time constants, s, distinct and > 0; resistances, K/W, > 0
 * @returns rungs from the die outward; Σ resistances equals Σ of the poles' resistances
 * @throws ArgumentError if a value is not positive or two time constants coincide
 * @example
 * ladderFromPoles([
 *   { timeConstantS: 1, resistanceKPerW: 1 / 2 },
 *   { timeConstantS: 1 / 3, resistanceKPerW: 1 / 6 },
 * ]); // => [{ heatCapacityJPerK: 1, resistanceKPerW: 1 / 2 }, { heatCapacityJPerK: 4, resistanceKPerW: 1 / 6 }] within 1e-12
 */
export function ladderFromPoles(poles: readonly Pole[]): LadderRung[] {
  const caller = 'ladderFromPoles';
  const count = poles.length;
  poles.forEach((pole, index) => {
    requireNumber(pole.timeConstantS, { caller, argument: `poles[${index}].timeConstantS` }, { above: 0 });
    requireNumber(
      pole.resistanceKPerW,
      { caller, argument: `poles[${index}].resistanceKPerW` },
      { above: 0 },
    );
  });
  const rates = poles.map((pole) => 1 / pole.timeConstantS);
  if (new Set(rates).size < count) {
    throw new ArgumentError({
      caller,
      argument: 'poles',
      expected: 'poles with distinct time constants',
      received: poles.map((pole) => pole.timeConstantS).join(', '),
      remedy: 'merge equal poles by adding their resistances',
    });
  }
  const weights = poles.map((pole) => pole.resistanceKPerW / pole.timeConstantS);
  const totalWeight = weights.reduce((sum, weight) => sum + weight, 0);
  const { diagonal, offDiagonal } = tridiagonalFromSpectrum(rates, weights);

  // The scaled conductance matrix of a ladder is tridiagonal: its first diagonal entry is G₁/C₁, the others
  // (Gᵢ₋₁ + Gᵢ)/Cᵢ, and its off-diagonal entries −Gᵢ/√(CᵢCᵢ₊₁). Reading them in order gives the rungs.
  const rungs: LadderRung[] = [];
  let heatCapacityJPerK = 1 / totalWeight;
  let conductanceBefore = 0;
  for (let i = 0; i < count; i++) {
    const conductance = diagonal[i] * heatCapacityJPerK - conductanceBefore;
    rungs.push({ heatCapacityJPerK, resistanceKPerW: 1 / conductance });
    if (i + 1 < count) {
      heatCapacityJPerK = conductance ** 2 / (offDiagonal[i] ** 2 * heatCapacityJPerK);
      conductanceBefore = conductance;
    }
  }
  return rungs;
}

/**
 * The poles of a ladder's step response at the die: the inverse of `ladderFromPoles`.
 *
 * The eigenvalues of C^(−1/2) K C^(−1/2) are 1/τₖ, and the squared first components of its eigenvectors, divided
 * by the die's heat capacity, are rₖ/τₖ.
 *
 * @param ladder - rungs from the die outward, all values > 0
 * @returns poles, fastest first
 * @throws ArgumentError if the ladder is empty or a value is not positive
 * @example
 * // Three equal sections: τ = RC / (4 sin²((2k − 1) π / 14))
 * const section = { heatCapacityJPerK: 1, resistanceKPerW: 1 };
 * polesOfLadder([section, section, section]).map((pole) => pole.timeConstantS); // => [0.307979, 0.643104, 5.048917] within 1e-6
 */
export function polesOfLadder(ladder: readonly LadderRung[]): Pole[] {
  const { rates, modes } = modesOfLadder(ladder, 'polesOfLadder');
  return rates.map((rate, k) => ({
    timeConstantS: 1 / rate,
    resistanceKPerW: modes[k][0] ** 2 / ladder[0].heatCapacityJPerK / rate,
  }));
}

/** Decay rates 1/τ, fastest first, and the orthonormal eigenvectors of the scaled conductance matrix. */
export function modesOfLadder(
  ladder: readonly LadderRung[],
  caller: string,
): { readonly rates: readonly number[]; readonly modes: readonly (readonly number[])[] } {
  const count = ladder.length;
  if (count === 0) {
    throw new ArgumentError({ caller, argument: 'ladder', expected: 'one rung or more', received: ladder });
  }
  ladder.forEach((rung, index) => {
    requireNumber(
      rung.heatCapacityJPerK,
      { caller, argument: `ladder[${index}].heatCapacityJPerK` },
      { above: 0 },
    );
    requireNumber(
      rung.resistanceKPerW,
      { caller, argument: `ladder[${index}].resistanceKPerW` },
      { above: 0 },
    );
  });
  const matrix = Matrix.zeros(count, count);
  let conductanceBefore = 0;
  for (let i = 0; i < count; i++) {
    const conductance = 1 / ladder[i].resistanceKPerW;
    matrix.set(i, i, (conductanceBefore + conductance) / ladder[i].heatCapacityJPerK);
    if (i + 1 < count) {
      const coupling =
        -conductance / Math.sqrt(ladder[i].heatCapacityJPerK * ladder[i + 1].heatCapacityJPerK);
      matrix.set(i, i + 1, coupling);
      matrix.set(i + 1, i, coupling);
    }
    conductanceBefore = conductance;
  }
  const decomposition = new EigenvalueDecomposition(matrix, { assumeSymmetric: true });
  const vectors = decomposition.eigenvectorMatrix;
  const order = decomposition.realEigenvalues
    .map((rate, column) => ({ rate, column }))
    .sort((a, b) => b.rate - a.rate);
  return {
    rates: order.map(({ rate }) => rate),
    modes: order.map(({ column }) => vectors.getColumn(column)),
  };
}

/** Lanczos recursion: the Jacobi matrix with the given eigenvalues and spectral weights of the first unit vector. */
function tridiagonalFromSpectrum(
  eigenvalues: readonly number[],
  weights: readonly number[],
): { diagonal: number[]; offDiagonal: number[] } {
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const basis = [weights.map((weight) => Math.sqrt(weight / total))];
  const diagonal: number[] = [];
  const offDiagonal: number[] = [];
  for (let i = 0; i < eigenvalues.length; i++) {
    const current = basis[i];
    const image = current.map((component, k) => component * eigenvalues[k]);
    diagonal.push(dot(image, current));
    if (i + 1 === eigenvalues.length) break;
    // Twice is enough: the second sweep removes what rounding left of the earlier directions.
    for (let sweep = 0; sweep < 2; sweep++) {
      for (const direction of basis) {
        const share = dot(image, direction);
        for (let k = 0; k < image.length; k++) image[k] -= share * direction[k];
      }
    }
    const length = Math.sqrt(dot(image, image));
    offDiagonal.push(length);
    basis.push(image.map((component) => component / length));
  }
  return { diagonal, offDiagonal };
}

function dot(a: readonly number[], b: readonly number[]): number {
  let sum = 0;
  for (let k = 0; k < a.length; k++) sum += a[k] * b[k];
  return sum;
}
