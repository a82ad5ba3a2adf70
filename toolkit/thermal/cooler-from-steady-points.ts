import { inverse, Matrix } from 'ml-matrix';
import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../errors.js';
import { estimated, unavailable } from '../numerics/estimates.js';
import type { Finding } from '../runs/finding.js';
import { ASSUMED_EXPONENT } from './assumed-exponent.js';
import type { CoolerModel } from './cooler-model.js';

/** One averaged end of a long run. */
export interface SteadyPoint {
  readonly powerW: number;
  /** Mean temperature of the steady end of the run, degrees Celsius. */
  readonly temperatureC: number;
  /** Air at the intake, degrees Celsius; where no point has it, it is identified from two powers or more. */
  readonly ambientC?: number;
  readonly label?: string;
}

/** With what a power curve wants of the same notes, so that one list of points serves both. */
const POINT_NAMES: KnownNames<
  SteadyPoint & Readonly<Record<'frequencyMHz' | 'voltageV' | 'throughputPerS', number>>
> = {
  powerW: true,
  temperatureC: true,
  ambientC: true,
  frequencyMHz: true,
  voltageV: true,
  throughputPerS: true,
  label: true,
};

/** Options of `coolerFromSteadyPoints`. */
export interface SteadyPointsOptions {
  readonly label?: string;
  readonly cooler?: string;
  readonly processor?: string;
  readonly enclosure?: string;
  readonly fanSpeedRpm?: number;
  /** Standard uncertainty of one averaged temperature rise, K: sensor, room, how steady it was. Default 1. */
  readonly temperatureUncertaintyK?: number;
}

const OPTION_NAMES: KnownNames<SteadyPointsOptions> = {
  label: true,
  cooler: true,
  processor: true,
  enclosure: true,
  fanSpeedRpm: true,
  temperatureUncertaintyK: true,
};

/**
 * Default of `SteadyPointsOptions.temperatureUncertaintyK`, K.
 *
 * @example
 * STEADY_POINT_UNCERTAINTY_K; // => 1
 */
export const STEADY_POINT_UNCERTAINTY_K: number = 1;

/**
 * A cooler model from averages only, for people who have no logs: total thermal resistance, no time constants.
 *
 * With known air, R = Σ P (T − T_air) / Σ P² (least squares through the origin). Without it, the straight line
 * T = T_air + R P through points at two powers or more gives both [JCGM100, H.3]. The standard error follows from
 * the stated uncertainty of one average, or from the scatter of the points where that is larger.
 *
 * @param points - one or more; either all with `ambientC` or none
 * @param options - see `SteadyPointsOptions`
 * @throws ArgumentError if values are impossible, some points know the air and others do not, or the air is unknown
 * and only one power was logged
 * @example
 * const model = coolerFromSteadyPoints([
 *   { powerW: 60, temperatureC: 51 }, { powerW: 90, temperatureC: 66 }, { powerW: 120, temperatureC: 81 },
 * ]);
 * requireValue(model.thermalResistanceKPerW); // => 0.5 within 1e-9
 * requireValue(model.ambientC); // => 21 within 1e-9
 */
export function coolerFromSteadyPoints(
  points: readonly SteadyPoint[],
  options: SteadyPointsOptions = {},
): CoolerModel {
  const caller = 'coolerFromSteadyPoints';
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const { temperatureUncertaintyK = STEADY_POINT_UNCERTAINTY_K } = options;
  requireNumber(
    temperatureUncertaintyK,
    { caller, argument: 'options.temperatureUncertaintyK' },
    { above: 0 },
  );
  if (options.fanSpeedRpm !== undefined) {
    requireNumber(options.fanSpeedRpm, { caller, argument: 'options.fanSpeedRpm' }, { above: 0 });
  }
  const ambientKnown = requirePoints(points, caller);

  const powers = points.map((point) => point.powerW);
  const design = powers.map((power) => (ambientKnown ? [power] : [power, 1]));
  const responses = points.map((point) => point.temperatureC - (point.ambientC ?? 0));
  const a = new Matrix(design);
  const normal = inverse(a.transpose().mmul(a));
  const [resistance, intercept = 0] = normal
    .mmul(a.transpose())
    .mmul(Matrix.columnVector(responses))
    .getColumn(0);
  if (!(resistance > 0)) {
    throw new ArgumentError({
      caller,
      argument: 'points',
      expected: 'points whose temperature rises with power',
      received: `points that give ${resistance.toPrecision(3)} K/W`,
      remedy: 'check that temperatures and powers belong to the same cooler and the same room',
    });
  }
  const residuals = design.map((row, i) => responses[i] - row[0] * resistance - (row[1] ?? 0) * intercept);
  const degrees = points.length - design[0].length;
  const scatter = degrees > 0 ? Math.sqrt(residuals.reduce((sum, r) => sum + r * r, 0) / degrees) : 0;
  const pointStandardErrorK = Math.max(temperatureUncertaintyK, scatter);
  const standardErrorKPerW = pointStandardErrorK * Math.sqrt(normal.get(0, 0));
  // The stated uncertainty is taken as known; only where scatter exceeds it do the few points limit the knowledge.
  const degreesOfFreedom = scatter > temperatureUncertaintyK ? degrees : 1e6;

  const atPowerW = Math.exp(powers.reduce((sum, power) => sum + Math.log(power), 0) / powers.length);
  const lowest = Math.min(...powers);
  const highest = Math.max(...powers);
  const temperatures = points.map((point) => point.temperatureC);
  return {
    kind: 'cooler-model',
    label: options.label ?? options.cooler ?? points[0].label ?? 'cooler from steady points',
    ...(options.cooler === undefined ? {} : { cooler: options.cooler }),
    ...(options.processor === undefined ? {} : { processor: options.processor }),
    ...(options.enclosure === undefined ? {} : { enclosure: options.enclosure }),
    ...(options.fanSpeedRpm === undefined ? {} : { fanSpeedRpm: options.fanSpeedRpm }),
    runLabels: points.map((point, i) => point.label ?? `point ${i + 1}`),
    starts: [],
    method: 'steady-points',
    thermalResistanceKPerW: estimated(resistance, standardErrorKPerW, { degreesOfFreedom }),
    resistanceLaw: {
      thermalResistanceKPerW: resistance,
      atPowerW,
      // A line through several powers is the data's own word on how the rise grows with power.
      powerExponent: lowest < highest ? 0 : ASSUMED_EXPONENT.mean,
      exponentSource: 'assumed',
      resistanceStandardErrorKPerW: standardErrorKPerW,
      exponentStandardError: ASSUMED_EXPONENT.standardDeviation,
      correlation: 0,
      degreesOfFreedom,
    },
    stages: [],
    ladder: [],
    ambientC: ambientKnown
      ? unavailable('fixed', points.reduce((sum, point) => sum + (point.ambientC ?? 0), 0) / points.length)
      : estimated(intercept, pointStandardErrorK * Math.sqrt(normal.get(1, 1)), { degreesOfFreedom }),
    noise: {
      standardDeviationK: pointStandardErrorK,
      samplesPerIndependentSample: 1,
      effectiveSampleCount: points.length,
      peakAboveMeanK: 0,
    },
    orders: [],
    findings: findingsOf(points, ambientKnown, temperatureUncertaintyK, scatter, degrees),
    covariance: {
      parameters: ambientKnown ? ['thermalResistanceKPerW'] : ['thermalResistanceKPerW', 'ambientC'],
      matrix: normal.to2DArray().map((row) => row.map((value) => value * pointStandardErrorK ** 2)),
    },
    testedRange: {
      powerW: [lowest, highest],
      temperatureC: [Math.min(...temperatures), Math.max(...temperatures)],
      durationS: 0,
    },
    termination: { reason: 'linear', converged: true, message: 'linear least squares' },
    evaluationCount: 1,
  };
}

/** Checks the points; returns whether the air is known. */
function requirePoints(points: readonly SteadyPoint[], caller: string): boolean {
  if (!Array.isArray(points) || points.length === 0) {
    throw new ArgumentError({ caller, argument: 'points', expected: 'one point or more', received: points });
  }
  points.forEach((point, i) => {
    requireKnownNames(point, POINT_NAMES, { caller, argument: `points[${i}]` });
    requireNumber(point.powerW, { caller, argument: `points[${i}].powerW` }, { above: 0 });
    requireNumber(point.temperatureC, { caller, argument: `points[${i}].temperatureC` }, { above: -273.15 });
    if (point.ambientC === undefined) return;
    requireNumber(
      point.ambientC,
      { caller, argument: `points[${i}].ambientC` },
      { above: -273.15, below: point.temperatureC },
    );
  });
  const known = points.filter((point) => point.ambientC !== undefined).length;
  if (known > 0 && known < points.length) {
    throw new ArgumentError({
      caller,
      argument: 'points',
      expected: 'points that all have ambientC, or none of them',
      received: `${known} of ${points.length} with it`,
      remedy: 'give the air of each point, or leave it out everywhere to have one room identified',
    });
  }
  if (known === 0 && new Set(points.map((point) => point.powerW)).size < 2) {
    throw new ArgumentError({
      caller,
      argument: 'points',
      expected: 'points with ambientC, or points at two powers or more',
      received: 'one power and no air temperature',
      remedy:
        'at one power an unknown room and the thermal resistance cannot be told apart: give points[i].ambientC',
    });
  }
  return known > 0;
}

function findingsOf(
  points: readonly SteadyPoint[],
  ambientKnown: boolean,
  temperatureUncertaintyK: number,
  scatter: number,
  degrees: number,
): Finding[] {
  const findings: Finding[] = [
    {
      code: 'averages-only',
      severity: 'note',
      message:
        `Made from ${points.length} average${points.length === 1 ? '' : 's'}: no time constants, no test for steady ` +
        `state. Each average is taken to be good to ±${temperatureUncertaintyK} K (one standard uncertainty).`,
      remedy: 'fit the logged runs with fitCooler where there are any',
    },
  ];
  if (!ambientKnown) {
    findings.push({
      code: 'ambient-identified',
      severity: degrees > 0 ? 'note' : 'warning',
      message:
        'The air temperature was not given; it is where the straight line through the points meets 0 W.',
      remedy: 'measure the air at the intake: it decides the resistance as much as the die temperature does',
    });
  }
  if (scatter > 2 * temperatureUncertaintyK) {
    findings.push({
      code: 'points-disagree',
      severity: 'warning',
      message: `The points scatter by ${scatter.toFixed(1)} K around the fit, more than the stated ±${temperatureUncertaintyK} K.`,
      remedy: 'check that all points are of one cooler, one mount and one room',
    });
  }
  return findings;
}
