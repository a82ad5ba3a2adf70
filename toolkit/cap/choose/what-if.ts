import { NumericalError, requireKnownNames, requireNumber } from '../../errors.js';
import { createWorkspace } from '../../numerics/workspace.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { shareAbove } from '../draws/limit-cap.js';
import { spreadOf } from '../draws/temperature-against-cap.js';
import type { CapScenario } from '../scenario/cap-scenario.js';
import { CAP_SCENARIO_NAMES } from '../scenario/settle-scenario.js';
import type { BestSetting } from '../setting/best-at-speed.js';
import { bestSetting } from '../setting/best-setting.js';
import type { BindingConstraint } from '../setting/binding-constraint.js';
import { requireReach } from '../setting/cap-reach.js';
import { settableSpeeds } from '../setting/fan-response.js';
import { stateAt } from '../setting/operating-state.js';
import { type CapSetting, type PreparedCap, prepareCap, settingOf } from '../setting/prepared-cap.js';
import { requireBelowRunaway } from '../setting/runaway.js';
import { estimatesAt, type SettingEstimates } from '../setting/setting-estimates.js';
import { capCautions } from './cap-cautions.js';
import type { CapChoice } from './cap-choice.js';
import { costPart, fanPart, isExtrapolated, requireModels } from './choose-cap.js';
import { shortTermCap } from './short-term-cap.js';

/** What a page shows while somebody drags an input: the answer of `chooseCap` in plain numbers. */
export interface WhatIfAnswer {
  readonly kind: 'answer';
  readonly powerCapW: number;
  readonly fanSpeedRpm?: number;
  readonly voltageOffsetMv?: number;
  readonly bindingConstraint?: BindingConstraint;
  /** Mean, 95 % interval, and what holds with the confidence asked for; degrees Celsius. */
  readonly temperatureC: number;
  readonly temperatureInterval95C: readonly [low: number, high: number];
  readonly atConfidenceC: number;
  readonly chanceOfPassingLimit: number;
  readonly packagePowerW: number;
  readonly supplyPowerW: number;
  readonly soundLevelDb?: number;
  readonly frequencyMHz?: number;
  readonly throughputPerS?: number;
  readonly jobRatePerH?: number;
  readonly energyPerJobJ?: number;
  readonly workPerWh?: number;
  /** Frequency, throughput and what follows from them with their intervals; worked out when they are read. */
  readonly estimates: SettingEstimates;
  /** Against `defaultCapW` on the same cooler, as of `chooseCap`, where that is given; worked out when it is read. */
  readonly cost: CapChoice['cost'];
  /** As of `chooseCap`: the cap, the fan's speed or the frequency lies outside what was logged. */
  readonly extrapolated: boolean;
  /** What to know before setting the cap, in the words of `chooseCap`; worked out when it is read. */
  readonly cautions: readonly string[];
}

/** Nothing satisfies all constraints; the message says which fails and what would do. */
export interface WhatIfRefusal {
  readonly kind: 'not-feasible';
  readonly message: string;
}

/** A question that is asked again and again with one input changed. */
export interface WhatIf {
  /** The scenario as it now stands. */
  readonly scenario: CapScenario;
  /** The answer to it. */
  readonly answer: WhatIfAnswer | WhatIfRefusal;
  /**
   * Changes one input or several and answers anew; `undefined` takes an option back. A change that is no scenario at all
   * throws and leaves everything as it was.
   */
  update(change: Partial<CapScenario>): WhatIfAnswer | WhatIfRefusal;
  /** What a cap of one's own choosing comes to in the scenario as it stands, within its limits or not. */
  at(powerCapW: number): WhatIfAnswer | WhatIfRefusal;
}

/**
 * The fast path behind a page on which inputs are dragged: the cap of `chooseCap`, on the same draws and to the last
 * digit, with temperature, chance and frequency as plain numbers and without worth and pictures; intervals of the
 * frequency, cost and cautions are worked out when they are read. A change of one input takes a millisecond or two; some
 * more where a fan that takes power is to be set for several loads, a least throughput or a top frequency.
 *
 * Runs unchanged in a browser.
 *
 * @param cooler - a fitted cooler
 * @param curve - the power curve of the same processor, or `undefined`
 * @param scenario - where to start, as for `chooseCap`
 * @throws ArgumentError naming the option at fault, and NumericalError where the cooler's data cannot carry any cap
 * @example
 * const points = [
 *   { powerW: 60, temperatureC: 52.1, frequencyMHz: 3180 },
 *   { powerW: 80, temperatureC: 61.9, frequencyMHz: 3450 },
 *   { powerW: 100, temperatureC: 72.2, frequencyMHz: 3650 },
 * ];
 * const cooler = coolerFromSteadyPoints(points);
 * const curve = curveFromSteadyPoints(points);
 * const scenario = { limitC: 80, ambientC: 24, enclosure: { riseK: 8 } };
 * const whatIf = createWhatIf(cooler, curve, scenario);
 * const { powerCapW } = chooseCap(cooler, curve, scenario);
 * whatIf.answer.kind === 'answer' && whatIf.answer.powerCapW === powerCapW; // => true
 * const warmer = whatIf.update({ ambientC: 32 });
 * warmer.kind === 'answer' && warmer.powerCapW < powerCapW; // => true
 */
export function createWhatIf(
  cooler: CoolerModel,
  curve: PowerCurve | undefined,
  scenario: CapScenario,
): WhatIf {
  const caller = 'createWhatIf';
  requireModels(cooler, curve, caller);
  let current = scenario;
  let prepared = prepareCap(cooler, curve, current, caller);
  let answer = bestOf(prepared);
  return {
    get scenario() {
      return current;
    },
    get answer() {
      return answer;
    },
    update(change) {
      requireKnownNames(change, CAP_SCENARIO_NAMES, { caller: 'update', argument: 'change' });
      const next = merged(current, change);
      prepared = prepareCap(cooler, curve, next, caller);
      current = next;
      answer = bestOf(prepared);
      return answer;
    },
    at(powerCapW) {
      requireNumber(powerCapW, { caller: 'at', argument: 'powerCapW' }, { above: 0 });
      return refusedOr(() => {
        requireReach(cooler, powerCapW, 'at');
        const { fanSpeedRpm, voltageOffsetMv } = chosenIn(prepared, answer);
        return answerAt(prepared, { setting: settingOf(powerCapW, fanSpeedRpm, voltageOffsetMv) });
      });
    },
  };
}

function merged(scenario: CapScenario, change: Partial<CapScenario>): CapScenario {
  const next: Record<string, unknown> = { ...scenario, ...change };
  for (const name of Object.keys(change)) if (next[name] === undefined) delete next[name];
  return next as unknown as CapScenario;
}

function refusedOr(answer: () => WhatIfAnswer): WhatIfAnswer | WhatIfRefusal {
  try {
    return answer();
  } catch (failure) {
    if (!(failure instanceof NumericalError)) throw failure;
    return { kind: 'not-feasible', message: failure.message };
  }
}

function bestOf(prepared: PreparedCap): WhatIfAnswer | WhatIfRefusal {
  return refusedOr(() => {
    const best = bestSetting(prepared);
    requireReach(prepared.cooler, best.setting.powerCapW, prepared.caller);
    requireBelowRunaway(prepared, best.setting);
    return answerAt(prepared, best);
  });
}

/** Fan speed and voltage offset of the answer; where there is none, those that the scenario leaves no choice of. */
function chosenIn(
  prepared: PreparedCap,
  answer: WhatIfAnswer | WhatIfRefusal,
): { readonly fanSpeedRpm: number | undefined; readonly voltageOffsetMv: number | undefined } {
  if (answer.kind === 'answer') {
    const { fanSpeedRpm, voltageOffsetMv } = answer;
    return { fanSpeedRpm, voltageOffsetMv };
  }
  const { fan } = prepared.scenario;
  const only = <Value>(values: readonly Value[]): Value | undefined =>
    values.length === 1 ? values[0] : undefined;
  return {
    fanSpeedRpm: fan === undefined ? undefined : only(settableSpeeds(fan)),
    voltageOffsetMv: only(prepared.offsetsMv),
  };
}

/** The answer at a setting, the best one or any other. What takes longer than the numbers is left until it is asked for. */
function answerAt(
  prepared: PreparedCap,
  asked: BestSetting | { readonly setting: CapSetting },
): WhatIfAnswer {
  const { setting } = asked;
  const thermal = prepared.thermalAt(setting.fanSpeedRpm);
  const { binding } = thermal;
  const { setting: _, score: __, temperatureC: ___, ...state } = stateAt(prepared, setting);
  const temperaturesC = workspace.take(binding.count);
  binding.temperaturesAt(setting.powerCapW, temperaturesC);
  const chanceOfPassingLimit = shareAbove(temperaturesC, prepared.meanLimitC);
  const spread = spreadOf(temperaturesC, binding.count, prepared.scenario.confidence);
  workspace.release();
  const best = 'bindingConstraint' in asked ? asked : undefined;
  const curve = prepared.curvesAt(setting.voltageOffsetMv)[0];
  const estimates = once(() => estimatesAt(prepared, setting));
  const cost = once(() => costPart(prepared, setting, thermal).cost);
  const cautions = once(() =>
    capCautions(prepared, curve, {
      ...setting,
      ...(best === undefined ? {} : { bindingConstraint: best.bindingConstraint }),
      ...fanPart(prepared, setting),
      shortTerm: best && shortTermCap(prepared, best),
      frequencyMHz: estimates().frequencyMHz,
      packagePowerW: state.packagePowerW,
    }),
  );
  return {
    kind: 'answer',
    ...setting,
    ...(best === undefined ? {} : { bindingConstraint: best.bindingConstraint }),
    temperatureC: spread.meanC,
    temperatureInterval95C: [spread.lowC, spread.highC],
    atConfidenceC: spread.atConfidenceC,
    chanceOfPassingLimit,
    ...state,
    get estimates() {
      return estimates();
    },
    get cost() {
      return cost();
    },
    get extrapolated() {
      return isExtrapolated(prepared, curve, setting, estimates());
    },
    get cautions() {
      return cautions();
    },
  };
}

const workspace = createWorkspace();

function once<Value>(make: () => Value): () => Value {
  let made: { readonly value: Value } | undefined;
  return () => {
    made ??= { value: make() };
    return made.value;
  };
}
