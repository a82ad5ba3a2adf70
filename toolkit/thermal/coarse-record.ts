import type { FitPiece, FitRecord } from './fit-record.js';

/** A record with few points, for searching; fits are finished on the full one. */
export interface CoarseRecord {
  readonly record: FitRecord;
  /** How many samples each point stands for. */
  readonly sampleWeights: Float64Array;
}

/** A block may last this share of the time since the power last changed … */
const BLOCK_SHARE = 0.06;
/** … and ends where the power departs from its mean by this share of the highest power. */
const POWER_CHANGE_SHARE = 0.15;

/**
 * Averages a record into blocks that grow with the time since the last change of power: transients flatten as they
 * age, so about a hundred points a step hold nearly all they tell. Temperatures are block means at the block's
 * middle sample; the power between two middles is the exact mean of the record's, so no energy is lost.
 */
export function coarsenRecord(record: FitRecord): CoarseRecord {
  const sampleWeights = new Float64Array(record.sampleCount);
  let pointCount = 0;
  const pieces = record.pieces.map((piece) => {
    const coarse = coarsenPiece(piece, pointCount, sampleWeights);
    pointCount += coarse.stepS.length;
    return coarse;
  });
  return {
    record: { ...record, pieces, sampleCount: pointCount },
    sampleWeights: sampleWeights.slice(0, pointCount),
  };
}

/** Blocks of one piece; writes how many samples each stands for from place `offset` on. */
function coarsenPiece(piece: FitPiece, offset: number, sampleWeights: Float64Array): FitPiece {
  const { elapsedS, stepS, drivePowerW, riseK } = piece;
  const count = stepS.length;
  const coarse = {
    ...piece,
    offset,
    elapsedS: new Float64Array(count),
    stepS: new Float64Array(count),
    drivePowerW: new Float64Array(count),
    riseK: new Float64Array(count),
  };
  let highestW = 0;
  for (let i = 0; i < count; i++) highestW = Math.max(highestW, drivePowerW[i]);
  const changeW = POWER_CHANGE_SHARE * highestW;

  // The first sample, where the start is read, stands alone.
  coarse.drivePowerW[0] = drivePowerW[0];
  coarse.riseK[0] = riseK[0];
  sampleWeights[offset] = 1;
  let pointCount = 1;
  let middleBefore = 0;
  let changedAtS = 0;
  let level = drivePowerW[1];
  for (let first = 1; first < count; ) {
    if (Math.abs(drivePowerW[first] - level) > changeW) {
      level = drivePowerW[first];
      changedAtS = elapsedS[first - 1];
    }
    const lastS = elapsedS[first] + BLOCK_SHARE * (elapsedS[first] - changedAtS);
    let end = first + 1;
    while (end < count && elapsedS[end] <= lastS && Math.abs(drivePowerW[end] - level) <= changeW) end++;
    // An odd number of samples has one in the middle.
    if ((end - first) % 2 === 0) end--;
    const middle = (first + end - 1) >> 1;
    let riseSum = 0;
    for (let i = first; i < end; i++) riseSum += riseK[i];
    let energyJ = 0;
    for (let i = middleBefore + 1; i <= middle; i++) energyJ += stepS[i] * drivePowerW[i];
    coarse.elapsedS[pointCount] = elapsedS[middle];
    coarse.stepS[pointCount] = elapsedS[middle] - elapsedS[middleBefore];
    coarse.drivePowerW[pointCount] = energyJ / coarse.stepS[pointCount];
    coarse.riseK[pointCount] = riseSum / (end - first);
    sampleWeights[offset + pointCount] = end - first;
    pointCount++;
    middleBefore = middle;
    first = end;
  }
  return {
    ...coarse,
    elapsedS: coarse.elapsedS.subarray(0, pointCount),
    stepS: coarse.stepS.subarray(0, pointCount),
    drivePowerW: coarse.drivePowerW.subarray(0, pointCount),
    riseK: coarse.riseK.subarray(0, pointCount),
  };
}
