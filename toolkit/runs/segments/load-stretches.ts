import { blockMeans, blocksOf, meanOf, rangeOf } from '../block-means.js';
import type { RunSamples } from '../run.js';
import { atRank, spreadSample } from '../spread-sample.js';

/** A stretch of samples, startIndex … endIndex − 1, with or without load. */
export interface Stretch {
  readonly loaded: boolean;
  readonly startIndex: number;
  readonly endIndex: number;
}

/** How load was told from idling. */
export interface LoadStretches {
  readonly stretches: readonly Stretch[];
  /** In words, for the reasons of the quiet segments. */
  readonly rule: string;
  /** Two levels of power that were too close to call the lower one idle, W. */
  readonly closeLevelsW?: readonly [low: number, high: number];
}

/** Below this share of the usual work done per second nothing is being worked on. */
const IDLE_THROUGHPUT_FRACTION = 0.1;

/** The lower of two power levels is idle if it is below this share of the higher one. */
const IDLE_POWER_FRACTION = 0.5;

/** Levels between this share and the one above are ambiguous and reported. */
const CLOSE_POWER_FRACTION = 0.65;

/** A quiet stretch this high in the run's range of temperature is no pause: something holds the power down there. */
const HOT_FRACTION = 0.85;

/** Below this range of temperature, K, nothing can be told from it. */
const TELLING_RANGE_K = 5;

/** Changes between load and idle shorter than this are part of their surroundings, s. */
const SHORTEST_STRETCH_S = 5;

/** Tells load from idling: by work done where it was logged, else by power. */
export function loadStretches(samples: RunSamples, idleBelowW?: number): LoadStretches {
  const { powerW, throughputPerS } = samples;
  if (idleBelowW !== undefined) {
    return split(samples, (i) => powerW[i] >= idleBelowW, `below ${rounded(idleBelowW)} W, as stated`);
  }
  if (throughputPerS !== undefined) {
    const usual = atRank(
      spreadSample(throughputPerS.length, (i) => throughputPerS[i]),
      0.95,
    );
    if (usual > 0) {
      const threshold = IDLE_THROUGHPUT_FRACTION * usual;
      return split(
        samples,
        (i) => throughputPerS[i] >= threshold,
        'less than a tenth of the usual throughput',
      );
    }
  }
  const { low, high } = powerLevels(samples);
  if (low >= IDLE_POWER_FRACTION * high) {
    const whole = split(samples, () => true, '');
    return low < CLOSE_POWER_FRACTION * high ? { ...whole, closeLevelsW: [low, high] } : whole;
  }
  // Halfway between the levels on a scale of ratios; an idle level of 0 has none, hence the floor.
  const threshold = Math.sqrt(Math.max(low, 0.02 * high) * high);
  const divided = split(
    samples,
    (i) => powerW[i] >= threshold,
    `below ${rounded(threshold)} W, between the run's lowest and highest power of ${rounded(low)} and ${rounded(high)} W`,
  );
  const hotC = hotFrom(samples);
  const stretches = divided.stretches.map((stretch) =>
    isHot(samples, stretch, hotC) ? { ...stretch, loaded: true } : stretch,
  );
  return { ...divided, stretches: joined(stretches) };
}

/** Lowest and highest power over blocks of at least five samples and three seconds. */
function powerLevels({ timeS, powerW }: RunSamples): { readonly low: number; readonly high: number } {
  const n = timeS.length;
  const durationS = timeS[n - 1] - timeS[0];
  const blocks = blocksOf(0, n, Math.min(n / 5, durationS / 3));
  return rangeOf(blockMeans(powerW, blocks));
}

/** Temperature from which a quiet stretch counts as hot, degrees Celsius; infinite where the run tells nothing. */
function hotFrom({ temperatureC }: RunSamples): number {
  const temperatures = spreadSample(temperatureC.length, (i) => temperatureC[i]);
  const coolC = atRank(temperatures, 0.01);
  const hotC = atRank(temperatures, 0.99);
  return hotC - coolC < TELLING_RANGE_K ? Number.POSITIVE_INFINITY : coolC + HOT_FRACTION * (hotC - coolC);
}

/** A processor held back by its temperature draws little and stays hot; a pausing one has cooled by the end. */
function isHot({ temperatureC }: RunSamples, { startIndex, endIndex }: Stretch, hotC: number): boolean {
  const lastThird = Math.floor(endIndex - (endIndex - startIndex) / 3);
  return meanOf(temperatureC, Math.min(lastThird, endIndex - 1), endIndex) > hotC;
}

function split({ timeS }: RunSamples, loadedAt: (index: number) => boolean, rule: string): LoadStretches {
  const n = timeS.length;
  const raw: Stretch[] = [];
  let startIndex = 0;
  for (let i = 1; i <= n; i++) {
    if (i < n && loadedAt(i) === loadedAt(startIndex)) continue;
    raw.push({ loaded: loadedAt(startIndex), startIndex, endIndex: i });
    startIndex = i;
  }
  const lastsLong = ({ startIndex: from, endIndex: to }: Stretch): boolean =>
    timeS[Math.min(to, n - 1)] - timeS[from] >= SHORTEST_STRETCH_S && to - from >= 3;
  // A short one between others takes the kind of what came before it. At either end of the run it keeps its own:
  // a few seconds of idling at the end of a log must not cool the load's last minutes.
  const settled: Stretch[] = [];
  raw.forEach((stretch, k) => {
    const keepsKind = k === 0 || k === raw.length - 1 || lastsLong(stretch);
    settled.push(keepsKind ? stretch : { ...stretch, loaded: settled.at(-1)!.loaded });
  });
  return { stretches: joined(settled), rule };
}

function joined(stretches: readonly Stretch[]): readonly Stretch[] {
  const result: Stretch[] = [];
  for (const stretch of stretches) {
    const last = result.at(-1);
    if (last !== undefined && last.loaded === stretch.loaded)
      result[result.length - 1] = { ...last, endIndex: stretch.endIndex };
    else result.push(stretch);
  }
  return result;
}

function rounded(value: number): string {
  return String(Number(value.toPrecision(3)));
}
