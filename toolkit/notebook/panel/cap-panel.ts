import {
  createWhatIf,
  type WhatIf,
  type WhatIfAnswer,
  type WhatIfRefusal,
} from '../../cap/choose/what-if.js';
import type { CapScenario } from '../../cap/scenario/cap-scenario.js';
import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import { timeToLimit } from '../../thermal/burst/time-to-limit.js';
import { coolerAtFanSpeed } from '../../thermal/cooler-at-fan-speed.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { codeOf } from './cap-panel-code.js';
import { type CapPanelData, changeOf, controlsOf, missingOf } from './cap-panel-controls.js';
import { type CapPictureRow, capPicture } from './cap-picture.js';
import { centreOf, enclosureOf } from './moved-input.js';
import type { PanelAnswer, PanelModel, PanelReading, PanelSetting } from './panel-model.js';

/** Caps along the picture. */
const pictureCaps = 19;
/** A picture needs fewer draws than a decision: its band differs by hundredths of a kelvin. */
const pictureDraws = 512;

/** The panel of a cap: what does a setting come to, and which cap would be recommended? */
export function capPanelModel(data: CapPanelData): PanelModel {
  const { cooler, curve, scenario } = data;
  const decision = createWhatIf(cooler, curve, scenario);
  const drawn = createWhatIf(cooler, curve, { ...scenario, drawCount: pictureDraws });
  const coolerAt = coolersBySpeed(cooler);
  const controls = controlsOf(data, decision.answer);
  return {
    title: `What if? ${cooler.cooler ?? cooler.label}`,
    controls,
    missing: missingOf(data),
    jumps: [
      {
        label: 'Set the recommended cap',
        to: (setting) => {
          const best = decision.update(changeOf(scenario, setting));
          return (best.kind === 'answer' ? { powerCapW: best.powerCapW } : {}) as PanelSetting;
        },
      },
    ],
    answer: (setting) => answerTo({ scenario, decision, drawn, coolerAt }, setting),
  };
}

/** The cooler at the fan speed of an answer, kept by speed; undefined where its stages are not known there. */
function coolersBySpeed(cooler: CoolerModel): (fanSpeedRpm: number | undefined) => CoolerModel | undefined {
  const known = new Map<number, CoolerModel>();
  return (fanSpeedRpm) => {
    if (fanSpeedRpm === undefined) return cooler;
    if (cooler.fanCurve === undefined) return undefined;
    const made = known.get(fanSpeedRpm) ?? coolerAtFanSpeed(cooler, fanSpeedRpm);
    known.set(fanSpeedRpm, made);
    return made;
  };
}

function answerTo(
  models: {
    readonly scenario: CapScenario;
    readonly decision: WhatIf;
    readonly drawn: WhatIf;
    readonly coolerAt: (fanSpeedRpm: number | undefined) => CoolerModel | undefined;
  },
  setting: PanelSetting,
): PanelAnswer {
  const { scenario, decision, drawn, coolerAt } = models;
  const powerCapW = setting['powerCapW']!;
  const change = changeOf(scenario, setting);
  const code = codeOf(scenario, setting);
  let best: WhatIfAnswer | WhatIfRefusal;
  try {
    best = decision.update(change);
    drawn.update(change);
  } catch (problem) {
    const message = problem instanceof Error ? problem.message : String(problem);
    return { readings: [], sentence: message, picture: '', code };
  }
  const at = decision.at(powerCapW);
  if (at.kind === 'not-feasible') return { readings: [], sentence: at.message, picture: '', code };
  const { limitC, confidence = 0.95 } = decision.scenario;
  const held = at.atConfidenceC <= limitC + 1e-9;
  const rows = rowsAround(drawn, powerCapW, best);
  const reference = referenceOf(drawn, rows, scenario.defaultCapW, limitC);
  const readings: PanelReading[] = [
    {
      name: 'temperatureC',
      label: 'Steady temperature',
      text: `${at.temperatureC.toFixed(1)} °C (${at.temperatureInterval95C.map((end) => end.toFixed(1)).join(' to ')})`,
      ...(held
        ? {}
        : { mark: `above ${formatNumber(limitC, '°C')} with ${percent(at.chanceOfPassingLimit)} chance` }),
    },
    {
      name: 'recommendedCapW',
      label: `Recommended cap, ${formatNumber(100 * confidence)} %`,
      text: best.kind === 'answer' ? formatNumber(best.powerCapW, 'W') : 'none holds the limit',
      ...(best.kind === 'answer' && best.extrapolated ? { mark: 'extrapolated' } : {}),
    },
    ...(at.frequencyMHz === undefined
      ? []
      : [{ name: 'frequencyMHz', label: 'Frequency', text: `${at.frequencyMHz.toFixed(0)} MHz` }]),
    ...throughputReading(at, reference, scenario.defaultCapW),
    ...(at.soundLevelDb === undefined
      ? []
      : [{ name: 'soundLevelDb', label: 'Sound level', text: `${at.soundLevelDb.toFixed(1)} dB` }]),
    timeReading(coolerAt(at.fanSpeedRpm), decision.scenario, at),
  ];
  return {
    readings: at.extrapolated
      ? [{ ...readings[0]!, ...extrapolatedMark(readings[0]!) }, ...readings.slice(1)]
      : readings,
    sentence: sentenceOf(powerCapW, at, best, held, limitC, confidence),
    picture: capPicture({
      rows,
      limitC,
      confidence,
      chosen: { powerCapW, temperatureC: at.temperatureC },
      ...(best.kind === 'answer' ? { recommendedCapW: best.powerCapW } : {}),
    }),
    code,
  };
}

function extrapolatedMark({ mark }: PanelReading): { readonly mark: string } {
  return { mark: mark === undefined ? 'extrapolated' : `${mark}; extrapolated` };
}

/** What the default cap comes to here: itself held at the limit where it would pass it. */
function referenceOf(
  drawn: WhatIf,
  rows: readonly CapPictureRow[],
  defaultCapW: number | undefined,
  limitC: number,
): WhatIfAnswer | undefined {
  if (defaultCapW === undefined) return undefined;
  const atDefault = drawn.at(defaultCapW);
  if (atDefault.kind === 'not-feasible') return undefined;
  if (atDefault.temperatureC <= limitC) return atDefault;
  const held = drawn.at(powerAtTemperature([...rows, atDefault], limitC));
  return held.kind === 'answer' ? held : undefined;
}

/** Where the mean temperature meets the limit, between the caps of the picture: it is straight to a hundredth there. */
function powerAtTemperature(rows: readonly CapPictureRow[], limitC: number): number {
  const sorted = [...rows].sort((a, b) => a.powerCapW - b.powerCapW);
  const above = Math.max(
    1,
    sorted.findIndex(({ temperatureC }) => temperatureC > limitC),
  );
  const [a, b] = [sorted[above - 1]!, sorted[above]!];
  return (
    a.powerCapW +
    ((limitC - a.temperatureC) * (b.powerCapW - a.powerCapW)) / (b.temperatureC - a.temperatureC)
  );
}

function throughputReading(
  at: WhatIfAnswer,
  reference: WhatIfAnswer | undefined,
  defaultCapW: number | undefined,
): readonly PanelReading[] {
  const of = (answer: WhatIfAnswer | undefined): number | undefined =>
    at.throughputPerS === undefined ? answer?.frequencyMHz : answer?.throughputPerS;
  const [mine, others] = [of(at), of(reference)];
  const what = at.throughputPerS === undefined ? 'Frequency' : 'Throughput';
  const own: readonly PanelReading[] =
    at.throughputPerS === undefined
      ? []
      : [{ name: 'throughputPerS', label: 'Throughput', text: `${formatNumber(at.throughputPerS)} per s` }];
  if (mine === undefined || others === undefined || !(others > 0)) return own;
  return [
    ...own,
    {
      name: 'againstDefault',
      label: `${what} against the default cap of ${formatNumber(defaultCapW!, 'W')}`,
      text: `${(100 * (mine / others)).toFixed(1)} %`,
    },
  ];
}

function timeReading(
  cooler: CoolerModel | undefined,
  scenario: CapScenario,
  { powerCapW }: WhatIfAnswer,
): PanelReading {
  const reading = { name: 'timeToLimitS', label: 'Time to the limit from rest' };
  if (cooler === undefined) return { ...reading, text: 'not known at other fan speeds' };
  if (cooler.poles === undefined) return { ...reading, text: 'not known: the stages are not' };
  const { limitC, limitAppliesTo, enclosure } = scenario;
  const rise = enclosure === undefined ? undefined : enclosureOf(enclosure);
  const ambientC = centreOf(scenario.ambientC);
  const riseK =
    rise === undefined
      ? 0
      : centreOf(rise.riseK) * (rise.atPowerW === undefined ? 1 : powerCapW / rise.atPowerW);
  if (!(limitC > ambientC + riseK)) return { ...reading, text: 'the intake air is above the limit' };
  const answer = timeToLimit(cooler, {
    powerW: powerCapW,
    limitC,
    ambientC: ambientC + riseK,
    ...(limitAppliesTo === undefined ? {} : { limitAppliesTo }),
  });
  switch (answer.kind) {
    case 'never':
      return { ...reading, text: `never: ${formatEstimate(answer.marginK, 'K')} below it` };
    case 'already':
      return { ...reading, text: 'passed at once' };
    default:
      return {
        ...reading,
        text: `${inMinutes(answer.timeS.value)}; not sooner than ${inMinutes(answer.soonestS)}`,
      };
  }
}

function rowsAround(
  drawn: WhatIf,
  powerCapW: number,
  best: WhatIfAnswer | WhatIfRefusal,
): readonly CapPictureRow[] {
  const capsW = best.kind === 'answer' ? [powerCapW, best.powerCapW] : [powerCapW];
  const lowW = 0.6 * Math.min(...capsW);
  const highW = 1.25 * Math.max(...capsW);
  return Array.from(
    { length: pictureCaps },
    (_, i) => lowW + ((highW - lowW) * i) / (pictureCaps - 1),
  ).flatMap((capW) => {
    const answer = drawn.at(capW);
    return answer.kind === 'answer' ? [answer] : [];
  });
}

function sentenceOf(
  powerCapW: number,
  at: WhatIfAnswer,
  best: WhatIfAnswer | WhatIfRefusal,
  held: boolean,
  limitC: number,
  confidence: number,
): string {
  const limit = formatNumber(limitC, '°C');
  const mine = `At ${formatNumber(powerCapW, 'W')} the die settles at ${at.temperatureC.toFixed(1)} °C and ${
    held
      ? `stays at or below ${limit} with ${formatNumber(100 * confidence)} % confidence`
      : `passes ${limit} with a chance of ${percent(at.chanceOfPassingLimit)}`
  }.`;
  return best.kind === 'answer'
    ? `${mine} Recommended here: ${formatNumber(best.powerCapW, 'W')}.`
    : `${mine} ${best.message}`;
}

function percent(fraction: number): string {
  return fraction < 0.005 ? 'under 1 %' : fraction > 0.995 ? 'over 99 %' : `${(100 * fraction).toFixed(0)} %`;
}

function inMinutes(timeS: number | undefined): string {
  if (timeS === undefined) return 'open';
  return timeS < 120 ? `${timeS.toFixed(0)} s` : `${(timeS / 60).toFixed(1)} min`;
}
