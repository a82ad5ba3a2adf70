import { type Blocks, blockMeans, blocksOf, rangeOf } from '../block-means.js';
import type { RunSamples } from '../run.js';
import type { LimitedBy } from './run-segment.js';

/** The power cap a run is judged against. */
export interface CapInForce {
  readonly powerCapW: number;
  readonly source: 'given' | 'inferred';
}

/** One part of a load stretch held by one thing. */
export interface HeldPart {
  readonly startIndex: number;
  readonly endIndex: number;
  readonly limitedBy: LimitedBy;
  readonly reason: string;
  /** Where its power stands to the cap, if that is known. */
  readonly against: 'at' | 'below' | 'above' | 'unknown';
}

/** Blocks are about this long, s, and have at least this many samples. */
const BLOCK_S = 10;
const BLOCK_SAMPLES = 5;

/** Power within this share of the cap, and at least within this much, is at the cap. */
const AT_CAP_FRACTION = 0.03;
const AT_CAP_W = 2;

/** Power whose block means stay within this share is held constant. */
const HELD_POWER_FRACTION = 0.015;

/** A temperature whose block means stay within this range, K, is on a plateau … */
const PLATEAU_K = 1.5;
/** … which counts as the run's ceiling within this distance of its highest, K. */
const CEILING_K = 2;

/** Power that falls by this share, and by this much, is falling. */
const FALLING_POWER_FRACTION = 0.02;
const FALLING_POWER_W = 1;

/** A frequency that stays within this share is constant, and at its ceiling within this share of its highest. */
const CONSTANT_FREQUENCY_FRACTION = 0.003;
const CEILING_FREQUENCY_FRACTION = 0.005;

/** A rise of temperature, K, that leakage answers: power would follow it unless something holds the power. */
const TELLING_RISE_K = 3;

/** Parts shorter than this many blocks are part of their surroundings. */
const SHORTEST_PART_BLOCKS = 2;

/** Block means over one load stretch, and the highest of the run for comparison. */
interface LoadCourse {
  readonly blocks: Blocks;
  readonly powerW: Float64Array;
  readonly temperatureC: Float64Array;
  readonly frequencyMHz?: Float64Array;
}

/** Block means of the samples startIndex … endIndex − 1. */
function courseOf(samples: RunSamples, startIndex: number, endIndex: number): LoadCourse {
  const durationS = samples.timeS[endIndex - 1] - samples.timeS[startIndex];
  const blocks = blocksOf(
    startIndex,
    endIndex,
    Math.min((endIndex - startIndex) / BLOCK_SAMPLES, durationS / BLOCK_S),
  );
  const frequencyMHz = samples.frequencyMHz;
  return {
    blocks,
    powerW: blockMeans(samples.powerW, blocks),
    temperatureC: blockMeans(samples.temperatureC, blocks),
    ...(frequencyMHz === undefined ? {} : { frequencyMHz: blockMeans(frequencyMHz, blocks) }),
  };
}

/**
 * The cap that shows in the power itself, where none is stated: the median of the block means, if most of them
 * stay within 1.5 % of it and the frequency does not stand still meanwhile (a processor at a constant frequency
 * is not held by a cap). Undefined where power was not held.
 */
export function inferCap(
  samples: RunSamples,
  loads: readonly { readonly startIndex: number; readonly endIndex: number }[],
): CapInForce | undefined {
  const powers: number[] = [];
  const temperatures: number[] = [];
  const frequencies: number[] = [];
  for (const { startIndex, endIndex } of loads) {
    const course = courseOf(samples, startIndex, endIndex);
    powers.push(...course.powerW);
    temperatures.push(...course.temperatureC);
    if (course.frequencyMHz !== undefined) frequencies.push(...course.frequencyMHz);
  }
  if (powers.length < 3) return undefined;
  const median = [...powers].sort((a, b) => a - b)[powers.length >> 1];
  const isHeld = (_: number, k: number): boolean =>
    Math.abs(powers[k] - median) <= HELD_POWER_FRACTION * median;
  const held = powers.filter(isHeld);
  if (held.length < 0.6 * powers.length) return undefined;
  if (frequencies.length > 0) {
    const frequency = rangeOf(frequencies.filter(isHeld));
    const temperature = rangeOf(temperatures.filter(isHeld));
    const standsStill = frequency.high - frequency.low <= CONSTANT_FREQUENCY_FRACTION * frequency.high;
    if (standsStill && temperature.high - temperature.low >= TELLING_RISE_K) return undefined;
  }
  return { powerCapW: held.reduce((sum, power) => sum + power, 0) / held.length, source: 'inferred' };
}

/** What the limits are judged against besides the samples. */
export interface LimitOptions {
  readonly cap?: CapInForce;
  /** The processor's temperature limit where the caller knows it, degrees Celsius. */
  readonly temperatureLimitC?: number;
  /** Highest block means of all load stretches. */
  readonly ceiling: { readonly temperatureC: number; readonly frequencyMHz?: number };
}

/** Highest block means over the load stretches of a run. */
export function ceilingOf(
  samples: RunSamples,
  loads: readonly { readonly startIndex: number; readonly endIndex: number }[],
): LimitOptions['ceiling'] {
  const courses = loads.map(({ startIndex, endIndex }) => courseOf(samples, startIndex, endIndex));
  const temperatureC = Math.max(...courses.map((course) => rangeOf(course.temperatureC).high));
  const frequencies = courses.flatMap(({ frequencyMHz }) =>
    frequencyMHz === undefined ? [] : [rangeOf(frequencyMHz).high],
  );
  return { temperatureC, ...(frequencies.length === 0 ? {} : { frequencyMHz: Math.max(...frequencies) }) };
}

/** Divides one load stretch where its power leaves or reaches the cap, and says what holds each part. */
export function heldParts(
  samples: RunSamples,
  stretch: { readonly startIndex: number; readonly endIndex: number },
  options: LimitOptions,
): readonly HeldPart[] {
  const course = courseOf(samples, stretch.startIndex, stretch.endIndex);
  const { cap } = options;
  const against = Array.from(course.powerW, (power): HeldPart['against'] => {
    if (cap === undefined) return 'unknown';
    const tolerance = Math.max(AT_CAP_W, AT_CAP_FRACTION * cap.powerCapW);
    if (power > cap.powerCapW + tolerance) return 'above';
    return power < cap.powerCapW - tolerance ? 'below' : 'at';
  });
  const spans = joinedSpans(against);
  return spans.map(({ from, to, value }, index) => ({
    startIndex: course.blocks.edges[from],
    endIndex: course.blocks.edges[to],
    against: value,
    ...holdOf(course, { from, to, against: value }, spans[index - 1]?.value, options),
  }));
}

interface Span {
  readonly from: number;
  readonly to: number;
  readonly value: HeldPart['against'];
}

/** Runs of equal values; runs too short to tell take the value before them, at the start the one after. */
function joinedSpans(values: readonly HeldPart['against'][]): readonly Span[] {
  const raw: Span[] = [];
  for (let from = 0; from < values.length; ) {
    let to = from + 1;
    while (to < values.length && values[to] === values[from]) to++;
    raw.push({ from, to, value: values[from] });
    from = to;
  }
  const isLong = ({ from, to }: Span): boolean => to - from >= SHORTEST_PART_BLOCKS;
  const fallback = (raw.find(isLong) ?? raw.reduce((a, b) => (b.to - b.from > a.to - a.from ? b : a))).value;
  const result: Span[] = [];
  for (const span of raw) {
    const last = result.at(-1);
    const value = isLong(span) ? span.value : (last?.value ?? fallback);
    if (last !== undefined && last.value === value) result[result.length - 1] = { ...last, to: span.to };
    else result.push({ ...span, value });
  }
  return result;
}

function holdOf(
  course: LoadCourse,
  part: { readonly from: number; readonly to: number; readonly against: HeldPart['against'] },
  before: HeldPart['against'] | undefined,
  { cap, temperatureLimitC, ceiling }: LimitOptions,
): Pick<HeldPart, 'limitedBy' | 'reason'> {
  const { from, to, against } = part;
  // The first block holds the change into this part; it is left out where others remain.
  const inner = to - from > 2 ? from + 1 : from;
  const power = course.powerW.subarray(inner, to);
  const temperature = course.temperatureC.subarray(inner, to);
  const frequency = course.frequencyMHz?.subarray(inner, to);
  const meanPower = meanOfAll(power);
  const powerRange = rangeOf(power);
  const temperatureRange = rangeOf(temperature);

  if (against === 'at' && cap !== undefined) {
    const reason =
      cap.source === 'given'
        ? `power of ${watts(meanPower)} at the cap of ${watts(cap.powerCapW)}`
        : `power held at ${watts(meanPower)}, taken for the cap since none is stated`;
    return { limitedBy: 'cap', reason };
  }

  const where =
    cap === undefined
      ? `power of ${watts(meanPower)}, no cap known`
      : `power of ${watts(meanPower)}, ${against} the ${cap.source === 'given' ? 'cap' : 'inferred cap'} of ${watts(cap.powerCapW)}`;

  if (temperatureLimitC !== undefined && meanOfAll(temperature) >= temperatureLimitC - CEILING_K) {
    return {
      limitedBy: 'temperature',
      reason: `${where}, and the temperature at the stated limit of ${degrees(temperatureLimitC)}`,
    };
  }
  const onPlateau =
    temperatureRange.high - temperatureRange.low <= PLATEAU_K &&
    meanOfAll(temperature) >= ceiling.temperatureC - CEILING_K;
  const fallW = meanOfAll(firstThird(power)) - meanOfAll(lastThird(power));
  const falls = fallW >= Math.max(FALLING_POWER_W, FALLING_POWER_FRACTION * meanPower);
  const leftHigherPower = against === 'below' && (before === 'at' || before === 'above');
  if (onPlateau && (falls || leftHigherPower)) {
    return {
      limitedBy: 'temperature',
      reason: `${where}: the temperature stays at ${degrees(meanOfAll(temperature))} while the power ${falls ? `falls by ${watts(fallW)}` : 'has dropped'}`,
    };
  }

  const isConstant = powerRange.high - powerRange.low <= 2 * HELD_POWER_FRACTION * meanPower;
  const riseK = meanOfAll(lastThird(temperature)) - meanOfAll(firstThird(temperature));
  if (frequency !== undefined) {
    const range = rangeOf(frequency);
    const standsStill = range.high - range.low <= CONSTANT_FREQUENCY_FRACTION * range.high;
    const droop = meanOfAll(firstThird(frequency)) - meanOfAll(lastThird(frequency));
    if (
      isConstant &&
      riseK >= TELLING_RISE_K &&
      droop > 0 &&
      range.high - range.low > CONSTANT_FREQUENCY_FRACTION * range.high
    ) {
      return {
        limitedBy: 'cap',
        reason: `${where}, but held constant while the temperature rises by ${kelvins(riseK)} and the frequency gives way by ${Math.round(droop)} MHz: another cap seems to be in force`,
      };
    }
    if (
      standsStill &&
      meanOfAll(frequency) >= (1 - CEILING_FREQUENCY_FRACTION) * (ceiling.frequencyMHz ?? 0)
    ) {
      return {
        limitedBy: 'frequency',
        reason: `${where}: the frequency stands at ${Math.round(meanOfAll(frequency))} MHz, its highest in this run`,
      };
    }
  }
  return {
    limitedBy: 'demand',
    reason: `${where}: neither temperature nor frequency sits at a ceiling, so the workload asks for no more`,
  };
}

function firstThird(values: Float64Array): Float64Array {
  return values.subarray(0, Math.max(1, Math.floor(values.length / 3)));
}

function lastThird(values: Float64Array): Float64Array {
  return values.subarray(Math.min(values.length - 1, Math.ceil((2 * values.length) / 3)));
}

function meanOfAll(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i];
  return sum / values.length;
}

function watts(value: number): string {
  return `${Number(value.toPrecision(4))} W`;
}

function degrees(value: number): string {
  return `${Number(value.toPrecision(3))} °C`;
}

function kelvins(value: number): string {
  return `${Number(value.toPrecision(2))} K`;
}
