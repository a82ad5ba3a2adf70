import { type DemoRun, demoRuns, fanSpeedRuns, undervoltRuns } from './demo-runs.js';
import { fanSpeedTruth } from './fan-speed-truth.js';
import type { RigLog } from './logger.js';
import { simulateRig } from './rig.js';
import { demoTruth, truthTables } from './truth.js';
import { undervoltTruth } from './undervolt-truth.js';
import { writeLog } from './writer.js';

/** Every generated file of the demo by its path in the folder: the logs, the conditions beside them, the truth. */
export function demoFiles(): ReadonlyMap<string, string> {
  return new Map([
    ...filesOf('', demoRuns, demoTruth),
    ...filesOf('undervolt/', undervoltRuns, undervoltTruth),
    ...filesOf('fan-speeds/', fanSpeedRuns, fanSpeedTruth),
  ]);
}

function filesOf(
  folder: string,
  runs: readonly DemoRun[],
  truthOf: (logs: readonly RigLog[]) => object,
): ReadonlyMap<string, string> {
  const files = new Map<string, string>();
  const logs = runs.map((run) => simulateRig(run.parameters, run.seed));
  for (const [index, run] of runs.entries()) {
    files.set(`${folder}${run.name}.csv`, writeLog(logs[index], run.dialect));
    files.set(`${folder}${run.name}.conditions.json`, json(run.conditions));
  }
  files.set(`${folder}truth.json`, json(truthOf(logs)));
  return files;
}

const tablesFrom = '<!-- truth: written by generate.ts -->';
const tablesTo = '<!-- end of truth -->';

/** The README with its tables of the truth brought up to date. */
export function withTruthTables(readme: string, truths: Parameters<typeof truthTables>[0]): string {
  const from = readme.indexOf(tablesFrom);
  const to = readme.indexOf(tablesTo);
  if (from < 0 || to < from)
    throw new Error(`README.md: the marks ${tablesFrom} and ${tablesTo} are missing`);
  return `${readme.slice(0, from + tablesFrom.length)}\n\n${truthTables(truths)}\n\n${readme.slice(to)}`;
}

/** Rounded to nine digits, so that the last bits of a logarithm do not matter. */
function json(value: object): string {
  const rounded = (_key: string, item: unknown): unknown =>
    typeof item === 'number' ? Number(item.toPrecision(9)) : item;
  return `${JSON.stringify(value, rounded, 2)}\n`;
}
