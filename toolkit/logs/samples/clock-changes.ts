import type { Finding } from '../../runs/finding.js';
import { listedLines } from '../../runs/quality/listed-lines.js';

const HOUR_S = 3600;
const DAY_S = 24 * HOUR_S;
/** Clocks are put forward or back between these hours of the local day, at a full hour. */
const FIRST_HOUR = 0;
const LAST_HOUR = 4;
/** How far from the full hour the samples around the change may lie: some sampling intervals within these bounds, s. */
const LEAST_TOLERANCE_S = 5;
const MOST_TOLERANCE_S = 60;
const TOLERANCE_INTERVALS = 3;

/**
 * Takes back the hour by which a local clock was put forward or back during a log (daylight saving time), in place, so
 * that time runs on as it did.
 *
 * A change is a step of one hour, forward or back beside the usual interval, from one full hour to another, between
 * midnight and four o'clock; any other step is left as it is.
 *
 * @param timeS - times less the origin, s, in the order of the log
 * @param originS - what was taken off, s since midnight
 * @param intervalS - the usual interval between samples
 * @returns a finding for each change
 */
export function undoClockChanges(
  timeS: Float64Array,
  originS: number,
  intervalS: number,
  lineNumbers: ArrayLike<number>,
): readonly Finding[] {
  const toleranceS = Math.min(MOST_TOLERANCE_S, Math.max(LEAST_TOLERANCE_S, TOLERANCE_INTERVALS * intervalS));
  const findings: Finding[] = [];
  let correctionS = 0;
  let before = timeS[0];
  for (let i = 1; i < timeS.length; i++) {
    const time = timeS[i];
    const step = time - before;
    const forward = step - HOUR_S > 0 && step - HOUR_S <= toleranceS;
    const back = step + HOUR_S > 0 && step + HOUR_S <= toleranceS;
    if ((forward || back) && isChangeOfClock(before + originS, time + originS, toleranceS)) {
      correctionS += forward ? -HOUR_S : HOUR_S;
      findings.push({
        code: 'clock-change',
        severity: 'warning',
        message: `The clock was put ${forward ? 'forward' : 'back'} by an hour before line ${lineNumbers[i]}, at a full hour of the night, as daylight saving time does: the hour was taken ${forward ? 'off' : 'back'} from there on.`,
        remedy: `if the log really ${forward ? 'paused' : 'went back'} by an hour there, split it; better, log seconds since the start or times with their zone`,
        count: 1,
        ...listedLines([i], lineNumbers),
      });
    }
    before = time;
    timeS[i] = time + correctionS;
  }
  return findings;
}

/** Whether the step leads from just before a full hour of the night to just after another one. */
function isChangeOfClock(beforeS: number, afterS: number, toleranceS: number): boolean {
  const toNextHour = HOUR_S - modulo(beforeS, HOUR_S);
  const sinceHour = modulo(afterS, HOUR_S);
  const hour = Math.floor(modulo(beforeS + toNextHour, DAY_S) / HOUR_S);
  const isNight = hour >= FIRST_HOUR && hour <= LAST_HOUR;
  return isNight && toNextHour <= toleranceS && sinceHour <= toleranceS;
}

function modulo(value: number, by: number): number {
  return value - by * Math.floor(value / by);
}
