import {
  createWhatIf,
  type WhatIf,
  type WhatIfAnswer,
  type WhatIfRefusal,
} from '../../cap/choose/what-if.js';
import type { CapScenario } from '../../cap/scenario/cap-scenario.js';
import { liesOutside } from '../../cap/setting/cap-reach.js';
import type { Estimate } from '../../numerics/estimate.js';
import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import { type TimeToLimitScenario, timeToLimit } from '../../thermal/burst/time-to-limit.js';
import { coolerAtFanSpeed } from '../../thermal/cooler-at-fan-speed.js';
import type { CoolerModel } from '../../thermal/cooler-model.js';
import { codeOf } from './cap-panel-code.js';
import { type CapPanelData, changeOf, controlsOf, missingOf } from './cap-panel-controls.js';
import { type CapPictureRow, capPicture } from './cap-picture.js';
import { capPictureRows } from './cap-picture-rows.js';
import { centreOf, enclosureOf } from './moved-input.js';
import type { PanelAnswer, PanelModel, PanelReading, PanelSetting } from './panel-model.js';

/** The panel of a cap: what does a setting come to, and which cap would be recommended? */
export function capPanelModel(data: CapPanelData): PanelModel {
  const { cooler, curve, scenario } = data;
  const decision = createWhatIf(cooler, curve, scenario);
  const controls = controlsOf(data, decision.answer);
  const ask = lastQuestion(scenario, decision, capPictureRows(data, controls[0]));
  const timeAt = timesToLimit(cooler);
  return {
    title: `What if? ${cooler.cooler ?? cooler.label}`,
    controls,
    missing: missingOf(data),
    jumps: [
      {
        label: 'Set the recommended cap',
        to: (setting): PanelSetting => {
          const question = ask(setting);
          return question.kind === 'asked' && question.best.kind === 'answer'
            ? { powerCapW: question.best.powerCapW }
            : {};
        },
      },
    ],
    answer: (setting) => {
      const code = codeOf(data, setting);
      const question = ask(setting);
      if (question.kind === 'none') return withoutNumbers(question.message, code);
      const at = decision.at(setting['powerCapW']);
      if (at.kind === 'not-feasible') return withoutNumbers(inSentence(at.message), code);
      return answerOf({ data, question, at, scenario: decision.scenario, timeAt, code });
    },
  };
}

/** What all caps have in common at a setting. */
type Question =
  | {
      readonly kind: 'asked';
      readonly best: WhatIfAnswer | WhatIfRefusal;
      /** Temperatures at the caps of the picture. */
      readonly rows: readonly CapPictureRow[];
    }
  /** The setting is no scenario at all. */
  | { readonly kind: 'none'; readonly message: string };

/** Asks anew where anything but the cap has moved. */
function lastQuestion(
  scenario: CapScenario,
  decision: WhatIf,
  rowsAt: ReturnType<typeof capPictureRows>,
): (setting: PanelSetting) => Question {
  const ask = keepingLast((setting: PanelSetting): Question => {
    try {
      const best = decision.update(changeOf(scenario, setting));
      return { kind: 'asked', best, rows: rowsAt(decision.scenario, setting['fanSpeedRpm']) };
    } catch (problem) {
      const message = problem instanceof Error ? problem.message : String(problem);
      return { kind: 'none', message: inSentence(message) };
    }
  });
  return ({ powerCapW: _, ...setting }) => ask(setting);
}

/** The same function, which keeps its latest answer as long as it is asked the same. */
function keepingLast<Asked, Answer>(ask: (asked: Asked) => Answer): (asked: Asked) => Answer {
  let last: { readonly asked: string; readonly answer: Answer } | undefined;
  return (asked) => {
    const now = JSON.stringify(asked);
    if (last?.asked !== now) last = { asked: now, answer: ask(asked) };
    return last.answer;
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

function withoutNumbers(sentence: string, code: string): PanelAnswer {
  return { readings: [], sentence, cautions: [], picture: '', code };
}

function answerOf(told: {
  readonly data: CapPanelData;
  readonly question: Extract<Question, { kind: 'asked' }>;
  readonly at: WhatIfAnswer;
  /** As it now stands. */
  readonly scenario: CapScenario;
  readonly timeAt: (scenario: CapScenario, answer: WhatIfAnswer) => PanelReading;
  readonly code: string;
}): PanelAnswer {
  const { data, question, at, scenario, timeAt, code } = told;
  const { best, rows } = question;
  const { limitC, confidence = 0.95 } = scenario;
  const held = at.atConfidenceC <= limitC + 1e-9;
  return {
    readings: [
      {
        name: 'temperatureC',
        label: 'Steady temperature',
        text: `${at.temperatureC.toFixed(1)} °C (${at.temperatureInterval95C.map((end) => end.toFixed(1)).join(' to ')})`,
        ...marked([
          held ? '' : `above ${formatNumber(limitC, '°C')} with ${percent(at.chanceOfPassingLimit)} chance`,
          liesBeyond(data, at) ? 'extrapolated' : '',
        ]),
      },
      {
        name: 'recommendedCapW',
        label: `Recommended cap, ${formatNumber(100 * confidence)} %`,
        text: best.kind === 'answer' ? formatNumber(best.powerCapW, 'W') : 'none holds all that is asked',
        ...marked([best.kind === 'answer' && best.extrapolated ? 'extrapolated' : '']),
      },
      ...(data.curve === undefined
        ? []
        : [
            {
              name: 'frequencyMHz',
              label: 'Frequency',
              ...estimateReading(at.estimates.frequencyMHz, 'MHz'),
            },
          ]),
      ...costReading(at),
      ...(at.soundLevelDb === undefined
        ? []
        : [{ name: 'soundLevelDb', label: 'Sound level', text: `${at.soundLevelDb.toFixed(1)} dB` }]),
      timeAt(scenario, at),
    ],
    sentence: sentenceOf(at, best, held, limitC, confidence),
    cautions: at.cautions,
    picture: capPicture({
      rows,
      limitC,
      confidence,
      chosen: { powerCapW: at.powerCapW, temperatureC: at.temperatureC },
      ...(best.kind === 'answer' ? { recommendedCapW: best.powerCapW } : {}),
    }),
    code,
  };
}

/** Whether the cooler was not logged at such a cap, or its fan not at such a speed. */
function liesBeyond({ cooler, scenario }: CapPanelData, { powerCapW, fanSpeedRpm }: WhatIfAnswer): boolean {
  const fanCurve = scenario.fan?.curve ?? cooler.fanCurve;
  return (
    liesOutside(powerCapW, cooler.testedRange.powerW) ||
    (fanSpeedRpm !== undefined &&
      fanCurve !== undefined &&
      liesOutside(fanSpeedRpm, fanCurve.testedRange.fanSpeedRpm))
  );
}

function marked(marks: readonly string[]): Pick<PanelReading, 'mark'> {
  const mark = marks.filter((one) => one !== '').join('; ');
  return mark === '' ? {} : { mark };
}

/** A number with its interval; that it is extrapolated stands beside it as a mark. */
function estimateReading(estimate: Estimate, unit: string): Pick<PanelReading, 'text' | 'mark'> {
  if (estimate.kind === 'unavailable') return { text: formatEstimate(estimate, unit) };
  const { extrapolated: _, ...number } = estimate;
  return {
    text: formatEstimate(number, unit),
    ...marked([isExtrapolated(estimate) ? 'extrapolated' : '']),
  };
}

function isExtrapolated(estimate: Estimate): boolean {
  return estimate.kind === 'estimated' && estimate.extrapolated === true;
}

/** What is left of the default cap's throughput, or of its frequency where no throughput was logged. */
function costReading({ cost }: WhatIfAnswer): readonly PanelReading[] {
  if (cost === undefined) return [];
  const [what, lost] =
    cost.throughputLossFraction.kind === 'estimated'
      ? ['Throughput', cost.throughputLossFraction]
      : ['Frequency', cost.lossFraction];
  if (lost.kind === 'unavailable') return [];
  const [low, high] = lost.interval95;
  const left: Estimate = {
    ...lost,
    value: 100 * (1 - lost.value),
    standardError: 100 * lost.standardError,
    interval95: [100 * (1 - high), 100 * (1 - low)],
  };
  return [
    {
      name: 'againstDefault',
      label: `${what} against the default cap of ${formatNumber(cost.defaultCapW, 'W')}${cost.heldAtLimit ? ', held at the limit' : ''}`,
      ...estimateReading(left, '%'),
    },
  ];
}

/** How long the limit takes, worked out anew where anything that counts for it has moved. */
function timesToLimit(cooler: CoolerModel): (scenario: CapScenario, answer: WhatIfAnswer) => PanelReading {
  const coolerAt = coolersBySpeed(cooler);
  const timeUntil = keepingLast(
    ({ fanSpeedRpm, ...load }: TimeToLimitScenario & { readonly fanSpeedRpm?: number }) =>
      timeToLimit(coolerAt(fanSpeedRpm)!, load),
  );
  return ({ limitC, limitAppliesTo, ...place }, { powerCapW: powerW, fanSpeedRpm }) => {
    const name = 'timeToLimitS';
    const label = 'Time to the limit from rest';
    const known = coolerAt(fanSpeedRpm);
    if (known === undefined) return { name, label, text: 'not known at other fan speeds' };
    if (known.poles === undefined) return { name, label, text: 'not known: the stages are not' };
    const ambientC = intakeAt(place, powerW);
    // Room and rise may be ranges; the time, its interval too, is for the middle of both.
    const reading = { name, label: `${label}, intake air at ${ambientC.toFixed(1)} °C` };
    if (!(limitC > ambientC)) return { ...reading, text: 'the intake air is above the limit' };
    const answer = timeUntil({
      powerW,
      limitC,
      ambientC,
      ...(limitAppliesTo === undefined ? {} : { limitAppliesTo }),
      ...(fanSpeedRpm === undefined ? {} : { fanSpeedRpm }),
    });
    switch (answer.kind) {
      case 'never': {
        const margin = estimateReading(answer.marginK, 'K');
        return { ...reading, ...margin, text: `never: ${margin.text} below it` };
      }
      case 'already':
        return { ...reading, text: 'passed at once' };
      default:
        return {
          ...reading,
          text: `${inMinutes(answer.timeS.value)}; not sooner than ${inMinutes(answer.soonestS)}`,
          ...marked([isExtrapolated(answer.timeS) ? 'extrapolated' : '']),
        };
    }
  };
}

/** The middle of room and enclosure at a power, degrees Celsius. */
function intakeAt(
  { ambientC, enclosure }: Pick<CapScenario, 'ambientC' | 'enclosure'>,
  powerW: number,
): number {
  const roomC = centreOf(ambientC);
  if (enclosure === undefined) return roomC;
  const { riseK, atPowerW } = enclosureOf(enclosure);
  return roomC + centreOf(riseK) * (atPowerW === undefined ? 1 : powerW / atPowerW);
}

function sentenceOf(
  at: WhatIfAnswer,
  best: WhatIfAnswer | WhatIfRefusal,
  held: boolean,
  limitC: number,
  confidence: number,
): string {
  const limit = formatNumber(limitC, '°C');
  return [
    `At ${formatNumber(at.powerCapW, 'W')} the die settles at ${at.temperatureC.toFixed(1)} °C and ${
      held
        ? `stays at or below ${limit} with ${formatNumber(100 * confidence)} % confidence`
        : `passes ${limit} with a chance of ${percent(at.chanceOfPassingLimit)}`
    }.`,
    ...(at.extrapolated ? ['Extrapolated: this lies outside what was logged.'] : []),
    best.kind === 'answer'
      ? `Recommended here: ${formatNumber(best.powerCapW, 'W')}.`
      : inSentence(best.message),
  ].join(' ');
}

/** A message without the call that it comes from, which nobody made here. */
function inSentence(message: string): string {
  const text = message.replace(/^\w+: /, '');
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}

function percent(fraction: number): string {
  return fraction < 0.005 ? 'under 1 %' : fraction > 0.995 ? 'over 99 %' : `${(100 * fraction).toFixed(0)} %`;
}

function inMinutes(timeS: number | undefined): string {
  if (timeS === undefined) return 'open';
  return timeS < 120 ? `${timeS.toFixed(0)} s` : `${(timeS / 60).toFixed(1)} min`;
}
