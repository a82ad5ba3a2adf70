import { orderStatistic } from '../numerics/order-statistic.js';
import { quantumOf } from '../runs/quantum.js';
import type { Run } from '../runs/run.js';
import { spikesOf } from '../runs/spikes.js';
import { gapEdges, intakeAirOf } from './fit-record.js';
import type { DrivenSamples } from './pole-response.js';

/** A run so far, up to the end of its load, as a forecast sees it: samples, and blocks of them. */
export interface ForecastRecord extends DrivenSamples {
  /** Sample times, s; length m. */
  readonly timeS: Float64Array;
  readonly temperatureC: Float64Array;
  /** Air at the intake, degrees Celsius. */
  readonly ambientC: Float64Array;
  readonly ambientMeasured: boolean;
  /** 1 for a reading that counts, 0 for a spike. */
  readonly kept: Float64Array;
  /** Block b holds the samples edges[b] … edges[b + 1] − 1. */
  readonly blockEdges: Int32Array;
  /** How many readings one sample stands for: 1, or more where a continued record has long steps. */
  readonly readingsPerSample: Float64Array;
  /** First samples after gaps, during which the power is not known. */
  readonly gapEnds: readonly number[];
  /** Whether the first sample is under load already, so that nothing is known of what went before. */
  readonly startsUnderLoad: boolean;
  /** Power the load is held at now: the forecast's, W. */
  readonly loadPowerW: number;
  readonly endAmbientC: number;
  /** Standard deviation of single readings, K. */
  readonly readingNoiseK: number;
  /** Standard deviation of what coarse rounding adds that does not average out, K. */
  readonly roundingK: number;
}

/** Most blocks: they hold nearly all that a transient tells, and the cost grows with their square. */
const MOST_BLOCKS = 110;

/** Blocks are no shorter than this, s. */
const SHORTEST_BLOCK_S = 3;

/** The air at the end is the mean of its last readings over this time, s. */
const END_AIR_S = 60;

/** Readings this far from their neighbours may be spikes, K. */
const SPIKE_FLOOR_K = 3;

/** Steps of the sensor finer than this share of the noise are nothing but noise. */
const MAD_TO_STANDARD_DEVIATION = 1.4826;

/** The samples up to the end of the load, and what a forecast needs to know of them. */
export function forecastRecord(
  run: Run,
  load: { readonly startIndex: number; readonly endIndex: number; readonly powerW: number },
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
  const kept = new Float64Array(endIndex).fill(1);
  for (const spike of spikesOf(temperatureC, SPIKE_FLOOR_K)) kept[spike] = 0;
  const gapEnds = gapEdges(timeS).slice(1, -1);
  const readingNoiseK = noiseOf(temperatureC);
  return {
    timeS,
    stepS,
    drivePowerW,
    temperatureC,
    ambientC,
    ambientMeasured: run.ambientC !== undefined,
    kept,
    blockEdges: blockEdgesOf(timeS, gapEnds),
    readingsPerSample: new Float64Array(endIndex).fill(1),
    gapEnds,
    startsUnderLoad: drivePowerW[Math.min(1, endIndex - 1)] > load.powerW / 2,
    loadPowerW: load.powerW,
    endAmbientC: meanOfEnd(timeS, ambientC, END_AIR_S),
    readingNoiseK,
    roundingK: roundingOf(temperatureC, readingNoiseK),
  };
}

/** The record continued at the load's power and the final air for `moreS`, with the temperatures given for its new samples. */
export function continuedRecord(
  record: ForecastRecord,
  moreS: number,
  temperatureAt: (continued: ForecastRecord) => Float64Array,
): ForecastRecord {
  const before = record.timeS.length;
  const stepS = Math.max(SHORTEST_BLOCK_S, moreS / 40);
  const count = Math.ceil(moreS / stepS);
  const medianStepS = record.timeS[before - 1] / Math.max(1, before - 1);
  const extended = (values: Float64Array, value: number | ((k: number) => number)): Float64Array => {
    const all = new Float64Array(before + count);
    all.set(values);
    for (let k = 0; k < count; k++) all[before + k] = typeof value === 'number' ? value : value(k);
    return all;
  };
  const edges = new Int32Array(record.blockEdges.length + count);
  edges.set(record.blockEdges);
  for (let k = 0; k < count; k++) edges[record.blockEdges.length + k] = before + k + 1;
  const continued: ForecastRecord = {
    ...record,
    timeS: extended(record.timeS, (k) => record.timeS[before - 1] + ((k + 1) * moreS) / count),
    stepS: extended(record.stepS, moreS / count),
    drivePowerW: extended(record.drivePowerW, record.loadPowerW),
    temperatureC: extended(record.temperatureC, 0),
    ambientC: extended(record.ambientC, record.endAmbientC),
    kept: extended(record.kept, 1),
    readingsPerSample: extended(record.readingsPerSample, moreS / count / Math.max(medianStepS, 1e-9)),
    blockEdges: edges,
  };
  const temperatures = temperatureAt(continued);
  continued.temperatureC.set(temperatures.subarray(before), before);
  return continued;
}

/** Blocks of nearly equal duration that never reach over a gap. */
function blockEdgesOf(timeS: Float64Array, gapEnds: readonly number[]): Int32Array {
  const durationS = timeS[timeS.length - 1] - timeS[0];
  const blockS = Math.max(SHORTEST_BLOCK_S, durationS / MOST_BLOCKS);
  const gaps = new Set(gapEnds);
  const edges = [0];
  for (let i = 1; i < timeS.length; i++) {
    if (gaps.has(i) || timeS[i] - timeS[edges[edges.length - 1]] >= blockS) edges.push(i);
  }
  return Int32Array.from([...edges, timeS.length]);
}

/** Standard deviation of single readings, K, from the differences of neighbours, most of which the power did not cause. */
function noiseOf(values: Float64Array): number {
  const squares = new Float64Array(Math.max(1, values.length - 1));
  for (let i = 1; i < values.length; i++) squares[i - 1] = (values[i] - values[i - 1]) ** 2;
  const middle = Math.sqrt(orderStatistic(squares.slice(), squares.length >> 1));
  // Coarse steps make half of the differences 0: then the mean of all but the largest twentieth speaks.
  const cut = orderStatistic(squares, Math.floor(0.95 * (squares.length - 1)));
  let sum = 0;
  let count = 0;
  for (const square of squares) {
    if (square > cut) continue;
    sum += square;
    count++;
  }
  return Math.max((MAD_TO_STANDARD_DEVIATION * middle) / Math.SQRT2, Math.sqrt(sum / count / 2));
}

/**
 * What rounding to steps of q adds to a mean of readings with noise σ: with normal noise a bias of amplitude
 * (q/π) exp(−2 π² σ²/q²) that depends on where between two steps the temperature lies [WidrowKollar2008].
 */
function roundingOf(values: Float64Array, noiseK: number): number {
  const quantum = quantumOf(values);
  if (quantum === undefined) return 0;
  const variance = Math.max(0, noiseK ** 2 - quantum ** 2 / 12);
  return (quantum / Math.PI / Math.SQRT2) * Math.exp((-2 * Math.PI ** 2 * variance) / quantum ** 2);
}

function meanOfEnd(timeS: Float64Array, values: Float64Array, spanS: number): number {
  let sum = 0;
  let count = 0;
  for (let i = values.length - 1; i >= 0 && timeS[values.length - 1] - timeS[i] <= spanS; i--) {
    sum += values[i];
    count++;
  }
  return sum / count;
}
