import { NumericalError } from '../../errors.js';
import { sumOf } from '../../numerics/sum-of.js';
import type { FitSettings } from '../fit/fit-one-cooler.js';
import { type CoolerRuns, fitParts, fitsOf } from './cooler-parts.js';
import type { JointFit } from './joint-fit.js';
import {
  type FittedSharing,
  fitSharings,
  sharingFindingsOf,
  type WantedSharing,
  weighSharings,
} from './sharings.js';
import { stateJointFit } from './state-joint-fit.js';

/** Fits coolers together; see `fitCoolers`. The runs were checked and sorted. */
export function jointFitOf(
  coolers: readonly CoolerRuns[],
  settings: FitSettings,
  wanted: WantedSharing,
  caller: string,
): JointFit {
  const parts = coolers.map((runs) => fitParts(runs, settings, caller));
  const effectiveSampleCount = sumOf(fitsOf(parts), ({ finished }) => finished.table.effectiveSampleCount);
  const all = fitSharings(parts, wanted);
  const candidates = weighSharings(all, wanted, effectiveSampleCount, parts);
  const chosen = all[candidates.findIndex((candidate) => candidate.chosen)];
  if (chosen === undefined) throw noJointFit(all, caller);
  const sharingFindings = sharingFindingsOf(candidates, coolers.length, wanted);
  if (chosen.joint === undefined) {
    return {
      kind: 'joint-fit',
      models: parts.map(({ bench }) => bench.model),
      shared: { rungs: [] },
      enclosures: [],
      candidates,
      covariance: { parameters: [], matrix: [] },
      findings: sharingFindings,
    };
  }
  return stateJointFit({
    parts,
    all,
    candidates,
    joint: chosen.joint,
    effectiveSampleCount,
    sharingFindings,
  });
}

function noJointFit(all: readonly FittedSharing[], caller: string): NumericalError {
  const reasons = [...new Set(all.map(({ rejected }) => rejected))];
  return new NumericalError(
    `${caller}: no model describes the runs together (${reasons.join('; ')}); fit the runs of each cooler and place ` +
      'with fitCooler and look at its findings',
  );
}
