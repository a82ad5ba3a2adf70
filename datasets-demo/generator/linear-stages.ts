import { EigenvalueDecomposition, Matrix } from 'ml-matrix';
import { convectionKPerW, steadyTemperatures, type ThermalNetwork } from './thermal-network.js';

/** One term of a step response: resistance · (1 − exp(−t / time constant)). */
export interface LinearStage {
  readonly timeConstantS: number;
  readonly resistanceKPerW: number;
}

/**
 * Response of the die to a small step in power about a steady state on the open bench, fastest stage first.
 *
 * The network is linear there: C dT/dt = −G T + heat. With S = C^−½ G C^−½ = V Λ Vᵀ the stages are 1/λ and
 * V₀² / (C₀ λ). Convection counts by its slope, (1 + p) / R, so the resistances sum to the slope of temperature
 * against power, a little less than (die − air) / power.
 */
export function linearStages(network: ThermalNetwork, powerW: number): LinearStage[] {
  const { nodes, board, convection } = network;
  const count = nodes.length;
  const steady = steadyTemperatures({ ...network, enclosure: undefined }, powerW, 0);
  const capacity = [...nodes.map((node) => node.heatCapacityJPerK), board.heatCapacityJPerK];
  const conductance = Matrix.zeros(count + 1, count + 1);
  const join = (a: number, b: number, wPerK: number): void => {
    for (const [row, column, sign] of [
      [a, a, 1],
      [b, b, 1],
      [a, b, -1],
      [b, a, -1],
    ] as const) {
      conductance.set(row, column, conductance.get(row, column) + sign * wPerK);
    }
  };
  const toAir = (a: number, wPerK: number): void => {
    conductance.set(a, a, conductance.get(a, a) + wPerK);
  };
  for (let index = 0; index < count - 1; index += 1) {
    join(index, index + 1, 1 / nodes[index].resistanceKPerW);
  }
  toAir(count - 1, (1 + convection.exponent) / convectionKPerW(network, steady[count - 1]));
  join(0, count, 1 / board.fromDieKPerW);
  toAir(count, 1 / board.toAirKPerW);

  const scaled = conductance.clone();
  for (let row = 0; row <= count; row += 1) {
    for (let column = 0; column <= count; column += 1) {
      const scale = Math.sqrt(capacity[row] * capacity[column]);
      scaled.set(row, column, conductance.get(row, column) / scale);
    }
  }
  const { realEigenvalues, eigenvectorMatrix } = new EigenvalueDecomposition(scaled, {
    assumeSymmetric: true,
  });
  return realEigenvalues
    .map((rate, index) => ({
      timeConstantS: 1 / rate,
      resistanceKPerW: eigenvectorMatrix.get(0, index) ** 2 / (capacity[0] * rate),
    }))
    .sort((a, b) => a.timeConstantS - b.timeConstantS);
}
