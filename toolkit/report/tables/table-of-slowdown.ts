import { requireKind } from '../../errors.js';
import type { SlowdownCheck, SlowdownVerdict } from '../../runs/slowdown/slowdown.js';
import { scaled } from './scaled.js';
import { plusMinusNote, type Table } from './table.js';

const inWords: Readonly<Record<SlowdownVerdict, string>> = {
  loss: 'lost work',
  'no-loss': 'no difference beyond noise',
  'may-wait': 'slowed down, or waits for memory',
  'more-work': 'more than the reference',
};

/**
 * A slowdown check as a table: what every run reports, what it works like, and the share of work it lost.
 *
 * @param check - what `checkSlowdown` returned
 * @returns one row per run that was compared
 * @throws ArgumentError if it is no result of `checkSlowdown`
 * @example
 * const run = (label: string, frequencyMHz: number, workPerCycle: number) => {
 *   const timeS = Array.from({ length: 400 }, (_, i) => i);
 *   return makeRun({
 *     timeS, powerW: timeS.map(() => 95), temperatureC: timeS.map((t) => 70 - 30 * Math.exp(-t / 60)),
 *     frequencyMHz: timeS.map(() => frequencyMHz),
 *     throughputPerS: timeS.map((t) => workPerCycle * frequencyMHz * (1 + 0.004 * Math.sin(1.7 * t))),
 *   }, { label, conditions: { powerCapW: 95 } });
 * };
 * const check = checkSlowdown([run('as delivered', 3900, 0.0016), run('lowered', 4050, 0.00147)]);
 * tableOfSlowdown(check).rows[0]?.[0]; // => 'lowered'
 * tableOfSlowdown(check).rows[0]?.[6]; // => 'lost work'
 */
export function tableOfSlowdown(check: SlowdownCheck): Table {
  requireKind(check, 'slowdown-check', {
    caller: 'tableOfSlowdown',
    argument: 'check',
    remedy: 'make one with checkSlowdown',
  });
  const { runs, reference } = check;
  return {
    kind: 'table',
    title: `Work per cycle against ${reference.labels.join(', ')}`,
    columns: [
      { name: 'Run' },
      { name: 'Reported frequency', unit: 'MHz' },
      { name: 'Works like', unit: 'MHz' },
      { name: 'Work', unit: '1/s' },
      { name: 'Expected work', unit: '1/s' },
      { name: 'Share lost', unit: '%' },
      { name: 'Verdict' },
    ],
    rows: runs.map((run) => [
      run.label,
      run.reportedMHz,
      run.effectiveMHz,
      run.throughputPerS,
      run.expectedThroughputPerS,
      scaled(run.lossFraction, 100),
      inWords[run.verdict],
    ]),
    notes: [plusMinusNote],
  };
}
