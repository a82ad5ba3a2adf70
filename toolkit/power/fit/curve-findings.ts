import type { Estimate } from '../../numerics/estimate.js';
import type { Finding } from '../../runs/finding.js';
import type { CurveForm } from '../forms/curve-form.js';
import type { PowerCurve } from '../power-curve.js';
import { ASSUMED_SHARE } from './curve-slopes.js';
import type { FormFit } from './fit-form.js';
import type { Observation } from './observation.js';
import { rangeOf } from './range-of.js';

/** Ratio of highest to lowest power below which the slope rests on a narrow range. */
const NARROW_POWER_RATIO = 1.15;

/** Mean residual of a segment, as a fraction of frequency, from which the form is said to miss it. */
const LACK_OF_FIT_FRACTION = 0.003;

/** Mean residual of a segment's voltage from which it is said to follow another relation, V. */
const VOLTAGE_MISS_V = 0.012;

/** A voltage within this range, V, over a frequency that moves by this ratio stands still. */
const STILL_VOLTAGE_V = 0.004;
const MOVING_FREQUENCY_RATIO = 1.08;

/** What the powers of the points leave open. */
export function levelFindings(levels: readonly number[], observations: readonly Observation[]): Finding[] {
  const [low, high] = rangeOf(observations.map(({ powerW }) => powerW));
  if (levels.length < 2) {
    return [
      {
        code: 'one-power-level',
        severity: 'warning',
        message: `All points lie at one power level, ${low.toFixed(1)} to ${high.toFixed(1)} W: how frequency falls with temperature there can be told, but not what a watt changes.`,
        remedy: `log a run at a second power cap at least 15 % away, for example ${(0.8 * low).toFixed(0)} W, and fit both`,
        count: observations.length,
      },
    ];
  }
  if (high < NARROW_POWER_RATIO * low) {
    return [
      {
        code: 'narrow-power-range',
        severity: 'warning',
        message: `The power levels lie within ${(100 * (high / low - 1)).toFixed(0)} % of each other (${low.toFixed(1)} to ${high.toFixed(1)} W): what a watt changes is uncertain and other powers are extrapolated.`,
        remedy: 'log a run at a cap at least 15 % away from these',
      },
    ];
  }
  return [];
}

/** What is known of the effect of temperature. */
export function temperatureFindings(
  form: CurveForm,
  perTemperature: Estimate,
  candidates: PowerCurve['candidates'],
): Finding[] {
  if (!form.dependsOnTemperature) {
    return [
      {
        code: 'temperature-ignored',
        severity: 'warning',
        message: `The form ${form.form} knows no temperature: it holds for the coolers and rooms of its points only.`,
        remedy: 'leave out options.form to use the electro-thermal form',
      },
    ];
  }
  if (perTemperature.kind === 'unavailable') {
    return [
      {
        code: 'temperature-dependence-not-identified',
        severity: 'warning',
        message:
          'These points do not tell the effect of temperature: it rises together with power, or hardly varies, or runs contradict each other. The effect is carried by the stated assumptions on leakage, with their full spread.',
        remedy:
          'add the same power cap at another temperature: the warm-up of a run, another cooler, another fan speed',
      },
    ];
  }
  const plain = candidates.find(
    (candidate) => candidate.form !== 'electro-thermal' && candidate.weight > 0.5,
  );
  if (plain === undefined) return [];
  return [
    {
      code: 'plain-form-ranks-first',
      severity: 'note',
      message: `By the information criterion a ${plain.form} without temperature ranks first (weight ${plain.weight.toFixed(2)}), although it misses the points by ${plain.residualRmsMHz.toFixed(0)} MHz and the electro-thermal form by ${candidates[0].residualRmsMHz.toFixed(0)} MHz: these points are too few to pay for more parameters. The electro-thermal form is used because only it holds at other temperatures.`,
    },
  ];
}

/** Parameters that rest on the stated assumptions. */
export function assumptionFindings(form: CurveForm, fit: FormFit): Finding[] {
  const assumed = form.parameters.flatMap(({ name }, j) => {
    const share = fit.assumptionShares[j];
    return share !== undefined && share > ASSUMED_SHARE
      ? [`${name} ${fit.parameters[j].toPrecision(3)}`]
      : [];
  });
  if (assumed.length === 0) return [];
  return [
    {
      code: 'assumed-parameters',
      severity: 'note',
      message: `The data hardly determine ${assumed.join(', ')}: these rest on textbook values with a wide stated spread, which every interval contains.`,
      remedy:
        'more power levels, a wider range of temperatures, or your own values in options.assumptions narrow them',
      count: assumed.length,
    },
  ];
}

/** Whether the search ended, and which averages the curve misses. */
export function fitFindings(
  data: { readonly observations: readonly Observation[]; readonly segmentLabels: readonly string[] },
  fit: FormFit,
): Finding[] {
  const findings: Finding[] = [];
  if (!fit.termination.converged) {
    findings.push({
      code: 'not-converged',
      severity: 'serious',
      message: `The fit did not converge: ${fit.termination.message}.`,
      remedy:
        'check the findings about the data; leave out the run that does not belong to this processor or workload',
    });
  }
  const missed = data.segmentLabels.flatMap((label, segment) => {
    let sum = 0;
    let weights = 0;
    let frequency = 0;
    let noise = 0;
    data.observations.forEach((observation, i) => {
      if (observation.segment !== segment) return;
      sum += observation.sampleCount * fit.residualsMHz[i];
      frequency += observation.sampleCount * observation.frequencyMHz;
      noise += observation.sampleCount ** 2 * observation.frequencyVariance;
      weights += observation.sampleCount;
    });
    const missMHz = sum / weights;
    const limitMHz = Math.max((LACK_OF_FIT_FRACTION * frequency) / weights, (3 * Math.sqrt(noise)) / weights);
    return Math.abs(missMHz) > limitMHz ? [{ label, missMHz }] : [];
  });
  if (missed.length > 0) {
    const worst = missed.reduce((a, b) => (Math.abs(b.missMHz) > Math.abs(a.missMHz) ? b : a));
    findings.push({
      code: 'lack-of-fit',
      severity: 'warning',
      message: `The curve misses ${missed.length} of ${data.segmentLabels.length} averages by more than ${100 * LACK_OF_FIT_FRACTION} % of frequency and more than their noise; most: ${worst.label}, logged ${Math.abs(worst.missMHz).toFixed(0)} MHz ${worst.missMHz > 0 ? 'above' : 'below'} the curve. All intervals are widened accordingly.`,
      remedy:
        'check that these runs share processor, workload and settings; if they do, log a cap between the missed ones',
      count: missed.length,
    });
  }
  return findings;
}

/** Segments whose voltage does not follow the relation of the others: another offset was in force, or another sensor. */
export function voltageFindings(
  data: { readonly observations: readonly Observation[]; readonly segmentLabels: readonly string[] },
  fit: FormFit,
): Finding[] {
  if (fit.residualsV.length === 0) return [];
  const withVoltage = data.observations.filter(({ voltage }) => voltage !== undefined);
  const missed = data.segmentLabels.flatMap((label, segment) => {
    const residuals = withVoltage.flatMap((observation, k) =>
      observation.segment === segment && !observation.voltage!.setByHand ? [fit.residualsV[k]] : [],
    );
    const mean = residuals.reduce((sum, value) => sum + value / residuals.length, 0);
    return Math.abs(mean) > VOLTAGE_MISS_V ? [`${label} (${(1000 * mean).toFixed(0)} mV)`] : [];
  });
  const still = stillVoltageFindings(withVoltage);
  if (missed.length === 0) return still;
  return [
    ...still,
    {
      code: 'voltage-off-relation',
      severity: 'warning',
      message: `The voltage of these runs lies off the one relation of voltage to frequency that all share: ${missed.join(', ')}.`,
      remedy:
        'state conditions.voltageOffsetMv for the runs in which an offset was set, and log all runs with one sensor',
      count: missed.length,
    },
  ];
}

/** A voltage that does not follow the frequency is none of the cores'. */
function stillVoltageFindings(observations: readonly Observation[]): Finding[] {
  const read = observations.filter(({ voltage }) => !voltage!.setByHand);
  if (read.length < 2) return [];
  const [lowV, highV] = rangeOf(read.map(({ voltage }) => voltage!.voltageV));
  const [lowMHz, highMHz] = rangeOf(read.map(({ frequencyMHz }) => frequencyMHz));
  if (highV - lowV > STILL_VOLTAGE_V || highMHz < MOVING_FREQUENCY_RATIO * lowMHz) return [];
  return [
    {
      code: 'voltage-stands-still',
      severity: 'warning',
      message: `The logged voltage stands at ${lowV.toFixed(3)} V while the frequency moves from ${lowMHz.toFixed(0)} to ${highMHz.toFixed(0)} MHz: unless it was fixed by hand, it is not the voltage of the cores, and what an undervolt gives cannot be told from it.`,
      remedy: 'log the voltage of the cores, or leave this column out',
      count: read.length,
    },
  ];
}
