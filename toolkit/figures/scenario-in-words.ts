import type { SettledScenario, UncertainInput } from '../cap/scenario/cap-scenario.js';
import { formatNumber } from '../numerics/format-estimate.js';

/** What a cap was chosen for, in one line: confidence, room, enclosure. */
export function scenarioInWords(
  scenario: Pick<SettledScenario, 'ambientC' | 'enclosure'> &
    Partial<Pick<SettledScenario, 'confidence' | 'limitAppliesTo'>>,
): string {
  const { enclosure } = scenario;
  const where =
    enclosure === undefined
      ? 'open bench'
      : `enclosure adds ${inputInWords(enclosure.riseK, 'K', 'K')}${enclosure.atPowerW === undefined ? '' : ` at ${formatNumber(enclosure.atPowerW, 'W')}`}`;
  const confidence =
    scenario.confidence === undefined ? '' : `${formatNumber(scenario.confidence * 100)} % confidence, `;
  const peak = scenario.limitAppliesTo === 'peak' ? ' The limit holds for peaks.' : '';
  return `${confidence}room ${inputInWords(scenario.ambientC, '°C', 'K')}, ${where}.${peak}`;
}

/** An uncertain input in words. */
function inputInWords(input: UncertainInput, unit: string, differenceUnit: string): string {
  if (typeof input === 'number') return formatNumber(input, unit);
  if ('low' in input) return `${formatNumber(input.low)} to ${formatNumber(input.high, unit)}`;
  return `${formatNumber(input.mean, unit)} (standard deviation ${formatNumber(input.standardDeviation, differenceUnit)})`;
}
