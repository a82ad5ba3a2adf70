import type { CoolerModel } from '../thermal/cooler-model.js';
import { shortened } from './figure-text.js';

/** Whether the intervals of models hold what a cooler varies by from mount to mount, in one sentence. */
export function mountsInWords(models: readonly CoolerModel[]): string {
  const several = models.filter((model) => model.findings.some(({ code }) => code === 'several-mounts'));
  if (several.length === 0) return 'How much a cooler varies from mount to mount is not in it.';
  if (models.length === 1) return 'The spread between its mounts is in it.';
  if (several.length === models.length) return 'The spread between the mounts of each cooler is in it.';
  const names = several.map((model) => shortened(model.cooler ?? model.label, 30));
  return `The spread between mounts is in it for ${names.join(', ')} only: the others were logged in one mount each.`;
}
