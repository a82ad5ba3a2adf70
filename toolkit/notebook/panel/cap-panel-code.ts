import type { CapScenario } from '../../cap/scenario/cap-scenario.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { type CapPanelData, changeOf } from './cap-panel-controls.js';
import type { PanelSetting } from './panel-model.js';

/**
 * The setting as a cell: the scenario with the numbers of the controls, what the cap set by hand comes to in it, and the
 * cap that is recommended, both to the last digit as the panel has them. Models are called as `explore` was given them.
 */
export function codeOf({ curve, scenario }: CapPanelData, setting: PanelSetting): string {
  const powerCapW = setting['powerCapW'];
  const models = `cooler, ${curve === undefined ? 'undefined' : 'curve'}`;
  return [
    `const whatIf = kpw.createWhatIf(${models}, {`,
    ...scenarioLines({ ...scenario, ...changeOf(scenario, setting) }),
    '});',
    `kpw.show(whatIf.at(${powerCapW})); // ${formatNumber(powerCapW, 'W')} set by hand`,
    `kpw.chooseCap(${models}, whatIf.scenario) // what is recommended here`,
  ].join('\n');
}

function scenarioLines({ fan, ...rest }: CapScenario): readonly string[] {
  const lines = Object.entries(rest)
    .filter(([, value]) => value !== undefined)
    .map(([name, value]) => `  ${name}: ${asCode(value)},`);
  if (fan === undefined) return lines;
  const { curve, ...others } = fan;
  return [...lines, `  fan: { ${curve === undefined ? '' : 'curve: fanCurve, '}${asCode(others).slice(2)},`];
}

function asCode(value: unknown): string {
  if (typeof value !== 'object' || value === null) return JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map(asCode).join(', ')}]`;
  return `{ ${Object.entries(value)
    .filter(([, part]) => part !== undefined)
    .map(([name, part]) => `${name}: ${asCode(part)}`)
    .join(', ')} }`;
}
