import { polesOfLadder } from '../ladder.js';

/** Poles of a ladder, and how they move with its rungs. */
export interface LadderPoles {
  /** Logarithms of the time constants, fastest first, then the resistances, K/W: 2 n numbers. */
  readonly values: readonly number[];
  /** Their derivatives by the logarithms of the rungs' heat capacities, then of their resistances: 2 n rows of 2 n. */
  readonly jacobian: readonly (readonly number[])[];
}

/** Central differences of eigenvalues known to 1e-15 are best at about the cube root of that. */
const STEP = 1e-5;

/**
 * Poles of the ladder with these logarithms of heat capacities (J/K) and resistances (K/W), from the die outward: what a
 * record is fitted by, from what several coolers can have in common.
 */
export function polesOfLogLadder(logRungs: readonly number[]): LadderPoles {
  const values = polesOf(logRungs);
  const columns = logRungs.map((_, i) => {
    const up = polesOf(logRungs.with(i, logRungs[i] + STEP));
    const down = polesOf(logRungs.with(i, logRungs[i] - STEP));
    return up.map((value, row) => (value - down[row]) / (2 * STEP));
  });
  return { values, jacobian: values.map((_, row) => columns.map((column) => column[row])) };
}

function polesOf(logRungs: readonly number[]): number[] {
  const count = logRungs.length / 2;
  const poles = polesOfLadder(
    Array.from({ length: count }, (_, k) => ({
      heatCapacityJPerK: Math.exp(logRungs[k]),
      resistanceKPerW: Math.exp(logRungs[count + k]),
    })),
  );
  return [
    ...poles.map(({ timeConstantS }) => Math.log(timeConstantS)),
    ...poles.map(({ resistanceKPerW }) => resistanceKPerW),
  ];
}
