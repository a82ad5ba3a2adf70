import type { RunSlowdown, SlowdownCheck } from '../../../toolkit/runs/slowdown/slowdown.js';
import { slowdownSentence, slowdownSummary } from '../../../toolkit/runs/slowdown/slowdown-words.js';
import { estimated } from './puppet-theatre.js';

/** The theatre's processor as delivered, with the voltage lowered a little, and too far; written down by hand. */
export function loweredVoltage(): SlowdownCheck {
  const labels = ['as delivered'];
  const rows: readonly Omit<RunSlowdown, 'sentence'>[] = [
    {
      label: 'lowered by 40 mV',
      verdict: 'no-loss',
      reportedMHz: 3985,
      effectiveMHz: 3991,
      throughputPerS: 6.505,
      expectedThroughputPerS: 6.496,
      lossFraction: estimated(-0.0015, 0.006),
      detectableFraction: 0.008,
      adjustedPValue: 0.61,
    },
    {
      label: 'lowered by 90 mV',
      verdict: 'loss',
      reportedMHz: 4050,
      effectiveMHz: 3720,
      throughputPerS: 6.064,
      expectedThroughputPerS: 6.602,
      lossFraction: estimated(0.0815, 0.006),
      detectableFraction: 0.008,
      adjustedPValue: 1e-12,
    },
  ];
  const runs = rows.map((run) => ({ ...run, sentence: slowdownSentence(run, { labels }) }));
  return {
    kind: 'slowdown-check',
    summary: slowdownSummary(runs, labels),
    reference: { labels, frequencyMHz: 3900, throughputPerS: 6.357 },
    runs,
    runToRunFraction: 0.002,
    findings: [],
  };
}
