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
  const sampleWeights: number[] = [];
  const pieces = record.pieces.map((piece) => coarsenPiece(piece, sampleWeights));
  return {
    record: { ...record, pieces, sampleCount: sampleWeights.length },
    sampleWeights: new Float64Array(sampleWeights),
  };
}

/** Blocks of one piece; adds how many samples each stands for to the weights. */
function coarsenPiece(piece: FitPiece, sampleWeights: number[]): FitPiece {
  const { elapsedS, stepS, drivePowerW, riseK } = piece;
  const count = stepS.length;
  const offset = sampleWeights.length;
  let highestW = 0;
  for (let i = 0; i < count; i++) highestW = Math.max(highestW, drivePowerW[i]);
  const changeW = POWER_CHANGE_SHARE * highestW;

  // The first sample, where the start is read, stands alone.
  const elapsed = [0];
  const steps = [0];
  const powers = [drivePowerW[0]];
  const rises = [riseK[0]];
  sampleWeights.push(1);
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
    const lastedS = elapsedS[middle] - elapsedS[middleBefore];
    elapsed.push(elapsedS[middle]);
    steps.push(lastedS);
    powers.push(energyJ / lastedS);
    rises.push(riseSum / (end - first));
    sampleWeights.push(end - first);
    middleBefore = middle;
    first = end;
  }
  return {
    ...piece,
    offset,
    elapsedS: new Float64Array(elapsed),
    stepS: new Float64Array(steps),
    drivePowerW: new Float64Array(powers),
    riseK: new Float64Array(rises),
  };
}
