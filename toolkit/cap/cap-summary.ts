import { formatEstimate, formatNumber } from '../numerics/format-estimate.js';
import { percent } from './cap-at-confidence.js';
import type { CapChoice } from './cap-choice.js';
import { describeInput } from './uncertain-input.js';

/** The choice in a few plain sentences. */
export function summariseCap(choice: Omit<CapChoice, 'summary'>, provisionalBecause?: string): string {
  return [
    provisionalBecause === undefined ? '' : `Provisional, because ${provisionalBecause}.`,
    settingOf(choice),
    temperatureOf(choice),
    frequencyOf(choice),
    rangeOf(choice),
  ]
    .filter((part) => part !== '')
    .join(' ');
}

function settingOf({ powerCapW, bindingConstraint, scenario }: Omit<CapChoice, 'summary'>): string {
  if (bindingConstraint === 'default-cap' && powerCapW === scenario.defaultCapW)
    return `The default cap of ${powerCapW} W can stay.`;
  if (bindingConstraint === 'default-cap')
    return `Set the cap to ${powerCapW} W, the highest step within the default cap of ${scenario.defaultCapW} W.`;
  if (bindingConstraint === 'max-cap')
    return `Set the cap to ${powerCapW} W, the highest allowed here; the temperature would permit more.`;
  if (bindingConstraint === 'tested-range')
    return `Set the cap to ${powerCapW} W, the highest step within the powers logged. The temperature would permit more: give \`defaultCapW\` or \`maxCapW\` to consider it.`;
  return `Set the cap to ${powerCapW} W.`;
}

function temperatureOf(choice: Omit<CapChoice, 'summary'>): string {
  const { scenario, cooler, steadyTemperatureC } = choice;
  const room = `in a room of ${describeInput(scenario.ambientC, '°C')}`;
  const { enclosure } = scenario;
  const place =
    enclosure === undefined
      ? `On an open bench ${room}`
      : `In an enclosure that adds ${describeInput(enclosure.riseK, 'K')}${enclosure.atPowerW === undefined ? '' : ` at ${formatNumber(enclosure.atPowerW)} W`}, ${room},`;
  const what = scenario.limitAppliesTo === 'peak' ? ' even at its peaks' : '';
  const numbers =
    steadyTemperatureC.kind === 'estimated'
      ? ` (mean ${steadyTemperatureC.value.toFixed(1)} °C, ${steadyTemperatureC.interval95[0].toFixed(1)} to ${steadyTemperatureC.interval95[1].toFixed(1)} °C)`
      : '';
  return `${place} the processor under '${cooler}' stays at or below ${formatNumber(scenario.limitC)} °C${what} with ${percent(scenario.confidence)} confidence${numbers}.`;
}

function frequencyOf({ frequencyMHz, cost }: Omit<CapChoice, 'summary'>): string {
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
    : `the default cap of ${defaultCapW} W, which passes the limit with a chance of ${roughPercent(chanceOfPassingLimit)}`;
  return `${cores}, ${amount} ${against}.`;
}

function rangeOf({ steadyTemperatureC }: Omit<CapChoice, 'summary'>): string {
  const outside = steadyTemperatureC.kind === 'estimated' && steadyTemperatureC.extrapolated === true;
  return outside ? 'The cap lies outside the powers this cooler was logged at (extrapolated).' : '';
}

/** Whole percents, and one digit below them: a chance is not known better. */
function roughPercent(chance: number): string {
  return `${chance >= 0.01 ? Math.round(100 * chance) : Number((100 * chance).toPrecision(1))} %`;
}
