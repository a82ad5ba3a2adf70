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
  const pieces = record.pieces.map((piece) => blocksOf(piece, sampleWeights, blockWithTime(piece)));
  return {
    record: { ...record, pieces, sampleCount: sampleWeights.length },
    sampleWeights: new Float64Array(sampleWeights),
  };
}

/** Longest records that are finished as they are; longer ones on block means, about this share of the limit many. */
const MOST_SAMPLES = 1_000_000;
const BLOCK_SHARE_OF_LIMIT = 0.25;
/** Samples after a change of power that stand for themselves, for each sample of a block. */
const FULL_SAMPLES_PER_BLOCK_SAMPLE = 50;

/**
 * A record that is not too long to be finished: itself, or block means of it. Blocks are short after a change of power,
 * where a transient is steep, and end where the power changes. The model is held against them as its own means over the
 * same samples, so nothing is approximated but the bend of the convection and the fan within a block.
 */
export function finishableRecord(record: FitRecord, mostSamples: number = MOST_SAMPLES): FitRecord {
  if (record.sampleCount <= mostSamples) return record;
  const blockLength = Math.ceil(record.sampleCount / (BLOCK_SHARE_OF_LIMIT * mostSamples));
  const sampleWeights: number[] = [];
  const pieces = record.pieces.map((piece) => {
    const blocks = blocksOf(piece, sampleWeights, (first, changed) =>
      Math.min(blockLength, 1 + Math.floor((first - changed) / FULL_SAMPLES_PER_BLOCK_SAMPLE)),
    );
    const samplesPerPoint = Float64Array.from(sampleWeights.slice(blocks.offset));
    const blockEnds = new Int32Array(samplesPerPoint.length);
    let end = 0;
    samplesPerPoint.forEach((count, block) => {
      end += count;
      blockEnds[block] = end;
    });
    const { stepS, drivePowerW } = piece;
    return { ...blocks, samplesPerPoint, within: { stepS, drivePowerW, blockEnds } };
  });
  return { ...record, pieces, sampleCount: sampleWeights.length, blockLength };
}

/**
 * Blocks of one piece; adds how many samples each stands for to the weights.
 *
 * @param mostSamplesOf - how many samples a block may hold that begins at `first`, where the power changed last at
 * `changed`
 */
function blocksOf(
  piece: FitPiece,
  sampleWeights: number[],
  mostSamplesOf: (first: number, changed: number) => number,
): FitPiece {
  const { elapsedS, stepS, drivePowerW, riseK, logFanRatio } = piece;
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
  let changed = 0;
  const fanRatios = [logFanRatio?.[0] ?? 0];
  let level = drivePowerW[1];
  for (let first = 1; first < count; ) {
    if (Math.abs(drivePowerW[first] - level) > changeW) {
      level = drivePowerW[first];
      changed = first - 1;
    }
    const most = Math.min(count, first + mostSamplesOf(first, changed));
    let end = first + 1;
    while (end < most && Math.abs(drivePowerW[end] - level) <= changeW) end++;
    // An odd number of samples has one in the middle.
    if ((end - first) % 2 === 0) end--;
    const middle = (first + end - 1) >> 1;
    let riseSum = 0;
    for (let i = first; i < end; i++) riseSum += riseK[i];
    let energyJ = 0;
    let fanSum = 0;
    for (let i = middleBefore + 1; i <= middle; i++) {
      energyJ += stepS[i] * drivePowerW[i];
      if (logFanRatio !== undefined) fanSum += stepS[i] * logFanRatio[i];
    }
    const lastedS = elapsedS[middle] - elapsedS[middleBefore];
    fanRatios.push(fanSum / lastedS);
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
    ...(logFanRatio === undefined ? {} : { logFanRatio: new Float64Array(fanRatios) }),
  };
}

/** Blocks that last a share of the time since the power last changed. */
function blockWithTime({ elapsedS }: FitPiece): (first: number, changed: number) => number {
  return (first, changed) => {
    const lastS = elapsedS[first] + BLOCK_SHARE * (elapsedS[first] - elapsedS[changed]);
    // By halving: power that is never steady asks for every sample.
    let end = first + 1;
    let beyond = elapsedS.length;
    while (end < beyond) {
      const middle = (end + beyond) >> 1;
      if (elapsedS[middle] <= lastS) end = middle + 1;
      else beyond = middle;
    }
    return end - first;
  };
}
