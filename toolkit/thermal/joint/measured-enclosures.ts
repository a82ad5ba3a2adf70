import { studentTQuantile } from '../../numerics/distributions.js';
import { estimated, positiveEstimate } from '../../numerics/estimates.js';
import { sumOf } from '../../numerics/sum-of.js';
import type { Finding } from '../../runs/finding.js';
import type { MeasuredEnclosure } from '../enclosure-between.js';
import { meanLoadPowerW } from '../fit/load-power.js';
import { referenceVarianceK2 } from '../fit/unseen-uncertainty.js';
import type { CoolerParts } from './cooler-parts.js';
import { type JointCandidate, RUNG_NAMES } from './joint-candidate.js';
import type { SharingCandidate } from './joint-fit.js';
import type { FittedSharing } from './sharings.js';

/** The chosen way to share among all, and what the noise of the fit is scaled by. */
export interface ChosenSharing {
  readonly all: readonly FittedSharing[];
  readonly candidates: readonly SharingCandidate[];
  readonly joint: JointCandidate;
  readonly residualScale: number;
  readonly degreesOfFreedom: number;
}

/** What each enclosure adds, with the uncertainty of the fit, of the ways to share, and of the air on both sides. */
export function enclosuresOf(
  parts: readonly CoolerParts[],
  {
    all,
    candidates,
    joint,
    matrix,
    degreesOfFreedom,
  }: ChosenSharing & { readonly matrix: readonly (readonly number[])[] },
): { readonly enclosures: MeasuredEnclosure[]; readonly findings: Finding[] } {
  const names = [
    ...new Set(parts.flatMap(({ inEnclosures }) => inEnclosures.map(({ enclosure }) => enclosure))),
  ];
  const coverage = studentTQuantile(0.975, degreesOfFreedom);
  const findings: Finding[] = [];
  const enclosures = names.flatMap((enclosure): MeasuredEnclosure[] => {
    const placeIn = ({ names: keys }: JointCandidate, name: string): number =>
      keys.indexOf(`${enclosure}: ${name}`);
    const resistanceOf = (candidate: JointCandidate): number =>
      Math.exp(candidate.values[placeIn(candidate, RUNG_NAMES.resistance(1))]);
    const value = resistanceOf(joint);
    const inside = parts.flatMap(({ inEnclosures }) =>
      inEnclosures.filter((place) => place.enclosure === enclosure),
    );
    const outside = parts.filter(({ inEnclosures }) =>
      inEnclosures.some((place) => place.enclosure === enclosure),
    );
    const powersW = inside.flatMap(({ fit }) => fit.finished.record.runs.map(meanLoadPowerW));
    const atPowerW = Math.exp(sumOf(powersW, Math.log) / powersW.length);
    const place = placeIn(joint, RUNG_NAMES.resistance(1));
    const airVarianceK2 =
      sumOf(inside, ({ fit }) => referenceVarianceK2(fit.finished.record)) / inside.length ** 2 +
      sumOf(outside, ({ bench }) => referenceVarianceK2(bench.finished.record)) / outside.length ** 2;
    const spread = sumOf(all, ({ joint: other }, c) =>
      other === undefined ? 0 : candidates[c].weight * (resistanceOf(other) - value) ** 2,
    );
    const standardError = Math.sqrt(
      value ** 2 * matrix[place][place] + airVarianceK2 / atPowerW ** 2 + spread,
    );
    if (value < standardError) {
      findings.push(withoutEffect(enclosure));
      return [];
    }
    const slow = placeIn(joint, RUNG_NAMES.heatCapacity(1));
    const heatCapacityJPerK = Math.exp(joint.values[slow]);
    return [
      {
        kind: 'measured-enclosure',
        enclosure,
        atPowerW,
        thermalResistanceKPerW: estimated(value, standardError, { degreesOfFreedom }),
        heatCapacityJPerK: positiveEstimate(
          heatCapacityJPerK,
          heatCapacityJPerK * Math.sqrt(matrix[slow][slow]),
          coverage,
        ),
        riseK: estimated(value * atPowerW, standardError * atPowerW, { degreesOfFreedom }),
        scenario: {
          riseK: { mean: value * atPowerW, standardDeviation: standardError * atPowerW },
          atPowerW,
        },
      },
    ];
  });
  return { enclosures, findings };
}

function withoutEffect(enclosure: string): Finding {
  return {
    code: 'enclosure-without-effect',
    severity: 'serious',
    message: `The runs in "${enclosure}" are no warmer over their air than those on the bench.`,
    remedy:
      'give the room as the air of the enclosure runs, not the air at the intake inside the enclosure; check that mount and fan speed were the same',
  };
}
