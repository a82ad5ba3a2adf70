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
  const pieces: FitPiece[] = [];
  const counts: number[] = [];
  for (const piece of record.pieces) {
    const blocks = blocksOf(piece);
    const offset = counts.length;
    const energyJ = new Float64Array(piece.stepS.length);
    for (let i = 1; i < energyJ.length; i++)
      energyJ[i] = energyJ[i - 1] + piece.stepS[i] * piece.drivePowerW[i];
    const coarse = {
      ...piece,
      offset,
      elapsedS: new Float64Array(blocks.length),
      stepS: new Float64Array(blocks.length),
      drivePowerW: new Float64Array(blocks.length),
      riseK: new Float64Array(blocks.length),
    };
    coarse.drivePowerW[0] = piece.drivePowerW[0];
    let middleBefore = 0;
    blocks.forEach(([first, end], b) => {
      const middle = (first + end - 1) >> 1;
      coarse.elapsedS[b] = piece.elapsedS[middle];
      if (b > 0) {
        coarse.stepS[b] = piece.elapsedS[middle] - piece.elapsedS[middleBefore];
        coarse.drivePowerW[b] = (energyJ[middle] - energyJ[middleBefore]) / coarse.stepS[b];
      }
      let sum = 0;
      for (let i = first; i < end; i++) sum += piece.riseK[i];
      coarse.riseK[b] = sum / (end - first);
      middleBefore = middle;
    });
    pieces.push(coarse);
    for (const [first, end] of blocks) counts.push(end - first);
  }
  return {
    record: { ...record, pieces, sampleCount: counts.length },
    sampleWeights: Float64Array.from(counts),
  };
}

/** Index ranges of the blocks of one piece; the first sample, where the start is read, stands alone. */
function blocksOf(piece: FitPiece): [first: number, end: number][] {
  const { elapsedS, drivePowerW } = piece;
  const count = elapsedS.length;
  let highestW = 0;
  for (let i = 0; i < count; i++) highestW = Math.max(highestW, drivePowerW[i]);
  const changeW = POWER_CHANGE_SHARE * highestW;
  const blocks: [number, number][] = [[0, 1]];
  let changedAtS = 0;
  let level = drivePowerW[Math.min(1, count - 1)];
  for (let first = 1; first < count; ) {
    if (Math.abs(drivePowerW[first] - level) > changeW) {
      level = drivePowerW[first];
      changedAtS = elapsedS[first - 1];
    }
    const longestS = BLOCK_SHARE * (elapsedS[first] - changedAtS);
    let end = first + 1;
    while (
      end < count &&
      elapsedS[end] - elapsedS[first] <= longestS &&
      Math.abs(drivePowerW[end] - level) <= changeW
    ) {
      end++;
    }
    // An odd number of samples has one in the middle.
    if ((end - first) % 2 === 0) end--;
    blocks.push([first, end]);
    first = end;
  }
  return blocks;
}
