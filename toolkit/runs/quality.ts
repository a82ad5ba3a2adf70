import type { Finding } from './finding.js';
import type { Conditions, RunSamples } from './run.js';

/** What the quality checks need besides the samples. */
export interface QualityOptions {
  readonly conditions: Conditions;
  readonly lineNumbers?: ArrayLike<number>;
}

/** Checks the samples of a run and reports what a person should know; changes nothing. */
export function qualityFindings(samples: RunSamples, options: QualityOptions): readonly Finding[] {
  return [...samplingFindings(samples, options)];
}

function samplingFindings(samples: RunSamples, options: QualityOptions): readonly Finding[] {
  void options;
  return samples.timeS.length < 10
    ? [
        {
          code: 'few-samples',
          severity: 'warning',
          message: `The run has ${samples.timeS.length} samples only.`,
          count: samples.timeS.length,
        },
      ]
    : [];
}
