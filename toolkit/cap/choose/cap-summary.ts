import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import { describeInput } from '../scenario/uncertain-input.js';
import { objectiveInWords } from '../setting/objective.js';
import { percent } from '../setting/percent.js';
import type { CapChoice } from './cap-choice.js';
import { pairInWords } from './short-term-cap.js';

type ChoiceToSummarise = Omit<CapChoice, 'summary' | 'cautions'>;

/** The choice in a few plain sentences. */
export function summariseCap(choice: ChoiceToSummarise, provisionalBecause?: string): string {
  return [
    provisionalBecause === undefined ? '' : `Provisional, because ${provisionalBecause}.`,
    settingOf(choice),
    beside(choice),
    temperatureOf(choice),
    frequencyOf(choice),
    workOf(choice),
    pairInWords(choice),
    rangeOf(choice),
  ]
    .filter((part) => part !== '')
    .join(' ');
}

function settingOf({ powerCapW, bindingConstraint, scenario }: ChoiceToSummarise): string {
  if (bindingConstraint === 'default-cap' && powerCapW === scenario.defaultCapW)
    return `The default cap of ${powerCapW} W can stay.`;
  if (bindingConstraint === 'default-cap')
    return `Set the cap to ${powerCapW} W, the highest step within the default cap of ${scenario.defaultCapW} W.`;
  if (bindingConstraint === 'max-cap')
    return `Set the cap to ${powerCapW} W, the highest allowed here; the temperature would permit more.`;
  if (bindingConstraint === 'tested-range')
    return `Set the cap to ${powerCapW} W, the highest step within the powers logged. The temperature would permit more: give \`defaultCapW\` or \`maxCapW\` to consider it.`;
  return `Set the cap to ${powerCapW} W${whyNotMore[bindingConstraint] ?? ''}.`;
}

/** Why the cap is not another, where the temperature is not the reason. */
const whyNotMore: Partial<Record<CapChoice['bindingConstraint'], string>> = {
  supply: ", all that the supply's budget leaves the package",
  objective: ', where the objective is best; more would be allowed',
  'min-throughput': ', the least that reaches the throughput asked for; more would be allowed',
  'min-cap': ', the lowest of use; more would be allowed',
};

/** What is set beside the cap. */
function beside({ fan, voltageOffsetMv }: ChoiceToSummarise): string {
  const settings = [
    ...(fan === undefined
      ? []
      : [
          `the fan at ${Math.round(fan.speedRpm)} rpm${fan.soundLevelDb === undefined ? '' : ` (${fan.soundLevelDb.toFixed(1)} dB)`}`,
        ]),
    ...(voltageOffsetMv === undefined ? [] : [`a voltage offset of ${formatNumber(voltageOffsetMv, 'mV')}`]),
  ];
  return settings.length === 0 ? '' : `With it ${settings.join(' and ')}.`;
}

/** What is reached of an objective that is not the frequency, and what of it the cap costs. */
function workOf({ objective, cost }: ChoiceToSummarise): string {
  if (objective.name === 'frequency' || objective.reached.kind === 'unavailable') return '';
  const name = objectiveInWords[objective.name];
  const capital = name.charAt(0).toUpperCase() + name.slice(1);
  const lost = cost?.throughputLossFraction;
  const against =
    lost?.kind === 'estimated' && Math.abs(lost.value) >= 5e-4
      ? `; the throughput is ${(Math.abs(lost.value) * 100).toFixed(1)} % ${lost.value > 0 ? 'below' : 'above'} what the default cap gives`
      : '';
  return `${capital}: ${formatEstimate(objective.reached, objective.unit)}${against}.`;
}

function temperatureOf(choice: ChoiceToSummarise): string {
  const { scenario, cooler, steadyTemperatureC } = choice;
  const room = `in a room of ${describeInput(scenario.ambientC, '°C')}`;
  const { enclosure } = scenario;
  const load = choice.loads === undefined ? '' : ', at the hottest of its loads,';
  const place =
    enclosure === undefined
      ? `On an open bench ${room}`
      : `In an enclosure that adds ${describeInput(enclosure.riseK, 'K')}${enclosure.atPowerW === undefined ? '' : ` at ${formatNumber(enclosure.atPowerW)} W`}, ${room},`;
  const what = scenario.limitAppliesTo === 'peak' ? ' even at its peaks' : '';
  const numbers =
    steadyTemperatureC.kind === 'estimated'
      ? ` (mean ${steadyTemperatureC.value.toFixed(1)} °C, ${steadyTemperatureC.interval95[0].toFixed(1)} to ${steadyTemperatureC.interval95[1].toFixed(1)} °C)`
      : '';
  return `${place} the processor under '${cooler}'${load} stays at or below ${formatNumber(scenario.limitC)} °C${what} with ${percent(scenario.confidence)} confidence${numbers}.`;
}

function frequencyOf({ frequencyMHz, cost }: ChoiceToSummarise): string {
  if (frequencyMHz.kind === 'unavailable') return '';
  const cores = `Cores run at ${formatEstimate(frequencyMHz, 'MHz')}`;
  if (cost === undefined || cost.lossFraction.kind === 'unavailable') return `${cores}.`;
  const { defaultCapW, heldAtLimit, sustainedPowerW, chanceOfPassingLimit } = cost;
  const loss = cost.lossFraction.value;
  if (Math.abs(loss) < 5e-4)
    return `${cores}; next to nothing is lost against the default cap of ${defaultCapW} W.`;
  const amount = `${(Math.abs(loss) * 100).toFixed(1)} % ${loss > 0 ? 'below' : 'above'}`;
  const against = heldAtLimit
    ? `what the default cap of ${defaultCapW} W sustains here, held at the limit at about ${sustainedPowerW.toFixed(0)} W`
    : `the default cap of ${defaultCapW} W, which exceeds the limit with a chance of ${roughPercent(chanceOfPassingLimit)}`;
  return `${cores}, ${amount} ${against}.`;
}

function rangeOf({ steadyTemperatureC }: ChoiceToSummarise): string {
  const outside = steadyTemperatureC.kind === 'estimated' && steadyTemperatureC.extrapolated === true;
  return outside ? 'The cap lies outside the powers this cooler was logged at (extrapolated).' : '';
}

/** Whole percents, and one digit below them: a chance is not known better. */
function roughPercent(chance: number): string {
  return `${chance >= 0.01 ? Math.round(100 * chance) : Number((100 * chance).toPrecision(1))} %`;
}
