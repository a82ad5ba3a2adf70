import { createWorkspace, type Workspace } from '../numerics/workspace.js';

/** Samples of one uninterrupted stretch of a record, as the filters need them. */
export interface DrivenSamples {
  /** Time since the previous sample, s; the first entry is 0. Length m. */
  readonly stepS: Float64Array;
  /** Power held during the step that ends at the sample, W. Length m. */
  readonly drivePowerW: Float64Array;
}

/** Response of one unit-gain pole and what its fit needs, each of length m. */
export interface PoleResponse {
  /** The response y, W: y' = (P − y) / τ from a start value. */
  readonly value: Float64Array;
  /** ∂y / ∂ log τ, W. */
  readonly sensitivity: Float64Array;
  /** What is left of a start value: exp(−t / τ). */
  readonly decay: Float64Array;
}

/** Room for the response of `sampleCount` samples. */
export function allocatePoleResponse(
  sampleCount: number,
  workspace: Workspace = createWorkspace(),
): PoleResponse {
  return {
    value: workspace.take(sampleCount),
    sensitivity: workspace.take(sampleCount),
    decay: workspace.take(sampleCount),
  };
}

/**
 * Exact response of a unit-gain pole to power that is constant between samples, on the actual sample times:
 * y ← a y + (1 − a) P with a = exp(−Δt / τ), and its derivative with respect to log τ, from
 * da/d log τ = a Δt / τ.
 */
export function fillPoleResponse(
  timeConstantS: number,
  samples: DrivenSamples,
  startW: number,
  into: PoleResponse,
): void {
  const { stepS, drivePowerW } = samples;
  const { value, sensitivity, decay } = into;
  const count = stepS.length;
  const ratePerS = 1 / timeConstantS;
  const usualStepS = count > 1 ? stepS[count >> 1] : 0;
  const usualKept = Math.exp(-usualStepS * ratePerS);
  let y = startW;
  let dy = 0;
  let left = 1;
  let lastStepS = Number.NaN;
  let relativeStep = 0;
  let kept = 1;
  for (let i = 0; i < count; i++) {
    const step = stepS[i];
    if (step !== lastStepS) {
      lastStepS = step;
      relativeStep = step * ratePerS;
      // Logged steps jitter around one value; a short series around it is exact to rounding and several times
      // faster than an exponential for each sample.
      const z = (usualStepS - step) * ratePerS;
      kept =
        z < 1e-3 && z > -1e-3
          ? usualKept * (1 + z * (1 + z * (0.5 + z * (SIXTH + z * TWENTY_FOURTH))))
          : Math.exp(-relativeStep);
    }
    const power = drivePowerW[i];
    const towards = y - power;
    dy = kept * (dy + relativeStep * towards);
    y = power + kept * towards;
    left *= kept;
    value[i] = y;
    sensitivity[i] = dy;
    decay[i] = left;
  }
}

/** Samples that are seen as means over blocks of them. */
export interface BlockedSamples extends DrivenSamples {
  /** One past the last sample of each block. */
  readonly blockEnds: Int32Array;
}

/** Means of the response over blocks of samples: the recursion of `fillPoleResponse` on every sample, kept by block. */
export function fillBlockedResponse(
  timeConstantS: number,
  { stepS, drivePowerW, blockEnds }: BlockedSamples,
  startW: number,
  into: PoleResponse,
): void {
  const { value, sensitivity, decay } = into;
  const ratePerS = 1 / timeConstantS;
  const usualStepS = stepS[stepS.length >> 1];
  const usualKept = Math.exp(-usualStepS * ratePerS);
  let y = startW;
  let dy = 0;
  let left = 1;
  let i = 0;
  for (let block = 0; block < blockEnds.length; block++) {
    const end = blockEnds[block];
    const count = end - i;
    let sum = 0;
    let sensitivitySum = 0;
    let decaySum = 0;
    for (; i < end; i++) {
      const relativeStep = stepS[i] * ratePerS;
      const z = usualStepS * ratePerS - relativeStep;
      const kept =
        z < 1e-3 && z > -1e-3
          ? usualKept * (1 + z * (1 + z * (0.5 + z * (SIXTH + z * TWENTY_FOURTH))))
          : Math.exp(-relativeStep);
      const towards = y - drivePowerW[i];
      dy = kept * (dy + relativeStep * towards);
      y = drivePowerW[i] + kept * towards;
      left *= kept;
      sum += y;
      sensitivitySum += dy;
      decaySum += left;
    }
    value[block] = sum / count;
    sensitivity[block] = sensitivitySum / count;
    decay[block] = decaySum / count;
  }
}

const SIXTH = 1 / 6;
const TWENTY_FOURTH = 1 / 24;
