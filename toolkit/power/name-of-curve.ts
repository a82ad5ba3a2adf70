import type { PowerCurve } from './power-curve.js';

/** The processor, else a label that somebody gave; undefined where the label only lists the runs. */
export function nameOfCurve({ processor, label, runLabels }: PowerCurve): string | undefined {
  if (processor !== undefined) return processor;
  return runLabels.length > 1 && label === runLabels.join(', ') ? undefined : label;
}
