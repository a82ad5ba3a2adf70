import type { CoarseRecord } from './coarse-record.js';
import { createFitEvaluation } from './fit-evaluation.js';
import type { FitRecord } from './fit-record.js';
import { layoutParameters } from './fit-structure.js';

/** A coarse spectrum of the record: resistance at each of a few fixed time constants. */
export interface CoarseSpectrum {
  readonly timeConstantsS: readonly number[];
  readonly resistancesKPerW: readonly number[];
  /** Start power of each piece implied by its first temperature, W. */
  readonly startPowersW: readonly number[];
}

const GRID_POINTS = 8;

/**
 * Non-negative resistances on a fixed logarithmic grid of time constants: a linear problem, so it has no wrong
 * valleys. Its clusters are where the searches start.
 */
export function coarseSpectrum({ record, sampleWeights }: CoarseRecord, atPowerW: number): CoarseSpectrum {
  const fastest = Math.log(0.7 * record.medianStepS);
  const slowest = Math.log(3 * record.longestPieceS);
  const logTimeConstants = Array.from(
    { length: GRID_POINTS },
    (_, k) => fastest + ((slowest - fastest) * k) / (GRID_POINTS - 1),
  );
  const structure = {
    stageCount: GRID_POINTS,
    sensorLag: false,
    fitExponent: false,
    powerExponent: 0,
    atPowerW,
  };
  const layout = layoutParameters(record, structure);
  const startPowersW = record.pieces.map(impliedStartPowerW);
  const parameters = new Float64Array(layout.count);
  parameters.set(logTimeConstants);
  layout.startIndices.forEach((first, p) => {
    const width = record.pieces[p].startKind === 'free' ? GRID_POINTS : 1;
    parameters.fill(startPowersW[p], first, first + width);
  });
  const evaluation = createFitEvaluation(record, structure, layout, sampleWeights);
  evaluation.evaluate(parameters);
  return {
    timeConstantsS: logTimeConstants.map(Math.exp),
    resistancesKPerW: Array.from(evaluation.linearParameters),
    startPowersW,
  };
}

/**
 * Splits the spectrum into `stageCount` contiguous clusters with the least spread of log τ within them, and
 * returns their weighted mean time constants, fastest first.
 */
export function clusterTimeConstants(spectrum: CoarseSpectrum, stageCount: number): number[] {
  const atoms = spectrum.timeConstantsS
    .map((timeConstantS, k) => ({ log: Math.log(timeConstantS), weight: spectrum.resistancesKPerW[k] }))
    .filter((atom) => atom.weight > 0);
  // Fewer atoms than stages: the fastest is split, since slow stages are the better determined ones.
  while (atoms.length < stageCount) {
    const first = atoms[0] ?? { log: 0, weight: 1 };
    atoms.splice(
      0,
      1,
      { log: first.log - 0.7, weight: first.weight / 2 },
      { log: first.log + 0.7, weight: first.weight / 2 },
    );
  }
  const clusters = bestPartition(atoms, stageCount);
  return clusters.map((cluster) => Math.exp(meanLog(cluster)));
}

interface Atom {
  readonly log: number;
  readonly weight: number;
}

/** The contiguous partition with the least spread within its parts, by trying them all: there are few atoms. */
function bestPartition(atoms: readonly Atom[], parts: number): (readonly Atom[])[] {
  if (parts === 1) return [atoms];
  let best: (readonly Atom[])[] = [];
  let bestSpread = Number.POSITIVE_INFINITY;
  for (let cut = 1; cut <= atoms.length - (parts - 1); cut++) {
    const partition = [atoms.slice(0, cut), ...bestPartition(atoms.slice(cut), parts - 1)];
    const spread = partition.reduce((sum, part) => sum + spreadOf(part), 0);
    if (spread < bestSpread) {
      best = partition;
      bestSpread = spread;
    }
  }
  return best;
}

function meanLog(atoms: readonly Atom[]): number {
  const weight = atoms.reduce((sum, atom) => sum + atom.weight, 0);
  return atoms.reduce((sum, atom) => sum + atom.weight * atom.log, 0) / weight;
}

function spreadOf(atoms: readonly Atom[]): number {
  const mean = meanLog(atoms);
  return atoms.reduce((sum, atom) => sum + atom.weight * (atom.log - mean) ** 2, 0);
}

/** Earlier power at which the piece's first temperature would have been in equilibrium, W. */
function impliedStartPowerW(piece: FitRecord['pieces'][number]): number {
  const last = piece.riseK.length - 1;
  const resistance = piece.riseK[last] / Math.max(piece.drivePowerW[last], 1);
  return resistance > 0 ? piece.riseK[0] / resistance : 0;
}
