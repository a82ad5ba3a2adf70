import { lagApartFrom } from '../lag-apart.js';
import type { FitPiece, FitRecord } from './fit-record.js';
import { type FitStructure, linearCountOf, logMountFactors, type ParameterLayout } from './fit-structure.js';

/** A parameter vector read as physics. */
export interface FitParameters {
  /** Reads a vector; all that follows is of the last one read. */
  read(parameters: Float64Array): void;
  readonly timeConstantsS: Float64Array;
  /** Of the sensor, moved clear of the time constants; 0 without one. */
  lagS(): number;
  powerExponent(): number;
  fan(): { readonly share: number; readonly exponent: number };
  /** Factor of a piece's mount on the temperature rise. */
  mountFactorOf(piece: FitPiece): number;
  /** What an unknown intake air is above the nominal one, K; 0 where the air is known. */
  airOffsetOf(piece: FitPiece): number;
  /** Place of the start parameter of a stage of piece p, and the earlier power it holds, W. */
  startPlaceOf(p: number, stage: number): number;
  startOf(p: number, stage: number): number;
}

export function createFitParameters(
  { pieces, mounts }: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
): FitParameters {
  const current = new Float64Array(layout.count);
  const timeConstantsS = new Float64Array(structure.stageCount);
  let lagS = 0;
  let mountFactors = [1];
  const startPlaceOf = (p: number, stage: number): number =>
    layout.startIndices[p] + (pieces[p].startKind === 'free' ? stage : 0);
  return {
    read(parameters) {
      current.set(parameters);
      for (let k = 0; k < structure.stageCount; k++) timeConstantsS[k] = Math.exp(current[k]);
      if (layout.lagIndex >= 0)
        lagS = lagApartFrom(Math.exp(current[layout.lagIndex]), timeConstantsS, structure.stageCount);
      if (layout.mountIndex >= 0)
        mountFactors = logMountFactors(layout, mounts.length, current).map(Math.exp);
    },
    timeConstantsS,
    lagS: () => lagS,
    powerExponent: () => (layout.exponentIndex < 0 ? structure.powerExponent : current[layout.exponentIndex]),
    fan: () => ({ share: current[layout.fanIndex], exponent: current[layout.fanIndex + 1] }),
    mountFactorOf: (piece) => (layout.mountIndex < 0 ? 1 : mountFactors[piece.mountIndex]),
    airOffsetOf: (piece) => (piece.ambientUnknown ? current[layout.ambientIndices[piece.runIndex]] : 0),
    startPlaceOf,
    startOf: (p, stage) => current[startPlaceOf(p, stage)],
  };
}

/** The parameters that touch a piece, as places among [nonlinear, linear]. */
export function placesTouching(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  p: number,
): PiecePlaces {
  const piece = record.pieces[p];
  const { stageCount } = structure;
  const startCount = piece.startKind === 'free' ? stageCount : 1;
  const upTo = (count: number, from: number): number[] => Array.from({ length: count }, (_, i) => from + i);
  const freeMountCount = layout.mountIndex < 0 ? 0 : record.mounts.length - 1;
  // The last mount's factor is what the others leave, so it depends on all of them.
  const mounts = piece.mountIndex < freeMountCount ? [piece.mountIndex] : upTo(freeMountCount, 0);
  return {
    stages: upTo(stageCount, 0),
    lag: layout.lagIndex < 0 ? [] : [layout.lagIndex],
    exponent: layout.exponentIndex < 0 ? [] : [layout.exponentIndex],
    fan: layout.fanIndex < 0 ? [] : [layout.fanIndex, layout.fanIndex + 1],
    mounts: mounts.map((mount) => layout.mountIndex + mount),
    mountSigns: mounts.map((mount) => (mount === piece.mountIndex ? 1 : -1)),
    air: piece.ambientUnknown ? [layout.ambientIndices[piece.runIndex]] : [],
    starts: upTo(startCount, layout.startIndices[p]),
    resistances: upTo(linearCountOf(structure), layout.count),
  };
}

/** Places of the parameters of one piece, by what they are. */
export interface PiecePlaces {
  readonly stages: readonly number[];
  readonly lag: readonly number[];
  readonly exponent: readonly number[];
  readonly fan: readonly number[];
  readonly mounts: readonly number[];
  /** How each of those mounts' log factors enters the piece's. */
  readonly mountSigns: readonly number[];
  readonly air: readonly number[];
  readonly starts: readonly number[];
  readonly resistances: readonly number[];
}
