import {
  ArgumentError,
  type KnownNames,
  requireKind,
  requireKnownNames,
  requireNumber,
} from '../../errors.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { requireModel } from '../../thermal/require-model.js';
import type { CapScenario } from '../scenario/cap-scenario.js';

/** What is asked of a plan beside the scenario; everything has a default. */
export interface PlanOptions {
  /** Caps to consider, W. Default: from half to five quarters of the power at the limit, in round steps. */
  readonly powerCapsW?: readonly number[];
  /** Durations of the load to consider, s. Default 5, 10, 20 and 30 minutes. */
  readonly durationsS?: readonly number[];
  /** How often the runs will be sampled, s. Default 1. */
  readonly sampleIntervalS?: number;
  /**
   * `as-mounted`: the cap of this mount; `any-mount`: also of the next one, and remounting is considered. Default:
   * `any-mount` for a cooler that was logged with several mounts, of which it is the only answer, else `as-mounted`.
   */
  readonly mounting?: 'as-mounted' | 'any-mount';
  /** Stop where the half-width of the cap's interval is this or less, W. Default: the settable step. */
  readonly wantedHalfWidthW?: number;
  /** Stop where the best run is expected to gain less, W. Default: half the settable step. */
  readonly leastGainW?: number;
}

const OPTION_NAMES: KnownNames<PlanOptions> = {
  powerCapsW: true,
  durationsS: true,
  sampleIntervalS: true,
  mounting: true,
  wantedHalfWidthW: true,
  leastGainW: true,
};

/**
 * What `planNextRuns` considers where nothing else is asked for.
 *
 * @example
 * PLAN_DEFAULTS.durationsS; // => [300, 600, 1200, 1800]
 */
export const PLAN_DEFAULTS: {
  readonly durationsS: readonly number[];
  readonly sampleIntervalS: number;
} = { durationsS: [300, 600, 1200, 1800], sampleIntervalS: 1 };

/** What a plan works with. */
export interface SettledPlanOptions {
  readonly powerCapsW: readonly number[] | undefined;
  readonly durationsS: readonly number[];
  readonly sampleIntervalS: number;
  /** Whether the cap is asked for the next mount as well. */
  readonly forNextMount: boolean;
  readonly wantedHalfWidthW: number;
  readonly leastGainW: number;
}

/** Scenario entries that change what limits the cap in ways a plan of load runs does not follow. */
const UNPLANNED = ['fan', 'voltageOffset', 'workloads', 'dutyCycle', 'shortTerm', 'topFrequencyMHz'] as const;

/**
 * The coolers as a list, where a plan can be made of what was given.
 *
 * @throws ArgumentError naming the argument at fault
 */
export function requirePlanArguments(
  coolers: CoolerModel | readonly CoolerModel[],
  curve: PowerCurve | undefined,
  scenario: CapScenario,
  options: PlanOptions,
  caller: string,
): readonly CoolerModel[] {
  const list = requireCoolers(coolers, caller);
  if (curve !== undefined)
    requireKind(curve, 'power-curve', {
      caller,
      argument: 'curve',
      remedy: 'make one with fitPowerCurve, or give undefined',
    });
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  requirePlannable(scenario, caller);
  return list;
}

/**
 * The options with their defaults.
 *
 * @param stepW - in which a cap can be set, W
 * @throws ArgumentError naming the option at fault
 */
export function settlePlanOptions(
  options: PlanOptions,
  coolers: readonly CoolerModel[],
  stepW: number,
  caller: string,
): SettledPlanOptions {
  const { powerCapsW, mounting } = options;
  const { durationsS, sampleIntervalS } = { ...PLAN_DEFAULTS, ...options };
  requireNumbers(durationsS, 'options.durationsS', caller);
  if (powerCapsW !== undefined) requireNumbers(powerCapsW, 'options.powerCapsW', caller);
  requireNumber(sampleIntervalS, { caller, argument: 'options.sampleIntervalS' }, { above: 0 });
  const wantedHalfWidthW = options.wantedHalfWidthW ?? stepW;
  requireNumber(wantedHalfWidthW, { caller, argument: 'options.wantedHalfWidthW' }, { above: 0 });
  const leastGainW = options.leastGainW ?? stepW / 2;
  requireNumber(leastGainW, { caller, argument: 'options.leastGainW' }, { above: 0 });
  requireMounting(mounting, coolers, caller);
  return {
    powerCapsW,
    durationsS,
    sampleIntervalS,
    forNextMount: mounting === 'any-mount',
    wantedHalfWidthW,
    leastGainW,
  };
}

function requireCoolers(value: unknown, caller: string): readonly CoolerModel[] {
  if (!Array.isArray(value)) {
    requireModel(value as CoolerModel, caller, 'coolers');
    return [value as CoolerModel];
  }
  if (value.length === 0)
    throw new ArgumentError({
      caller,
      argument: 'coolers',
      expected: 'one cooler model or more',
      received: value,
      remedy: 'log a first run of about 20 minutes at a moderate cap and fit it with fitCooler',
    });
  value.forEach((model: unknown, i) => {
    requireModel(model, caller, `coolers[${i}]`);
  });
  return value as readonly CoolerModel[];
}

function requirePlannable(scenario: CapScenario, caller: string): void {
  if (typeof scenario !== 'object' || scenario === null) return; // refused by name when it is settled
  for (const name of UNPLANNED) {
    if (scenario[name] === undefined) continue;
    throw new ArgumentError({
      caller,
      argument: `scenario.${name}`,
      expected: 'left out of a plan',
      received: scenario[name],
      remedy: 'a plan is for one lasting load on the cooler as it was logged',
    });
  }
}

function requireNumbers(
  values: unknown,
  argument: string,
  caller: string,
): asserts values is readonly number[] {
  if (!Array.isArray(values) || values.length === 0)
    throw new ArgumentError({ caller, argument, expected: 'a list of numbers', received: values });
  values.forEach((value: unknown, i) => {
    requireNumber(value, { caller, argument: `${argument}[${i}]` }, { above: 0 });
  });
}

function requireMounting(mounting: unknown, coolers: readonly CoolerModel[], caller: string): void {
  const where = { caller, argument: 'options.mounting', received: mounting };
  if (mounting === undefined || mounting === 'any-mount') return;
  if (mounting !== 'as-mounted')
    throw new ArgumentError({ ...where, expected: "'as-mounted' or 'any-mount'" });
  const several = coolers.find(({ findings }) => findings.some(({ code }) => code === 'several-mounts'));
  if (several === undefined) return;
  throw new ArgumentError({
    ...where,
    expected: `'any-mount', since '${several.label}' was fitted from several mounts and speaks of the next one`,
    remedy: 'fit the runs of one mount alone for a plan of that mount',
  });
}
