import type { Finding } from '../finding.js';
import { quantumFindings } from '../quantum.js';
import type { Conditions, RunSamples } from '../run.js';
import { oppositionFindings } from './opposition.js';
import { airFindings, unitFindings } from './plausibility.js';
import { samplingFindings } from './sampling.js';
import { spikeFindings } from './spikes.js';
import { stuckSensorFindings } from './stuck-sensor.js';

/** What the quality checks need besides the samples. */
export interface QualityOptions {
  readonly conditions: Conditions;
  /** Line of the log each sample came from, 1-based. */
  readonly lineNumbers?: ArrayLike<number>;
}

/**
 * Everything a person should know about the samples of a run before trusting it; nothing is changed.
 *
 * One pass or a few over each column, so that the checks cost little beside reading the log.
 */
export function qualityFindings(
  samples: RunSamples,
  { conditions, lineNumbers }: QualityOptions,
): readonly Finding[] {
  return [
    ...unitFindings(samples),
    ...oppositionFindings(samples),
    ...samplingFindings(samples.timeS, lineNumbers),
    ...stuckSensorFindings(samples, lineNumbers),
    ...quantumFindings(samples),
    ...spikeFindings(samples, lineNumbers),
    ...airFindings(samples, conditions),
  ];
}
