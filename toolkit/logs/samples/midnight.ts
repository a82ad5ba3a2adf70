import type { Finding } from '../../runs/finding.js';
import { listedLines } from '../../runs/quality/listed-lines.js';

const DAY_S = 86_400;

/** A step back that falls short of a day by no more than this is midnight, s: a pause of an hour may lie in it. */
const LONGEST_PAUSE_S = 3600;

/**
 * Adds a day to the clock times after each midnight, in place: the times then run on, and no sample is lost.
 *
 * Midnight is a step back by 23 to 24 hours. A step ahead of that size after it takes the day back again, so that
 * stamps out of order around midnight, or one stray stamp, do not shift all that follow. Where a stamp is beyond
 * 24:00:00 the column counts hours since the start, and nothing is changed.
 *
 * @param timeS - times less the origin, s, in the order of the log
 * @param originS - what was taken off, s since midnight
 * @returns a finding if a day was added
 */
export function unwrapMidnights(
  timeS: Float64Array,
  originS: number,
  lineNumbers: ArrayLike<number>,
): readonly Finding[] {
  for (let i = 0; i < timeS.length; i++) if (timeS[i] + originS > DAY_S + 1) return [];

  /** Index of the first sample of each new day. */
  const midnights: number[] = [];
  let before = timeS[0];
  for (let i = 1; i < timeS.length; i++) {
    const time = timeS[i];
    const stepS = time - before;
    before = time;
    if (stepS <= LONGEST_PAUSE_S - DAY_S) midnights.push(i);
    else if (stepS >= DAY_S - LONGEST_PAUSE_S) midnights.pop();
    timeS[i] = time + midnights.length * DAY_S;
  }
  const count = midnights.length;
  if (count === 0) return [];
  const lines = midnights.slice(0, 3).map((index) => lineNumbers[index]);
  return [
    {
      code: 'midnight',
      severity: 'note',
      message: `The clock passes midnight ${count === 1 ? 'once' : `${count} times`} (line ${lines.join(', ')}${count > 3 ? ' …' : ''}) and names no date: a day was added to the times from there on.`,
      remedy:
        'if the clock was set back there instead, split the log; better, log date and time, or seconds since the start',
      count,
      ...listedLines(midnights, lineNumbers),
    },
  ];
}
