import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { LogFormatError, type LogIssue } from '../log-format-error.js';

/** Which sensor gives which column, by `device/label` as the kernel names them, where it is not the only one. */
export interface SensorChoice {
  /** Die or package temperature. */
  readonly temperature?: string;
  /** Energy counter of the package. */
  readonly power?: string;
  /** Air at the cooler's intake. */
  readonly ambient?: string;
  readonly fanSpeed?: string;
  readonly voltage?: string;
}

/** What a sensor measures. */
export type SensorKind = 'temperature' | 'fan' | 'voltage' | 'energy';

/** One file of the kernel that holds a reading. */
export interface Sensor {
  readonly kind: SensorKind;
  /** `device/label`, as the kernel's `name` and `label` files have them. */
  readonly id: string;
  readonly label: string;
  /** The file with the reading. */
  readonly path: string;
}

/** The sensors that a recording reads. */
export interface RecordSensors {
  readonly temperature: Sensor;
  readonly power: Sensor;
  /** Where the energy counter begins anew, µJ; it counts up to here and goes on at 0. */
  readonly energyRangeMicroJ: number;
  readonly ambient?: Sensor;
  readonly fanSpeed?: Sensor;
  readonly voltage?: Sensor;
  /** The files with the frequency of each processor, kHz. */
  readonly frequencyPaths: readonly string[];
  /** The cap that the kernel holds the package to, W, where it says. */
  readonly powerCapW?: number;
  /** What was left out, and what to do for it; one sentence each. */
  readonly notes: readonly string[];
}

/** Prefix of the files of each kind of hardware monitor [KernelHwmon]. */
const HWMON_FILES: readonly (readonly [kind: SensorKind, pattern: RegExp])[] = [
  ['temperature', /^(temp\d+)_input$/],
  ['fan', /^(fan\d+)_input$/],
  ['voltage', /^(in\d+)_input$/],
];

const OF_PACKAGE = /\b(?:package|die|tdie|processor|cpu)\b/i;
const OF_AIR = /\b(?:ambient|intake|inlet|room|air)\b/i;
const OF_CORE_VOLTAGE = /\b(?:vcore|core|cpu|processor)\b/i;

/** Everything the kernel offers, in the order of its names. */
export function findSensors(sysfs: string): readonly Sensor[] {
  const hwmon = join(sysfs, 'class', 'hwmon');
  const monitors = namesIn(hwmon).flatMap((folder) => {
    const device = textOf(join(hwmon, folder, 'name')) ?? folder;
    return namesIn(join(hwmon, folder)).flatMap((file) =>
      HWMON_FILES.flatMap(([kind, pattern]): Sensor[] => {
        const stem = pattern.exec(file)?.[1];
        if (stem === undefined) return [];
        const label = textOf(join(hwmon, folder, `${stem}_label`)) ?? stem;
        return [{ kind, id: `${device}/${label}`, label, path: join(hwmon, folder, file) }];
      }),
    );
  });
  const powercap = join(sysfs, 'class', 'powercap');
  const counters = namesIn(powercap)
    .filter((zone) => namesIn(join(powercap, zone)).includes('energy_uj'))
    .map((zone): Sensor => {
      const label = textOf(join(powercap, zone, 'name')) ?? zone;
      return { kind: 'energy', id: `powercap/${label}`, label, path: join(powercap, zone, 'energy_uj') };
    });
  return [...monitors, ...counters];
}

/**
 * Chooses the sensors: the one that was asked for, else the only one that its label says is meant.
 *
 * @param sysfs - where the kernel shows its files: `/sys`
 * @throws LogFormatError if temperature or power cannot be read, or could be several: it lists them with the option
 */
export function chooseSensors(sysfs: string, choice: SensorChoice): RecordSensors {
  const all = findSensors(sysfs);
  const issues: LogIssue[] = [];
  const notes: string[] = [];
  const of = (kind: SensorKind): readonly Sensor[] => all.filter((sensor) => sensor.kind === kind);
  const required = (
    role: 'temperature' | 'power',
    kind: SensorKind,
    isMeant: (sensor: Sensor) => boolean,
    whereFrom: string,
  ): Sensor | undefined => {
    const sensor = chosenOrOnly(choice[role], of(kind), isMeant);
    if (sensor === undefined) issues.push(withoutSensor(role, choice[role], of(kind), whereFrom));
    return sensor;
  };
  const optional = (
    role: 'ambient' | 'fanSpeed' | 'voltage',
    kind: SensorKind,
    isMeant: (sensor: Sensor) => boolean,
    takesOnly: boolean,
  ): Sensor | undefined => {
    const candidates = of(kind);
    const sensor = chosenOrOnly(choice[role], candidates, isMeant, takesOnly);
    if (sensor === undefined && choice[role] !== undefined)
      issues.push(withoutSensor(role, choice[role], candidates, 'hardware monitor'));
    else if (sensor === undefined && candidates.length > 0 && role !== 'ambient')
      notes.push(
        `${role} is not recorded: write the option sensors: { ${role}: '…' } with one of ${listed(candidates)}.`,
      );
    // One that was asked for must answer; one that was only found may be broken without anybody minding.
    if (sensor !== undefined && choice[role] === undefined && !holdsNumber(sensor.path)) {
      notes.push(`${role} is not recorded: ${sensor.id} (${sensor.path}) does not answer.`);
      return undefined;
    }
    return sensor;
  };
  const temperature = required(
    'temperature',
    'temperature',
    ({ label }) => OF_PACKAGE.test(label),
    `hardware monitors under ${join(sysfs, 'class', 'hwmon')}`,
  );
  const power = required(
    'power',
    'energy',
    ({ label }) => /^package/i.test(label),
    `energy counters under ${join(sysfs, 'class', 'powercap')}`,
  );
  const ambient = optional('ambient', 'temperature', ({ label }) => OF_AIR.test(label), false);
  const fanSpeed = optional('fanSpeed', 'fan', ({ label }) => OF_PACKAGE.test(label), true);
  const voltage = optional('voltage', 'voltage', ({ label }) => OF_CORE_VOLTAGE.test(label), false);
  if (temperature === undefined || power === undefined || issues.length > 0) throw new LogFormatError(issues);

  const zone = join(power.path, '..');
  const rangePath = join(zone, 'max_energy_range_uj');
  const energyRangeMicroJ = Number(textOf(rangePath) ?? Number.NaN);
  if (!(energyRangeMicroJ > 0)) throw unreadable(rangePath, 'it says where the energy counter begins anew');
  const capMicroW = Number(textOf(join(zone, 'constraint_0_power_limit_uw')) ?? Number.NaN);
  const processors = join(sysfs, 'devices', 'system', 'cpu');
  const frequencyPaths = namesIn(processors)
    .filter((name) => /^cpu\d+$/.test(name))
    .map((name) => join(processors, name, 'cpufreq', 'scaling_cur_freq'))
    .filter(holdsNumber);
  if (frequencyPaths.length === 0)
    notes.push(
      `Frequency is not recorded: there is no ${join(processors, 'cpu0', 'cpufreq', 'scaling_cur_freq')}.`,
    );
  return {
    temperature,
    power,
    energyRangeMicroJ,
    ...(ambient === undefined ? {} : { ambient }),
    ...(fanSpeed === undefined ? {} : { fanSpeed }),
    ...(voltage === undefined ? {} : { voltage }),
    frequencyPaths,
    ...(capMicroW > 0 ? { powerCapW: capMicroW / 1e6 } : {}),
    notes,
  };
}

function chosenOrOnly(
  wanted: string | undefined,
  candidates: readonly Sensor[],
  isMeant: (sensor: Sensor) => boolean,
  takesOnly = true,
): Sensor | undefined {
  const fitting =
    wanted === undefined
      ? candidates.filter(isMeant)
      : candidates.filter(({ id, label, path }) => [id, label, path].includes(wanted));
  if (fitting.length === 1) return fitting[0];
  return wanted === undefined && takesOnly && fitting.length === 0 && candidates.length === 1
    ? candidates[0]
    : undefined;
}

function withoutSensor(
  role: string,
  wanted: string | undefined,
  candidates: readonly Sensor[],
  whereFrom: string,
): LogIssue {
  if (candidates.length === 0) {
    return {
      code: 'no-sensor',
      message: `there are no ${whereFrom}`,
      remedy:
        role === 'power'
          ? 'recording needs a kernel that counts the energy of the package; a virtual machine shows none'
          : 'recording needs a kernel that shows the temperature of the processor; a virtual machine shows none',
    };
  }
  return {
    code: 'ambiguous-sensor',
    message:
      wanted === undefined
        ? `${candidates.length} sensors could be ${role}: ${listed(candidates)}`
        : `${candidates.some(({ id, label }) => [id, label].includes(wanted)) ? 'several sensors are' : 'no sensor is'} ${JSON.stringify(wanted)}, chosen for ${role}; there are ${listed(candidates)}`,
    remedy: `write the option sensors: { ${role}: '${candidates[0].id}' } with the one you mean, or its file`,
  };
}

function listed(sensors: readonly Sensor[]): string {
  return sensors.map(({ id, path }) => `${id} (${path})`).join(', ');
}

/** That a file of the kernel cannot be read, and what to do. */
export function unreadable(path: string, why: string, error?: unknown): LogFormatError {
  const code = error instanceof Error && 'code' in error ? String(error.code) : 'ENOENT';
  const isRight = code === 'EACCES' || code === 'EPERM';
  return new LogFormatError([
    {
      code: isRight ? 'no-permission' : 'no-reading',
      source: path,
      message: isRight ? 'this file may not be read' : `there is no reading here; ${why}`,
      remedy: isRight
        ? `let everybody read it until the next start: sudo chmod a+r ${path}`
        : 'check the sensor, or choose another one by the option sensors',
    },
  ]);
}

function holdsNumber(path: string): boolean {
  const text = textOf(path);
  return text !== undefined && text !== '' && Number.isFinite(Number(text));
}

function namesIn(folder: string): readonly string[] {
  try {
    return readdirSync(folder).sort((a, b) => a.localeCompare(b, 'en', { numeric: true }));
  } catch {
    return [];
  }
}

function textOf(path: string): string | undefined {
  try {
    return readFileSync(path, 'utf8').trim();
  } catch {
    return undefined;
  }
}
