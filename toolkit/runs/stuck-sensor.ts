import type { Finding } from './finding.js';
import { listedLines } from './listed-lines.js';
import type { RunSamples } from './run.js';

/** A reading may stay the same this long, s, and this many samples, without a reason to doubt it. */
const PLAUSIBLE_HOLD_S = 30;
const PLAUSIBLE_HOLD_COUNT = 20;

/** A change of power by this share of its highest, and by this much, must move the temperature. */
const MOVING_POWER_FRACTION = 0.15;
const MOVING_POWER_W = 5;

/** A fall of temperature by this much cannot happen at unchanged power. */
const MOVING_TEMPERATURE_K = 10;

/** Power is smoothed over about this many samples before it counts as changed; single samples do not. */
const SMOOTHED_SAMPLES = 8;

/** A stretch in which a column repeats one reading while what drives it moves. */
interface StuckStretch {
  readonly firstIndex: number;
  readonly lastIndex: number;
}

/**
 * Findings about sensors that hang: the temperature repeats one reading for at least 30 s and 20 samples while
 * the power, smoothed over eight samples, moves by 15 % of its highest value and at least 5 W; or the power does
 * while the temperature falls by 10 K. A reading that stays the same while nothing moves is not suspect.
 */
export function stuckSensorFindings(
  samples: RunSamples,
  lineNumbers: ArrayLike<number> | undefined,
): readonly Finding[] {
  const smoothedPower = smoothed(samples.powerW);
  const movingPowerW = Math.max(MOVING_POWER_W, MOVING_POWER_FRACTION * largestOf(smoothedPower));
  return [
    ...stuckFinding(samples, lineNumbers, {
      quantity: 'temperature',
      stretches: heldStretches(samples.timeS, samples.temperatureC).filter(
        (stretch) => rangeWithin(smoothedPower, stretch) >= movingPowerW,
      ),
      meanwhile: `the power moved by ${Number(movingPowerW.toPrecision(3))} W or more`,
    }),
    ...stuckFinding(samples, lineNumbers, {
      quantity: 'power',
      stretches: heldStretches(samples.timeS, samples.powerW).filter(
        (stretch) => fallWithin(samples.temperatureC, stretch) >= MOVING_TEMPERATURE_K,
      ),
      meanwhile: `the temperature fell by ${MOVING_TEMPERATURE_K} K or more`,
    }),
  ];
}

function stuckFinding(
  { timeS }: RunSamples,
  lineNumbers: ArrayLike<number> | undefined,
  what: {
    readonly quantity: string;
    readonly stretches: readonly StuckStretch[];
    readonly meanwhile: string;
  },
): readonly Finding[] {
  const { quantity, stretches, meanwhile } = what;
  if (stretches.length === 0) return [];
  const secondsOf = ({ firstIndex, lastIndex }: StuckStretch): number =>
    timeS[lastIndex]! - timeS[firstIndex]!;
  const longest = stretches.reduce((a, b) => (secondsOf(b) > secondsOf(a) ? b : a));
  const stuckS = stretches.reduce((sum, stretch) => sum + secondsOf(stretch), 0);
  const durationS = timeS[timeS.length - 1]! - timeS[0]!;
  return [
    {
      code: 'stuck-sensor',
      severity: stuckS > 0.1 * durationS ? 'serious' : 'warning',
      message: `The ${quantity} repeats one reading for ${Number(secondsOf(longest).toPrecision(3))} s while ${meanwhile}${stretches.length > 1 ? ` (${stretches.length} such stretches, together ${Number(stuckS.toPrecision(3))} s)` : ''}; kept as logged.`,
      remedy: `check the ${quantity} sensor and log the run again, or cut this stretch out of the log`,
      count: stretches.length,
      ...listedLines(
        stretches.map(({ firstIndex }) => firstIndex),
        lineNumbers,
      ),
      rangeS: [timeS[longest.firstIndex]!, timeS[longest.lastIndex]!],
    },
  ];
}

function heldStretches(timeS: Float64Array, values: Float64Array): readonly StuckStretch[] {
  const stretches: StuckStretch[] = [];
  let firstIndex = 0;
  for (let i = 1; i <= values.length; i++) {
    if (i < values.length && values[i] === values[firstIndex]) continue;
    const lastIndex = i - 1;
    if (
      lastIndex - firstIndex + 1 >= PLAUSIBLE_HOLD_COUNT &&
      timeS[lastIndex]! - timeS[firstIndex]! >= PLAUSIBLE_HOLD_S
    )
      stretches.push({ firstIndex, lastIndex });
    firstIndex = i;
  }
  return stretches;
}

function smoothed(values: Float64Array): Float64Array {
  const result = new Float64Array(values.length);
  let level = values[0]!;
  for (let i = 0; i < values.length; i++) {
    level += (values[i]! - level) / SMOOTHED_SAMPLES;
    result[i] = level;
  }
  return result;
}

function largestOf(values: Float64Array): number {
  let largest = values[0]!;
  for (let i = 1; i < values.length; i++) if (values[i]! > largest) largest = values[i]!;
  return largest;
}

function rangeWithin(values: Float64Array, { firstIndex, lastIndex }: StuckStretch): number {
  let low = values[firstIndex]!;
  let high = low;
  for (let i = firstIndex + 1; i <= lastIndex; i++) {
    if (values[i]! < low) low = values[i]!;
    if (values[i]! > high) high = values[i]!;
  }
  return high - low;
}

/** Largest fall from an earlier to a later value. */
function fallWithin(values: Float64Array, { firstIndex, lastIndex }: StuckStretch): number {
  let high = values[firstIndex]!;
  let fall = 0;
  for (let i = firstIndex + 1; i <= lastIndex; i++) {
    if (values[i]! > high) high = values[i]!;
    else if (high - values[i]! > fall) fall = high - values[i]!;
  }
  return fall;
}
