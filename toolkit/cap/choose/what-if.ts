import { NumericalError, requireKnownNames, requireNumber } from '../../errors.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { chanceOfPassing } from '../draws/limit-cap.js';
import { spreadOf } from '../draws/temperature-against-cap.js';
import type { CapScenario } from '../scenario/cap-scenario.js';
import { CAP_SCENARIO_NAMES } from '../scenario/settle-scenario.js';
import { bestSetting } from '../setting/best-setting.js';
import type { BindingConstraint } from '../setting/binding-constraint.js';
import { liesOutside, requireReach } from '../setting/cap-reach.js';
import { stateAt } from '../setting/operating-state.js';
import { type CapSetting, type PreparedCap, prepareCap } from '../setting/prepared-cap.js';
import { requireBelowRunaway } from '../setting/runaway.js';
import { requireModels } from './choose-cap.js';

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
  /** The cap lies outside the powers the cooler, or the curve, was logged at. */
  readonly extrapolated: boolean;
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
 * digit, with temperature, chance and frequency as plain numbers and without intervals of frequency, costs, words and
 * pictures. A change of one input takes a millisecond or two.
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
        return answerAt(prepared, { ...settingOf(answer), powerCapW });
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
    const { setting, bindingConstraint } = bestSetting(prepared);
    requireReach(prepared.cooler, setting.powerCapW, prepared.caller);
    requireBelowRunaway(prepared, setting);
    return { ...answerAt(prepared, setting), bindingConstraint };
  });
}

function settingOf(answer: WhatIfAnswer | WhatIfRefusal): Omit<CapSetting, 'powerCapW'> {
  if (answer.kind === 'not-feasible') return {};
  const { fanSpeedRpm, voltageOffsetMv } = answer;
  return {
    ...(fanSpeedRpm === undefined ? {} : { fanSpeedRpm }),
    ...(voltageOffsetMv === undefined ? {} : { voltageOffsetMv }),
  };
}

function answerAt(prepared: PreparedCap, setting: CapSetting): WhatIfAnswer {
  const { binding, powersAtLimitW } = prepared.thermalAt(setting.fanSpeedRpm);
  const { setting: _, score: __, temperatureC: ___, ...state } = stateAt(prepared, setting);
  const temperaturesC = new Float64Array(binding.count);
  binding.temperaturesAt(setting.powerCapW, temperaturesC);
  const spread = spreadOf(temperaturesC, binding.count, prepared.scenario.confidence);
  const { cooler, curve } = prepared;
  return {
    kind: 'answer',
    ...setting,
    temperatureC: spread.meanC,
    temperatureInterval95C: [spread.lowC, spread.highC],
    atConfidenceC: spread.atConfidenceC,
    chanceOfPassingLimit: chanceOfPassing(powersAtLimitW, setting.powerCapW),
    ...state,
    extrapolated:
      liesOutside(setting.powerCapW, cooler.testedRange.powerW) ||
      (curve !== undefined && liesOutside(setting.powerCapW, curve.testedRange.powerW)),
  };
}
