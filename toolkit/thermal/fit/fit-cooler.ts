import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { requireRuns } from '../../runs/require-run.js';
import type { Run } from '../../runs/run.js';
import type { CoolerModel } from '../cooler-model.js';
import { type FitSettings, fitOneCooler, MOST_STAGES } from './fit-one-cooler.js';
import { requireDifferentRuns, requireFiniteSamples, requireOneSubject } from './require-fit-runs.js';

/** Options of `fitCooler`. */
export interface FitCoolerOptions {
  /** Name of the model; default: the cooler's name from the conditions, else the first run's label. */
  readonly label?: string;
  /** Most stages tried, 1 to 4. Default 3: what the intervals are calibrated with; ask for 4 where residuals show structure. */
  readonly maxStageCount?: number;
  /** The number of stages, where it shall not be chosen. */
  readonly stageCount?: number;
  /** Whether candidates with a sensor lag are tried. Default true. */
  readonly sensorLag?: boolean;
  /** Power at which the resistance is stated, W. Default: geometric mean of the runs' load powers. */
  readonly atPowerW?: number;
  /**
   * Exponent q of R ∝ P^(−q). Default: fitted where the runs hold two powers that differ by 10 % or more, else
   * assumed.
   */
  readonly powerExponent?: number;
  /** Whether a fan speed that differs within or between the runs is fitted with the stages. Default true. */
  readonly fitFanSpeed?: boolean;
}

export const FIT_COOLER_NAMES: KnownNames<FitCoolerOptions> = {
  label: true,
  maxStageCount: true,
  stageCount: true,
  sensorLag: true,
  atPowerW: true,
  powerExponent: true,
  fitFanSpeed: true,
};

/**
 * Defaults of `FitCoolerOptions`.
 *
 * @example
 * FIT_COOLER_DEFAULTS; // => ({ maxStageCount: 3, sensorLag: true, fitFanSpeed: true })
 */
export const FIT_COOLER_DEFAULTS: {
  readonly maxStageCount: number;
  readonly sensorLag: boolean;
  readonly fitFanSpeed: boolean;
} = { maxStageCount: 3, sensorLag: true, fitFanSpeed: true };

/**
 * Fits a lumped model of a cooler to one or more load runs of it.
 *
 * rise(t) = Σₖ rₖ xₖ(t), with xₖ the response of a pole of time constant τₖ to the measured power on the actual
 * sample times, in series with a sensor lag where that explains the data better. Stages are shared by all runs;
 * each run has its own start and its own noise. Time constants by separable least squares with rₖ ≥ 0
 * [GolubPereyra1973]; the number of stages by corrected Akaike weights on one effective sample size
 * [BurnhamAnderson2002]; standard errors inflated for the correlation of the residuals, for what slow effects that the
 * model leaves out would move (`unmodelledShift`: most where a run is short), and the resistance's by the spread between
 * candidates. R falls with power as P^(−q), see `ResistanceLaw`.
 *
 * Where every run knows its fan speed, and it differs within or between them, it is a covariate of the fit: the slowest
 * stage's resistance goes with the fan speed n so that R(n) = R∞ + a (n / n₀)^(−b), at its own heat capacity; the model is
 * stated at n₀ and carries a `fanCurve`. A fan at rest has no such law: then the resistance is an average, and a finding.
 *
 * Records of more than a million samples are finished on block means, which agree with all samples well within a
 * standard error; a finding says so.
 *
 * Assumes one-dimensional heat flow, constant properties, and air that reaches the cooler at the temperature given.
 *
 * A run that does not know its intake air has it fitted as one more unknown; where its power changes too little for
 * that, it is refused.
 *
 * @param runs - one run or several of one cooler in one enclosure
 * @param options - see `FitCoolerOptions`
 * @throws ArgumentError if there is no run, runs of different coolers or enclosures are mixed, the air temperature
 * is unknown and not identifiable, or a run is too short
 * @throws NumericalError if no candidate describes the data
 * @example
 * // One stage, 0.5 K/W and 60 s, seen exactly:
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 80)), temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22, cooler: 'flat 58 mm' } },
 * );
 * requireValue(fitCooler(run, { powerExponent: 0 }).thermalResistanceKPerW); // => 0.5 within 1e-6
 */
export function fitCooler(runs: Run | readonly Run[], options: FitCoolerOptions = {}): CoolerModel {
  const caller = 'fitCooler';
  const list = requireRuns(runs, caller);
  requireKnownNames(options, FIT_COOLER_NAMES, { caller, argument: 'options' });
  const settings = settleFitOptions(options, caller);
  requireFiniteSamples(list, caller);
  requireOneSubject(list, caller);
  requireDifferentRuns(list, caller);
  return fitOneCooler(list, settings, caller).model;
}

/** The options with their defaults. */
export function settleFitOptions(options: FitCoolerOptions, caller: string): FitSettings {
  const settings = { ...FIT_COOLER_DEFAULTS, ...options };
  requireStageCount(settings.maxStageCount, caller, 'options.maxStageCount');
  if (options.stageCount !== undefined) requireStageCount(options.stageCount, caller, 'options.stageCount');
  if (options.powerExponent !== undefined) {
    requireNumber(
      options.powerExponent,
      { caller, argument: 'options.powerExponent' },
      { atLeast: -0.2, atMost: 0.4 },
    );
  }
  if (options.atPowerW !== undefined) {
    requireNumber(options.atPowerW, { caller, argument: 'options.atPowerW' }, { above: 0 });
  }
  return settings;
}

function requireStageCount(value: number, caller: string, argument: string): void {
  if (Number.isInteger(value) && value >= 1 && value <= MOST_STAGES) return;
  throw new ArgumentError({
    caller,
    argument,
    expected: `a whole number from 1 to ${MOST_STAGES}`,
    received: value,
  });
}
