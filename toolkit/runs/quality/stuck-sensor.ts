import { rangeOf } from '../block-means.js';
import type { Finding } from '../finding.js';
import type { RunSamples } from '../run.js';
import { type HeldStretch, heldStretches } from './held-stretches.js';
import { listedLines } from './listed-lines.js';
import { hasUnansweredPower } from './unanswered-power.js';
import { hasUnexplainedFall, UNEXPLAINED_FALL_K } from './unexplained-fall.js';

/** A change of power by this share of its usual highest, and by this much, must move the temperature. */
const MOVING_POWER_FRACTION = 0.15;
const MOVING_POWER_W = 5;

/** Readings this close to the highest, K, may be held there by a governor that moves the power, up to this share. */
const AT_LIMIT_K = 2;
const GOVERNED_POWER_FRACTION = 0.5;

/**
 * Findings about sensors that hang: the temperature repeats one reading for at least 30 s and 20 samples while the
 * power moves by 15 % of its usual highest and at least 5 W (at the highest reading of the run, where a governor
 * may hold it, by half); or the power does while the temperature, at rest before, falls by 10 K. A reading that
 * stays the same while nothing moves is not suspect, nor is a power held while the processor cools from the load
 * before.
 */
export function stuckSensorFindings(
  samples: RunSamples,
  lineNumbers: ArrayLike<number> | undefined,
): readonly Finding[] {
  const { timeS, temperatureC, powerW } = samples;
  const highestPowerW = usualHighest(powerW);
  const movingPowerW = Math.max(MOVING_POWER_W, MOVING_POWER_FRACTION * highestPowerW);
  const governedPowerW = Math.max(movingPowerW, GOVERNED_POWER_FRACTION * highestPowerW);
  const limitC = rangeOf(temperatureC).high - AT_LIMIT_K;
  return [
    ...stuckFinding(samples, lineNumbers, {
      quantity: 'temperature',
      stretches: heldStretches(timeS, temperatureC).filter((stretch) =>
        hasUnansweredPower(
          samples,
          stretch,
          temperatureC[stretch.firstIndex] >= limitC ? governedPowerW : movingPowerW,
        ),
      ),
      meanwhile: `the power moved by ${Number(movingPowerW.toPrecision(3))} W or more`,
    }),
    ...stuckFinding(samples, lineNumbers, {
      quantity: 'power',
      stretches: heldStretches(timeS, powerW).filter((stretch) => hasUnexplainedFall(samples, stretch)),
      meanwhile: `the temperature fell by ${UNEXPLAINED_FALL_K} K or more`,
    }),
  ];
}

function stuckFinding(
  { timeS }: RunSamples,
  lineNumbers: ArrayLike<number> | undefined,
  what: {
    readonly quantity: string;
    readonly stretches: readonly HeldStretch[];
    readonly meanwhile: string;
  },
): readonly Finding[] {
  const { quantity, stretches, meanwhile } = what;
  if (stretches.length === 0) return [];
  const secondsOf = ({ firstIndex, lastIndex }: HeldStretch): number => timeS[lastIndex] - timeS[firstIndex];
  const longest = stretches.reduce((a, b) => (secondsOf(b) > secondsOf(a) ? b : a));
  const stuckS = stretches.reduce((sum, stretch) => sum + secondsOf(stretch), 0);
  const durationS = timeS[timeS.length - 1] - timeS[0];
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
      rangeS: [timeS[longest.firstIndex], timeS[longest.lastIndex]],
    },
  ];
}

/** Highest of the power smoothed over about eight samples, so that a single one does not set it. */
function usualHighest(powerW: Float64Array): number {
  let level = powerW[0];
  let highest = level;
  for (let i = 1; i < powerW.length; i++) {
    level += (powerW[i] - level) / 8;
    if (level > highest) highest = level;
  }
  return highest;
}
