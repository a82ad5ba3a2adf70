import type { WhatIfAnswer, WhatIfRefusal } from '../../cap/choose/what-if.js';
import type { CapScenario } from '../../cap/scenario/cap-scenario.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { centreOf, enclosureOf, movedTo, withSpread } from './moved-input.js';
import { onItsSteps, type PanelControl, type PanelSetting } from './panel-model.js';

/** A cooler, a power curve and a scenario to drag. */
export interface CapPanelData {
  readonly panel: 'cap';
  readonly cooler: CoolerModel;
  readonly curve?: PowerCurve;
  readonly scenario: CapScenario;
}

/** One control for everything in the scenario that can be dragged, at the scenario's own values. */
export function controlsOf(
  { cooler, curve, scenario }: CapPanelData,
  first: WhatIfAnswer | WhatIfRefusal,
): readonly PanelControl[] {
  const { stepW = 1, maxCapW, defaultCapW, enclosure, fan, voltageOffset } = scenario;
  const highestW = Math.max(
    maxCapW ?? 0,
    defaultCapW ?? 0,
    cooler.testedRange.powerW[1],
    curve?.testedRange.powerW[1] ?? 0,
  );
  const capW = first.kind === 'answer' ? first.powerCapW : Math.round(0.7 * highestW);
  const rise = enclosure === undefined ? 0 : centreOf(enclosureOf(enclosure).riseK);
  const riseAtW = enclosure === undefined ? undefined : enclosureOf(enclosure).atPowerW;
  const ambientC = centreOf(scenario.ambientC);
  const best = first.kind === 'answer' ? first : undefined;
  const fanCurve = fan?.curve ?? cooler.fanCurve;
  const controls: readonly PanelControl[] = [
    {
      name: 'powerCapW',
      label: 'Power cap',
      unit: 'W',
      low: stepW * Math.ceil(Math.min(0.3 * highestW, capW) / stepW),
      high: stepW * Math.ceil((1.2 * highestW) / stepW),
      step: stepW,
      value: capW,
    },
    {
      name: 'ambientC',
      label: withSpread('Room air', scenario.ambientC),
      unit: '°C',
      low: Math.min(5, ambientC),
      high: Math.max(45, ambientC),
      step: 0.5,
      value: ambientC,
    },
    {
      name: 'enclosureRiseK',
      label: withSpread(
        `Enclosure adds${riseAtW === undefined ? '' : ` at ${formatNumber(riseAtW, 'W')}`}`,
        enclosure === undefined ? 0 : enclosureOf(enclosure).riseK,
      ),
      unit: 'K',
      low: 0,
      high: Math.max(30, rise),
      step: 0.25,
      value: rise,
    },
    ...(fan === undefined || fanCurve === undefined
      ? []
      : [
          {
            name: 'fanSpeedRpm',
            label: 'Fan speed',
            unit: 'rpm',
            ...settableSpeeds(fan, fanCurve.testedRange.fanSpeedRpm),
            ...(best?.fanSpeedRpm === undefined ? {} : { value: best.fanSpeedRpm }),
          },
        ]),
    ...(voltageOffset === undefined
      ? []
      : [
          {
            name: 'voltageOffsetMv',
            label: 'Voltage offset',
            unit: 'mV',
            low: voltageOffset.lowestMv,
            high: voltageOffset.highestMv ?? 0,
            step: voltageOffset.stepMv ?? 5,
            value: best?.voltageOffsetMv ?? 0,
          },
        ]),
    {
      name: 'limitC',
      label: 'Temperature limit',
      unit: '°C',
      low: Math.min(60, scenario.limitC),
      high: Math.max(105, scenario.limitC),
      step: 1,
      value: scenario.limitC,
    },
    {
      name: 'confidencePercent',
      label: 'Confidence',
      unit: '%',
      low: 50,
      high: Math.max(99, confidencePercent(scenario)),
      step: 1,
      value: confidencePercent(scenario),
    },
  ];
  return controls.map(onItsSteps);
}

/** What has no control here, and what to give to get one. */
export function missingOf({ curve, scenario }: CapPanelData): readonly string[] {
  return [
    ...(curve === undefined ? ['No power curve was given: the panel cannot say what a cap costs.'] : []),
    ...(scenario.fan === undefined
      ? ['To change the fan speed, give the scenario a fan, with a fan curve from runs at several speeds.']
      : []),
    ...(scenario.voltageOffset === undefined
      ? [
          'To change the voltage offset, give the scenario a voltageOffset, and a curve from logs that hold the voltage.',
        ]
      : []),
  ];
}

/** What a setting changes of the scenario: the middle of what is uncertain moves, its spread stays. */
export function changeOf(scenario: CapScenario, setting: PanelSetting): Partial<CapScenario> {
  const { fan, voltageOffset } = scenario;
  const enclosure = scenario.enclosure === undefined ? undefined : enclosureOf(scenario.enclosure);
  const riseK = setting['enclosureRiseK'];
  const fanSpeedRpm = setting['fanSpeedRpm'];
  const voltageOffsetMv = setting['voltageOffsetMv'];
  return {
    limitC: setting['limitC'],
    ambientC: movedTo(scenario.ambientC, setting['ambientC']),
    confidence:
      setting['confidencePercent'] === confidencePercent(scenario)
        ? (scenario.confidence ?? defaultConfidence)
        : setting['confidencePercent'] / 100,
    ...(enclosure === undefined && riseK === 0
      ? { enclosure: undefined as never }
      : { enclosure: { ...enclosure, riseK: movedTo(enclosure?.riseK ?? 0, riseK, 0) } }),
    ...(fan === undefined || fanSpeedRpm === undefined
      ? {}
      : { fan: { ...fan, lowestRpm: fanSpeedRpm, highestRpm: fanSpeedRpm } }),
    ...(voltageOffset === undefined || voltageOffsetMv === undefined
      ? {}
      : { voltageOffset: { ...voltageOffset, lowestMv: voltageOffsetMv, highestMv: voltageOffsetMv } }),
  };
}

/** The speeds that can be set, on the fan's own step. */
function settableSpeeds(
  { lowestRpm, highestRpm, stepRpm = 50 }: NonNullable<CapScenario['fan']>,
  tested: readonly [low: number, high: number],
): Pick<PanelControl, 'low' | 'high' | 'step' | 'value'> {
  const low = stepRpm * Math.ceil((lowestRpm ?? tested[0]) / stepRpm - 1e-9);
  const high = Math.max(low, stepRpm * Math.floor((highestRpm ?? tested[1]) / stepRpm + 1e-9));
  return { low, high, step: stepRpm, value: high };
}

const defaultConfidence = 0.95;

function confidencePercent({ confidence = defaultConfidence }: CapScenario): number {
  return Number((100 * confidence).toPrecision(12));
}
