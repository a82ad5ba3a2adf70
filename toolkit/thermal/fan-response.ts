import { createWorkspace, type Workspace } from '../numerics/workspace.js';
import { allocatePoleResponse, type DrivenSamples, type PoleResponse } from './pole-response.js';

/** A stretch of a record with a fan speed for each step. */
export interface FannedSamples extends DrivenSamples {
  /** Logarithm of the fan speed over the reference speed, length m. */
  readonly logFanRatio: Float64Array;
}

/** How a fan rules a stage: its resistance is r (1 + share · ((n / n₀)^−exponent − 1)). */
export interface FanInfluence {
  /** Share of the stage's resistance at the reference speed that goes with the fan speed. */
  readonly share: number;
  readonly exponent: number;
}

/** Response of a stage whose resistance goes with the fan speed, and what its fit needs, each of length m. */
export interface FanResponse extends PoleResponse {
  /** ∂y / ∂ share, W. */
  readonly shareSensitivity: Float64Array;
  /** ∂y / ∂ exponent, W. */
  readonly exponentSensitivity: Float64Array;
}

/** No fan takes away more of a stage than this leaves: below it the law has no meaning. */
const LEAST_FACTOR = 0.05;

/** Factor of the fan on a stage's resistance: ρ = 1 + share · ((n / n₀)^−exponent − 1). */
export function fanFactor({ share, exponent }: FanInfluence, logFanRatio: number): number {
  return Math.max(LEAST_FACTOR, 1 + share * (Math.exp(-exponent * logFanRatio) - 1));
}

/** Room for the response of `sampleCount` samples. */
export function allocateFanResponse(
  sampleCount: number,
  workspace: Workspace = createWorkspace(),
): FanResponse {
  return {
    ...allocatePoleResponse(sampleCount, workspace),
    shareSensitivity: workspace.take(sampleCount),
    exponentSensitivity: workspace.take(sampleCount),
  };
}

/**
 * Exact response of a stage whose resistance is r ρ(n), at its own heat capacity, so that its time constant is τ ρ(n):
 * y' = (P ρ − y) / (τ ρ), for power and fan speed that are constant between samples. It starts in the steady state of
 * `startW` at the first fan speed, and its temperature does not jump where the fan speed does.
 */
export function fillFanResponse(
  timeConstantS: number,
  { stepS, drivePowerW, logFanRatio }: FannedSamples,
  startW: number,
  { share, exponent }: FanInfluence,
  into: FanResponse,
): void {
  const { value, sensitivity, decay, shareSensitivity, exponentSensitivity } = into;
  let y = 0;
  let dy = 0;
  let left = 1;
  let dyShare = 0;
  let dyExponent = 0;
  for (let i = 0; i < stepS.length; i++) {
    const flow = Math.exp(-exponent * logFanRatio[i]);
    const free = 1 + share * (flow - 1);
    const factor = Math.max(LEAST_FACTOR, free);
    // Where the law has ended, neither share nor exponent changes anything.
    const byShare = factor === free ? flow - 1 : 0;
    const byExponent = factor === free ? -share * flow * logFanRatio[i] : 0;
    if (i === 0) {
      left = factor;
      y = startW * factor;
      dyShare = startW * byShare;
      dyExponent = startW * byExponent;
    }
    const relativeStep = stepS[i] / (timeConstantS * factor);
    const kept = Math.exp(-relativeStep);
    const power = drivePowerW[i];
    const towards = y - power * factor;
    const byFactor = power * (1 - kept) + (kept * relativeStep * towards) / factor;
    dy = kept * (dy + relativeStep * towards);
    dyShare = kept * dyShare + byFactor * byShare;
    dyExponent = kept * dyExponent + byFactor * byExponent;
    y = power * factor + kept * towards;
    left *= kept;
    value[i] = y;
    sensitivity[i] = dy;
    decay[i] = left;
    shareSensitivity[i] = dyShare;
    exponentSensitivity[i] = dyExponent;
  }
}
