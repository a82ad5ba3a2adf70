import type { Estimate, EstimatedNumber } from '../../numerics/estimate.js';
import type { PowerCurve } from '../../power/power-curve.js';
import { requireCurve } from '../../power/predict/require-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { requireModel } from '../../thermal/require-model.js';
import { capPerLimit, chanceOfPassing } from '../draws/limit-cap.js';
import { spreadOf, temperatureAgainstCap } from '../draws/temperature-against-cap.js';
import type { CapObjective, CapScenario } from '../scenario/cap-scenario.js';
import type { BestSetting } from '../setting/best-at-speed.js';
import { bestSetting } from '../setting/best-setting.js';
import { capBound, expectedLimitCap } from '../setting/cap-bound.js';
import { liesOutside, requireReach } from '../setting/cap-reach.js';
import { settableSpeeds } from '../setting/fan-response.js';
import { objectiveUnit, objectiveValue } from '../setting/objective.js';
import { operatingPoint, stateAt } from '../setting/operating-state.js';
import { type CapSetting, type PreparedCap, prepareCap, type ThermalCase } from '../setting/prepared-cap.js';
import { requireBelowRunaway } from '../setting/runaway.js';
import { estimatesAt, type SettingEstimates } from '../setting/setting-estimates.js';
import { stepDown } from '../setting/step-down.js';
import { capCautions, provisionalBecause } from './cap-cautions.js';
import type { CapChoice } from './cap-choice.js';
import { capCost } from './cap-cost.js';
import { summariseCap } from './cap-summary.js';
import { shortTermCap } from './short-term-cap.js';
import { slopesAlongCooler } from './slopes-along-cooler.js';
import { worthOfOneMore } from './worth-of-one-more.js';

const NEIGHBOUR_STEPS = [-2, -1, 0, 1, 2] as const;

/**
 * The best sustained power cap within a temperature limit at a stated confidence and everything else that must hold; with
 * it, where the scenario leaves them free, the fan's speed and the offset of the core voltage.
 *
 * At a power P the steady temperature is T = ambient + enclosure rise + R(P)·P with R(P) = R·(P/P_ref)^−q. For each
 * quasi-random draw of (R, q, ambient, rise) the largest power that holds the limit is
 * P_ref·((limit − ambient − rise)/(R·P_ref))^(1/(1−q)), or the root of the same equation where the rise scales with
 * power. The cap at confidence c is the (1 − c) quantile of these powers [JCGM101, ch. 5 to 7], rounded down to the
 * settable step and never above the highest cap: `maxCapW`, else the maker's default cap, else the highest power logged
 * with this cooler or, by the curve, with this processor.
 *
 * Beside the temperature a supply's budget, a sound level (through the fan curve and the fan laws) and a least throughput
 * may bind; several loads under one cap, the hottest of which counts, or a cycle of loads through the cooler's stages; the
 * objective is throughput where the curve knows it, never a reported frequency that hides a slowdown, else frequency, or
 * what `scenario.objective` names. All settings are compared on the same draws. `shortTerm` adds a higher cap for a time
 * window; `topFrequencyMHz` says where the cap no longer binds and leakage sets the power.
 *
 * Assumes a cooler with constant fan behaviour, power held at the cap by the processor's governor (so that leakage
 * costs frequency, not temperature), independent room, enclosure and cooler. The processor is taken to hold itself
 * at the same limit where the default cap would pass it. With `limitAppliesTo: 'peak'` the limit on the mean is
 * lower by `cooler.noise.peakAboveMeanK`. Draws of the resistance follow Student's t and are truncated at positive
 * values; draws of the exponent are clipped to [0, 0.25]. The same input gives the same answer to the last digit.
 *
 * @param cooler - a fitted cooler; its resistance must be known
 * @param curve - the power curve of the same processor; `undefined` where no log holds a frequency: the cap is the
 * same, frequency and cost are unavailable, and a caution says what to log
 * @param scenario - limit and room air in degrees Celsius, powers in W, rises in K
 * @throws ArgumentError naming the option at fault
 * @throws NumericalError if the cooler's data cannot carry a cap, also because it would lie beyond four times the
 *   powers logged or below a quarter of them; if no setting satisfies all constraints: which fails, by how much, and the
 *   nearest ways out; or if an uncapped load stands near thermal runaway
 * @example
 * const points = [
 *   { powerW: 60, temperatureC: 52.1, frequencyMHz: 3180 },
 *   { powerW: 80, temperatureC: 61.9, frequencyMHz: 3450 },
 *   { powerW: 100, temperatureC: 72.2, frequencyMHz: 3650 },
 * ];
 * const cooler = coolerFromSteadyPoints(points);
 * const curve = curveFromSteadyPoints(points);
 * const choice = chooseCap(cooler, curve, { limitC: 85, ambientC: { low: 22, high: 28 }, enclosure: { riseK: 9 } });
 * choice.bindingConstraint; // => 'temperature'
 * chooseCap(cooler, curve, { limitC: 20, ambientC: 25 }); // => throws /above the room air of 25 °C/
 */
export function chooseCap(
  cooler: CoolerModel,
  curve: PowerCurve | undefined,
  scenario: CapScenario,
): CapChoice {
  const caller = 'chooseCap';
  requireModels(cooler, curve, caller);
  const prepared = prepareCap(cooler, curve, scenario, caller);
  const best = bestSetting(prepared);
  requireReach(cooler, best.setting.powerCapW, caller);
  requireBelowRunaway(prepared, best.setting);
  return choiceAt(prepared, best);
}

/** Throws an `ArgumentError` unless cooler and curve are what they are called; a curve may be missing. */
export function requireModels(cooler: CoolerModel, curve: PowerCurve | undefined, caller: string): void {
  requireModel(cooler, caller, 'cooler');
  if (curve !== undefined)
    requireCurve(
      curve,
      caller,
      'curve',
      'make one with fitPowerCurve or curveFromSteadyPoints, or give undefined where no frequency was logged',
    );
}

/** Everything that is said about the best setting. */
function choiceAt(prepared: PreparedCap, best: BestSetting): CapChoice {
  const { cooler, scenario } = prepared;
  const { setting, state } = best;
  const { powerCapW } = setting;
  const thermal = prepared.thermalAt(setting.fanSpeedRpm);
  const curve = prepared.curvesAt(setting.voltageOffsetMv)[0];
  const { steadyTemperatureC, temperaturesC } = temperatureAt(prepared, thermal, powerCapW);
  const estimates = estimatesAt(prepared, setting);
  const extrapolated = isExtrapolated(prepared, curve, setting, estimates);
  const capPerLimitWPerK = capPerLimit(
    thermal.binding,
    prepared.meanLimitC,
    thermal.powersAtLimitW,
    scenario.confidence,
  );
  const processor = cooler.processor ?? prepared.curve?.processor;
  const choice: Omit<CapChoice, 'summary' | 'cautions'> = {
    kind: 'cap-choice',
    cooler: cooler.cooler ?? cooler.label,
    ...(processor === undefined ? {} : { processor }),
    powerCapW,
    unroundedCapW: Number.isFinite(best.limitCapW) ? best.limitCapW : prepared.ceiling.powerW,
    steadyTemperatureC,
    frequencyMHz: estimates.frequencyMHz,
    throughputPerS: estimates.throughputPerS,
    ...(scenario.workPerJobCount === undefined
      ? {}
      : { jobRatePerH: estimates.jobRatePerH, energyPerJobJ: estimates.energyPerJobJ }),
    workPerWh: estimates.workPerWh,
    objective: objectiveOf(scenario.objective, estimates),
    packagePowerW: state.packagePowerW,
    ...(scenario.supply === undefined ? {} : { supplyPowerW: state.supplyPowerW }),
    ...fanPart(prepared, setting),
    ...(setting.voltageOffsetMv === undefined ? {} : { voltageOffsetMv: setting.voltageOffsetMv }),
    ...loadsPart(thermal, powerCapW),
    bindingConstraint: best.bindingConstraint,
    sensitivities: {
      capPerLimitWPerK,
      capPerAmbientWPerK: 0 - capPerLimitWPerK, // only their difference enters the temperature
      ...slopesAlongCooler(curve, thermal.binding, {
        powerCapW,
        temperatureC: steadyTemperatureC.value,
        temperaturesC,
        extrapolated,
      }),
    },
    worth: worthOfOneMore(prepared, best, capPerLimitWPerK),
    ...costPart(prepared, setting, thermal),
    ...present('shortTerm', shortTermCap(prepared, best)),
    neighbours: neighbours(thermal.powersAtLimitW, powerCapW, scenario.stepW),
    temperatureAgainstCap: temperatureAgainstCap(thermal.binding, {
      powerCapW,
      rangeW: pictureRange(prepared, powerCapW),
      confidence: scenario.confidence,
      reachedAt: (capW) => reachedAt(prepared, { ...setting, powerCapW: capW }),
    }),
    scenario,
    extrapolated,
  };
  const cautions = capCautions(prepared, curve, choice);
  const summary = summariseCap(choice, provisionalBecause(cooler, curve, powerCapW));
  const { kind, cooler: name, processor: of, powerCapW: cap, ...rest } = choice;
  return { kind, cooler: name, ...present('processor', of), powerCapW: cap, summary, ...rest, cautions };
}

function present<Name extends string, Value>(
  name: Name,
  value: Value | undefined,
): { readonly [Key in Name]?: Value } {
  return (value === undefined ? {} : { [name]: value }) as { readonly [Key in Name]?: Value };
}

function temperatureAt(
  { scenario, cooler }: PreparedCap,
  { binding }: ThermalCase,
  powerCapW: number,
): { readonly steadyTemperatureC: EstimatedNumber; readonly temperaturesC: Float64Array } {
  const temperaturesC = new Float64Array(binding.count);
  binding.temperaturesAt(powerCapW, temperaturesC);
  const spread = spreadOf(temperaturesC.slice(), binding.count, scenario.confidence);
  return {
    temperaturesC,
    steadyTemperatureC: {
      kind: 'estimated',
      value: spread.meanC,
      standardError: spread.standardDeviationK,
      interval95: [spread.lowC, spread.highC],
      extrapolated: liesOutside(powerCapW, cooler.testedRange.powerW),
    },
  };
}

/** Whether a setting, or the frequency at it, lies beyond what was logged. */
export function isExtrapolated(
  { cooler, fanCurve }: PreparedCap,
  curve: PowerCurve | undefined,
  { powerCapW, fanSpeedRpm }: CapSetting,
  { frequencyMHz }: SettingEstimates,
): boolean {
  return (
    (fanCurve !== undefined &&
      fanSpeedRpm !== undefined &&
      liesOutside(fanSpeedRpm, fanCurve.testedRange.fanSpeedRpm)) ||
    liesOutside(powerCapW, cooler.testedRange.powerW) ||
    (curve !== undefined && liesOutside(powerCapW, curve.testedRange.powerW)) ||
    (frequencyMHz.kind === 'estimated' && frequencyMHz.extrapolated === true)
  );
}

function objectiveOf(name: CapObjective, estimates: SettingEstimates): CapChoice['objective'] {
  const reached: Readonly<Record<CapObjective, Estimate>> = {
    frequency: estimates.frequencyMHz,
    throughput: estimates.throughputPerS,
    'jobs-per-hour': estimates.jobRatePerH,
    'energy-per-job': estimates.energyPerJobJ,
    'work-per-watt-hour': estimates.workPerWh,
  };
  return { name, unit: objectiveUnit[name], reached: reached[name] };
}

/** The fan's speed, its sound, and the slowest speed that would do; nothing where no fan is to be set. */
export function fanPart(prepared: PreparedCap, setting: CapSetting): Pick<CapChoice, 'fan'> {
  const { fan, maxSoundLevelDb } = prepared.scenario;
  const { fanSpeedRpm, powerCapW } = setting;
  if (fan === undefined || fanSpeedRpm === undefined) return {};
  const speeds = settableSpeeds(fan);
  const { soundLevelDb } = stateAt(prepared, setting);
  return {
    fan: {
      speedRpm: fanSpeedRpm,
      ...present('soundLevelDb', soundLevelDb),
      slowestAtSameCapRpm: slowestAt(prepared, speeds, fanSpeedRpm, powerCapW),
      bindingConstraint:
        fanSpeedRpm < speeds.at(-1)!
          ? 'objective'
          : maxSoundLevelDb !== undefined &&
              soundLevelDb! > maxSoundLevelDb - 50 * Math.log10(1 + fan.stepRpm / fanSpeedRpm)
            ? 'sound-level'
            : 'highest-speed',
    },
  };
}

/** The slowest settable speed at which a cap still holds everything that bounds it from above. */
function slowestAt(
  prepared: PreparedCap,
  speeds: readonly number[],
  fanSpeedRpm: number,
  powerCapW: number,
): number {
  const holds = (rpm: number): boolean =>
    stepDown(capBound(prepared, rpm).powerW, prepared.scenario.stepW) >= powerCapW - 1e-9;
  let low = -1;
  let high = speeds.indexOf(fanSpeedRpm);
  // Bisection, first where the fan's mean response has it: that and its neighbour mostly settle it.
  const expectedAt = expectedLimitCap(prepared, fanSpeedRpm, prepared.thermalAt(fanSpeedRpm).limitCapW);
  const expected = speeds.findIndex((rpm) => expectedAt(rpm) >= powerCapW);
  for (const probe of [expected, expected - 1])
    if (probe > low && probe < high) {
      if (holds(speeds[probe])) high = probe;
      else low = probe;
    }
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (holds(speeds[middle])) high = middle;
    else low = middle;
  }
  return speeds[high];
}

function loadsPart({ loads }: ThermalCase, powerCapW: number): Pick<CapChoice, 'loads'> {
  if (loads.length < 2) return {};
  return {
    loads: loads.map((load) => {
      const { powerW, temperatureC } = operatingPoint(load, powerCapW);
      return {
        label: load.label,
        shareFraction: load.shareFraction,
        temperatureC,
        powerW,
        belowCap: powerW < powerCapW,
      };
    }),
  };
}

/**
 * The load whose temperature is the highest at a cap; of equals, as loads on one cooler are that all draw the cap, the one
 * that is the hottest under the default cap.
 */
function hottestLoad({ loads }: ThermalCase, powerCapW: number, defaultCapW: number): number {
  let hottest = 0;
  for (let k = 1; k < loads.length; k++) {
    const hotterAt = (capW: number): number =>
      loads[k].temperatures.meanTemperatureC(capW) - loads[hottest].temperatures.meanTemperatureC(capW);
    const hotterK = hotterAt(powerCapW);
    if (hotterK > 0 || (hotterK === 0 && hotterAt(defaultCapW) > 0)) hottest = k;
  }
  return hottest;
}

/** What a setting costs against the default cap; nothing where none is given. */
export function costPart(
  prepared: PreparedCap,
  setting: CapSetting,
  thermal: ThermalCase,
): Pick<CapChoice, 'cost'> {
  const { defaultCapW } = prepared.scenario;
  if (defaultCapW === undefined) return {};
  const hottest = hottestLoad(thermal, setting.powerCapW, defaultCapW);
  const curves = prepared.curvesAt(setting.voltageOffsetMv);
  return {
    cost: capCost({
      prepared,
      thermal,
      load: thermal.loads[hottest],
      curve: curves[hottest] ?? curves[0],
      defaultCapW,
      powerCapW: setting.powerCapW,
    }),
  };
}

function reachedAt(
  prepared: PreparedCap,
  setting: CapSetting,
): { readonly frequencyMHz?: number; readonly objective?: number } {
  const state = stateAt(prepared, setting);
  return {
    ...present('frequencyMHz', state.frequencyMHz),
    ...present('objective', objectiveValue(prepared.scenario.objective, state)),
  };
}

function neighbours(powersAtLimitW: Float64Array, powerCapW: number, stepW: number): CapChoice['neighbours'] {
  return NEIGHBOUR_STEPS.map((steps) => Number((powerCapW + steps * stepW).toPrecision(12)))
    .filter((capW) => capW > 0)
    .map((capW) => ({
      powerCapW: capW,
      chanceOfPassingLimit: chanceOfPassing(powersAtLimitW, capW),
    }));
}

/** From half the cap, or the lowest power logged, to a quarter above the cap or just beyond the default cap. */
function pictureRange({ cooler, scenario }: PreparedCap, powerCapW: number): readonly [number, number] {
  const [testedLowW, testedHighW] = cooler.testedRange.powerW;
  const within = (powerW: number) => Math.min(2 * powerCapW, Math.max(0.25 * powerCapW, powerW));
  return [
    Math.min(0.5 * powerCapW, within(testedLowW)),
    Math.max(1.25 * powerCapW, within(testedHighW), within(1.05 * (scenario.defaultCapW ?? 0))),
  ];
}
