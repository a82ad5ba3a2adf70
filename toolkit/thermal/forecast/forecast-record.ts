import { orderStatistic } from '../../numerics/order-statistic.js';
import { spikesOf } from '../../runs/quality/spikes.js';
import { quantumOf } from '../../runs/quantum.js';
import type { Run } from '../../runs/run.js';
import { gapEdges, intakeAirOf } from '../fit/fit-record.js';
import type { DrivenSamples } from '../pole-response.js';

/** A run up to the end of its load as a forecast sees it: m samples, in blocks. */
export interface ForecastRecord extends DrivenSamples {
  readonly timeS: Float64Array;
  readonly temperatureC: Float64Array;
  /** Air at the intake, degrees Celsius; length m. */
  readonly ambientC: Float64Array;
  readonly ambientMeasured: boolean;
  /** How many readings a sample stands for: 1; 0 for a spike; more where a continued record takes long steps. */
  readonly readingCounts: Float64Array;
  /** Block b holds the samples blockEdges[b] … blockEdges[b + 1] − 1. */
  readonly blockEdges: Int32Array;
  /** First samples after gaps, in which the power is not known. */
  readonly gapEnds: readonly number[];
  /** Whether the first sample is under load already, so that nothing is known of what went before. */
  readonly startsUnderLoad: boolean;
  /** Power the load is held at now, W. */
  readonly loadPowerW: number;
  /** Air at the end, degrees Celsius. */
  readonly endAmbientC: number;
  /** By how much the air has changed over the last minutes of the load, K/min; 0 where the record is too short to say. */
  readonly airDriftKPerMin: number;
  /** Temperature at the end, degrees Celsius: the mean of the last readings. */
  readonly endTemperatureC: number;
  /** Standard deviation of single readings, K. */
  readonly readingNoiseK: number;
  /** Standard deviation of what coarse steps of the sensor add to means of readings, K. */
  readonly roundingK: number;
  /** Step of the sensor, K; 0 where its readings show none. */
  readonly quantumK: number;
}

/** Most blocks: they hold nearly all that a transient tells, and the cost grows with their square. */
const MOST_BLOCKS = 110;
/** More samples than this tell no more: they are averaged in groups, so that the cost does not grow with the sample rate. */
const MOST_SAMPLES = 1500;
/** Blocks are no shorter than this, s. */
const SHORTEST_BLOCK_S = 3;
/** Temperature and air at the end are means over this time, s. */
const END_TEMPERATURE_S = 30;
const END_AIR_S = 60;
/** Its drift is taken against the mean so much earlier, s: rooms sway within it, enclosures go on. */
const AIR_DRIFT_S = 240;
/** Readings closer to their neighbours than this are no spikes, K. */
const SPIKE_FLOOR_K = 3;
/** Where readings do not differ at all, they are still written to about a hundredth, K. */
const LEAST_READING_NOISE_K = 0.003;
/** A continued record takes at most this many steps. */
const MOST_CONTINUED_STEPS = 40;

/** The samples of a run before `load.endIndex`, and what a forecast needs to know of them. */
export function forecastRecord(
  run: Run,
  load: { readonly endIndex: number; readonly powerW: number },
  caller: string,
): ForecastRecord {
  const { endIndex } = load;
  const timeS = run.timeS.slice(0, endIndex);
  const temperatureC = run.temperatureC.slice(0, endIndex);
  const ambientC = intakeAirOf(run, caller).slice(0, endIndex);
  const stepS = new Float64Array(endIndex);
  const drivePowerW = new Float64Array(endIndex);
  // An interval mean belongs to the step before its stamp; an instant value is held until the next sample.
  const held = run.powerSample === 'interval-mean' ? 0 : 1;
  for (let i = 0; i < endIndex; i++) {
    stepS[i] = i === 0 ? 0 : timeS[i] - timeS[i - 1];
    drivePowerW[i] = run.powerW[Math.max(0, i - held)];
  }
  const readingCounts = new Float64Array(endIndex).fill(1);
  for (const spike of spikesOf(temperatureC, SPIKE_FLOOR_K)) readingCounts[spike] = 0;
  const gapEnds = gapEdges(timeS).slice(1, -1);
  const readingNoiseK = noiseOf(temperatureC);
  const quantumK = quantumOf(temperatureC) ?? 0;
  const samples = groupedSamples({
    timeS,
    stepS,
    drivePowerW,
    temperatureC,
    ambientC,
    readingCounts,
    gapEnds,
  });
  return {
    ...samples,
    ambientMeasured: run.ambientC !== undefined,
    blockEdges: blockEdgesOf(samples.timeS, samples.gapEnds),
    startsUnderLoad: run.powerW[0] > load.powerW / 2,
    loadPowerW: load.powerW,
    endAmbientC: meanOfEnd(timeS, ambientC, END_AIR_S),
    airDriftKPerMin: airDriftOf(timeS, ambientC),
    endTemperatureC: meanOfEnd(timeS, temperatureC, END_TEMPERATURE_S),
    readingNoiseK,
    roundingK: roundingOf(quantumK, readingNoiseK),
    quantumK,
  };
}

/** The record as it will be after `moreS` at the load's power and in the final air, if it goes on as `predict` says. */
export function continuedRecord(
  record: ForecastRecord,
  moreS: number,
  predict: (continued: ForecastRecord) => Float64Array,
): ForecastRecord {
  const before = record.timeS.length;
  const endS = record.timeS[before - 1];
  const count = Math.min(MOST_CONTINUED_STEPS, Math.ceil(moreS / SHORTEST_BLOCK_S));
  const stepS = moreS / count;
  const readingsPerS =
    record.readingCounts.reduce((sum, readings) => sum + readings, 0) / (endS - record.timeS[0]);
  const extended = (values: Float64Array, next: (k: number) => number): Float64Array => {
    const all = new Float64Array(before + count);
    all.set(values);
    for (let k = 0; k < count; k++) all[before + k] = next(k);
    return all;
  };
  const continued: ForecastRecord = {
    ...record,
    timeS: extended(record.timeS, (k) => endS + (k + 1) * stepS),
    stepS: extended(record.stepS, () => stepS),
    drivePowerW: extended(record.drivePowerW, () => record.loadPowerW),
    temperatureC: extended(record.temperatureC, () => 0),
    ambientC: extended(record.ambientC, () => record.endAmbientC),
    readingCounts: extended(record.readingCounts, () => readingsPerS * stepS),
    blockEdges: Int32Array.from([
      ...record.blockEdges,
      ...Array.from({ length: count }, (_, k) => before + k + 1),
    ]),
  };
  continued.temperatureC.set(predict(continued).subarray(before), before);
  return continued;
}

/** The columns of a record. */
type RecordSamples = Pick<
  ForecastRecord,
  'timeS' | 'stepS' | 'drivePowerW' | 'temperatureC' | 'ambientC' | 'readingCounts' | 'gapEnds'
>;

/**
 * Means of neighbouring samples, no more than `MOST_SAMPLES` of them and none over a gap: temperature and air at the
 * mean time of a group, the power as the mean from one such time to the next.
 */
function groupedSamples(samples: RecordSamples): RecordSamples {
  const { timeS, stepS, drivePowerW, temperatureC, ambientC, readingCounts, gapEnds } = samples;
  const groupSize = Math.floor(timeS.length / MOST_SAMPLES);
  if (groupSize < 2) return samples;
  const edges = groupEdgesOf(timeS.length, groupSize, gapEnds);
  const count = edges.length - 1;
  const meanOf = (values: Float64Array, weights?: Float64Array): Float64Array =>
    Float64Array.from({ length: count }, (_, g) => {
      let sum = 0;
      let total = 0;
      for (let i = edges[g]; i < edges[g + 1]; i++) {
        const weight = weights?.[i] ?? 1;
        sum += weight * values[i];
        total += weight;
      }
      return total > 0 ? sum / total : values[edges[g]];
    });
  const groupTimeS = meanOf(timeS);
  const groupStepS = groupTimeS.map((time, g) => (g === 0 ? 0 : time - groupTimeS[g - 1]));
  const energyJ = new Float64Array(timeS.length);
  for (let i = 1; i < energyJ.length; i++) energyJ[i] = energyJ[i - 1] + stepS[i] * drivePowerW[i];
  let after = 0;
  const groupEnergyJ = groupTimeS.map((time) => {
    while (timeS[after] < time) after++;
    return energyJ[after] - (timeS[after] - time) * drivePowerW[after];
  });
  return {
    timeS: groupTimeS,
    stepS: groupStepS,
    drivePowerW: groupEnergyJ.map((energy, g) =>
      g === 0 ? drivePowerW[0] : (energy - groupEnergyJ[g - 1]) / groupStepS[g],
    ),
    temperatureC: meanOf(temperatureC, readingCounts),
    ambientC: meanOf(ambientC),
    readingCounts: Float64Array.from({ length: count }, (_, g) =>
      readingCounts.subarray(edges[g], edges[g + 1]).reduce((sum, readings) => sum + readings, 0),
    ),
    gapEnds: gapEnds.map((gapEnd) => edges.indexOf(gapEnd)),
  };
}

/** First samples of groups of one size, new ones behind gaps, and the end. */
function groupEdgesOf(sampleCount: number, groupSize: number, gapEnds: readonly number[]): number[] {
  const edges: number[] = [];
  let gap = 0;
  let first = 0;
  while (first < sampleCount) {
    edges.push(first);
    while (gap < gapEnds.length && gapEnds[gap] <= first) gap++;
    first = Math.min(first + groupSize, gapEnds[gap] ?? sampleCount, sampleCount);
  }
  return [...edges, sampleCount];
}

/** Mean of each block over its readings; a block of spikes alone gives the mean of its samples. */
export function blockMeansOf(record: ForecastRecord, values: Float64Array): Float64Array {
  const { blockEdges, readingCounts } = record;
  const means = new Float64Array(blockEdges.length - 1);
  for (let b = 0; b < means.length; b++) {
    let sum = 0;
    let plain = 0;
    let count = 0;
    for (let i = blockEdges[b]; i < blockEdges[b + 1]; i++) {
      sum += readingCounts[i] * values[i];
      plain += values[i];
      count += readingCounts[i];
    }
    means[b] = count > 0 ? sum / count : plain / (blockEdges[b + 1] - blockEdges[b]);
  }
  return means;
}

/** Blocks of nearly equal duration that never reach over a gap. */
function blockEdgesOf(timeS: Float64Array, gapEnds: readonly number[]): Int32Array {
  const blockS = Math.max(SHORTEST_BLOCK_S, (timeS[timeS.length - 1] - timeS[0]) / MOST_BLOCKS);
  const gaps = new Set(gapEnds);
  const edges = [0];
  for (let i = 1; i < timeS.length; i++) {
    if (gaps.has(i) || timeS[i] - timeS[edges[edges.length - 1]] >= blockS) edges.push(i);
  }
  return Int32Array.from([...edges, timeS.length]);
}

/** Standard deviation of single readings, K, from the differences of neighbours, of which power causes the largest. */
function noiseOf(values: Float64Array): number {
  const squares = new Float64Array(Math.max(1, values.length - 1));
  for (let i = 1; i < values.length; i++) squares[i - 1] = (values[i] - values[i - 1]) ** 2;
  const cut = orderStatistic(squares, Math.floor(0.95 * (squares.length - 1)));
  let sum = 0;
  let count = 0;
  for (const square of squares) {
    if (square > cut) continue;
    sum += square;
    count++;
  }
  return Math.max(LEAST_READING_NOISE_K, Math.sqrt(sum / count / 2));
}

/**
 * What rounding to steps of q adds to a mean of readings with noise σ: a bias between ± (q/π) exp(−2π²σ²/q²) that
 * depends on where between two steps the temperature lies [WidrowKollar2008].
 */
function roundingOf(quantumK: number, readingNoiseK: number): number {
  if (quantumK === 0) return 0;
  const variance = Math.max(0, readingNoiseK ** 2 - quantumK ** 2 / 12);
  return (quantumK / Math.PI / Math.SQRT2) * Math.exp((-2 * Math.PI ** 2 * variance) / quantumK ** 2);
}

function airDriftOf(timeS: Float64Array, ambientC: Float64Array): number {
  const earlierS = timeS[timeS.length - 1] - AIR_DRIFT_S;
  const count = timeS.findLastIndex((time) => time <= earlierS) + 1;
  if (count === 0 || earlierS - timeS[0] < END_AIR_S) return 0;
  const earlier = meanOfEnd(timeS.subarray(0, count), ambientC.subarray(0, count), END_AIR_S);
  return (meanOfEnd(timeS, ambientC, END_AIR_S) - earlier) / (AIR_DRIFT_S / 60);
}

function meanOfEnd(timeS: Float64Array, values: Float64Array, spanS: number): number {
  const endS = timeS[timeS.length - 1];
  let sum = 0;
  let count = 0;
  for (let i = values.length - 1; i >= 0 && endS - timeS[i] <= spanS; i--) {
    sum += values[i];
    count++;
  }
  return sum / count;
}
