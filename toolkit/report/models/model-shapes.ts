import { capChoice } from './cap-choice-shape.js';
import { coolerComparison } from './cooler-comparison-shape.js';
import { coolerModel } from './cooler-model-shape.js';
import { powerCurve } from './power-curve-shape.js';
import type { Shape } from './shape.js';

/** What a saved result must look like, by its kind. */
export const modelShapes: Readonly<
  Record<'cooler-model' | 'power-curve' | 'cap-choice' | 'cooler-comparison', Shape>
> = {
  'cooler-model': coolerModel,
  'power-curve': powerCurve,
  'cap-choice': capChoice,
  'cooler-comparison': coolerComparison,
};
