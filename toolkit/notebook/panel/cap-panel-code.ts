import type { CapScenario } from '../../cap/scenario/cap-scenario.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { changeOf } from './cap-panel-controls.js';
import type { PanelSetting } from './panel-model.js';

/** The setting as a cell: the scenario with the numbers of the controls. */
export function codeOf(scenario: CapScenario, setting: PanelSetting): string {
  const { enclosure, fan, voltageOffset, ...rest } = { ...scenario, ...changeOf(scenario, setting) };
  const plain = Object.entries({
    ...rest,
    ...(enclosure === undefined ? {} : { enclosure }),
    ...(voltageOffset === undefined ? {} : { voltageOffset }),
  }).filter(([, value]) => value !== undefined);
  const lines = plain.map(([name, value]) => `  ${name}: ${asCode(value)},`);
  if (fan !== undefined) {
    const { curve, ...others } = fan;
    lines.push(`  fan: { ${curve === undefined ? '' : 'curve: fanCurve, '}${asCode(others).slice(2)},`);
  }
  return [
    `// a cap of ${formatNumber(setting['powerCapW']!, 'W')} was set by hand`,
    'const choice = kpw.chooseCap(cooler, curve, {',
    ...lines,
    '});',
    'choice',
  ].join('\n');
}

function asCode(value: unknown): string {
  if (typeof value !== 'object' || value === null) return JSON.stringify(value);
  if (Array.isArray(value)) return `[${value.map(asCode).join(', ')}]`;
  return `{ ${Object.entries(value)
    .filter(([, part]) => part !== undefined)
    .map(([name, part]) => `${name}: ${asCode(part)}`)
    .join(', ')} }`;
}
