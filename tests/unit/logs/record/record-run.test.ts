import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { chmodSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { setTimeout as wait } from 'node:timers/promises';
import { pathToFileURL } from 'node:url';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readRun } from '../../../../toolkit/logs/read/read-run-node.js';
import type { RecordOptions } from '../../../../toolkit/logs/record/record-options.js';
import { chooseSensors, findSensors } from '../../../../toolkit/logs/record/record-sensors.js';

// The load runs on worker threads, which need the built toolkit.
const built = 'dist/toolkit/logs/record/';
if (!existsSync(`${built}record-run.js`))
  throw new Error('worker threads run the built toolkit: run `npm run build` first');
const { record } = (await import(
  pathToFileURL(resolve(`${built}record-run.js`)).href
)) as typeof import('../../../../toolkit/logs/record/record-run.js');
const { RecordLoad } = (await import(
  pathToFileURL(resolve(`${built}record-load.js`)).href
)) as typeof import('../../../../toolkit/logs/record/record-load.js');
const { runRecord } = (await import(
  pathToFileURL(resolve(`${built}record-command.js`)).href
)) as typeof import('../../../../toolkit/logs/record/record-command.js');

let folder: string;
let sysfs: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-'));
  sysfs = join(folder, 'sys');
});
afterEach(() => rmSync(folder, { recursive: true }));

/** The smallest tree that can be recorded from, as the kernel's documentation names the files; with more or other files. */
function tree(files: Readonly<Record<string, string | number | undefined>> = {}): void {
  const all: Readonly<Record<string, string | number | undefined>> = {
    'class/hwmon/hwmon0/name': 'board',
    'class/hwmon/hwmon0/temp1_input': 31_000,
    'class/hwmon/hwmon0/fan1_input': 1240,
    'class/hwmon/hwmon1/name': 'stagetemp',
    'class/hwmon/hwmon1/temp1_input': 54_500,
    'class/hwmon/hwmon1/temp1_label': 'Package id 0',
    'class/hwmon/hwmon1/temp2_input': 52_000,
    'class/hwmon/hwmon1/temp2_label': 'Core 0',
    'class/powercap/zone:0/name': 'package-0',
    'class/powercap/zone:0/energy_uj': 1_000_000,
    'class/powercap/zone:0/max_energy_range_uj': 262_143_328_850,
    'class/powercap/zone:0/constraint_0_power_limit_uw': 118_000_000,
    'class/powercap/zone:0:0/name': 'core',
    'class/powercap/zone:0:0/energy_uj': 500_000,
    'devices/system/cpu/cpu0/cpufreq/scaling_cur_freq': 4_000_000,
    'devices/system/cpu/cpu1/cpufreq/scaling_cur_freq': 3_900_000,
    ...files,
  };
  for (const [path, text] of Object.entries(all)) {
    if (text === undefined) continue;
    mkdirSync(dirname(join(sysfs, path)), { recursive: true });
    writeFileSync(join(sysfs, path), `${text}\n`);
  }
}
const set = (path: string, value: number): void => writeFileSync(join(sysfs, path), `${value}\n`);
const QUICK = { durationS: 0.5, intervalS: 0.1 } as const;
const log = (): string => join(folder, 'drawer.csv');
const recorded = (options: Partial<RecordOptions> = {}) => record(log(), { ...QUICK, sysfs, ...options });

describe('record', () => {
  it('writes a log that readRun reads, with units in its header, and the conditions beside it', async () => {
    tree();
    let energy = 1_000_000;
    const result = await recorded({
      conditions: { cooler: 'flat 58 mm', ambientC: 23 },
      onSample: () => {
        energy += 9_500_000;
        set('class/powercap/zone:0/energy_uj', energy);
      },
    });
    expect(result).toMatchObject({
      reason: 'finished',
      sampleCount: 5,
      highestTemperatureC: 54.5,
      sensors: { temperature: 'stagetemp/Package id 0', power: 'powercap/package-0', fanSpeed: 'board/fan1' },
      notes: [],
    });
    const lines = readFileSync(log(), 'utf8').split('\n');
    expect(lines[0]).toBe('time_s,temperature_c,power_w,frequency_mhz,fan_speed_rpm');
    expect(lines[1]).toMatch(/^0\.(?:099|1\d\d),54\.500,0\.000,3950\.0,1240$/);
    const run = await readRun(log());
    expect(run.timeS).toHaveLength(5);
    expect(run.conditions).toEqual({ powerCapW: 118, cooler: 'flat 58 mm', ambientC: 23 });
    // 9.5 J between two samples; the log holds milliseconds and milliwatts.
    for (let i = 1; i < 5; i++) expect(run.powerW[i] * (run.timeS[i] - run.timeS[i - 1])).toBeCloseTo(9.5, 0);
  });

  it('counts on over the end of the energy counter', async () => {
    tree({
      'class/powercap/zone:0/max_energy_range_uj': 10_000_000,
      'class/powercap/zone:0/energy_uj': 9_000_000,
    });
    const energies = [4_000_000, 9_000_000, 4_000_000, 9_000_000];
    const energiesJ: number[] = [];
    let beforeS = 0;
    await recorded({
      onSample: ({ powerW, timeS }) => {
        energiesJ.push(powerW! * (timeS - beforeS));
        beforeS = timeS;
        const next = energies.shift();
        if (next !== undefined) set('class/powercap/zone:0/energy_uj', next);
      },
    });
    // Each step is 5 J, upward or over the end, in whatever time it took.
    expect(energiesJ[0]).toBe(0);
    for (const energyJ of energiesJ.slice(1)) expect(energyJ).toBeCloseTo(5, 6);
  });

  it('keeps a steady rate that does not drift', async () => {
    tree();
    const times: number[] = [];
    await recorded({ durationS: 1, intervalS: 0.05, onSample: ({ timeS }) => times.push(timeS) });
    // A timer may ring a millisecond early. Every sample has an interval of its own behind it, however late others were.
    for (const [i, time] of times.entries()) expect(time).toBeGreaterThan(0.05 * (i + 1) - 0.003);
    // On a busy machine some are late; lateness that was handed on would make all of the last ones so.
    const late = times.slice(-8).map((time) => time / 0.05 - Math.floor(time / 0.05 + 0.1));
    expect(Math.min(...late)).toBeLessThan(0.5);
    expect(times.at(-1)).toBeGreaterThan(0.97);
  });

  it('loads the cores and counts the work, between rest before and after; cautions come first', async () => {
    tree();
    const cautions: string[] = [];
    const works: number[] = [];
    const result = await recorded({
      load: { threadCount: 1 },
      durationS: 1.2,
      intervalS: 0.2,
      idleBeforeS: 0.4,
      idleAfterS: 0.4,
      onCaution: (caution) => cautions.push(caution),
      onSample: ({ throughputPerS }) => works.push(throughputPerS!),
    });
    expect(cautions).toHaveLength(3);
    expect(cautions.join(' ')).toContain('95 °C');
    expect(cautions.join(' ')).toContain("makers' limits come first");
    expect(result.sampleCount).toBeGreaterThanOrEqual(8);
    expect(works[0]).toBe(0);
    expect(Math.max(...works)).toBeGreaterThan(10);
    expect(works.at(-1)).toBe(0);
    expect(readFileSync(log(), 'utf8').split('\n')[0]).toContain('throughput_per_s');
  });

  it('stops load and recording when the limit is reached', async () => {
    tree();
    const result = await recorded({
      durationS: 30,
      load: { threadCount: 1 },
      idleBeforeS: 0,
      stopAtC: 80,
      onCaution: () => undefined,
      onSample: () => set('class/hwmon/hwmon1/temp1_input', 80_500),
    });
    expect(result).toMatchObject({ reason: 'over-temperature', highestTemperatureC: 80.5, sampleCount: 2 });
    expect(readFileSync(log(), 'utf8').trim().split('\n').at(-1)).toContain(',80.500,');
  });

  it('looks at the temperature every second, however far apart the samples are', async () => {
    tree();
    setTimeout(() => set('class/hwmon/hwmon1/temp1_input', 97_000), 300);
    const began = performance.now();
    const result = await recorded({ durationS: 120, intervalS: 60 });
    expect(result).toMatchObject({ reason: 'over-temperature', sampleCount: 1 });
    expect(performance.now() - began).toBeLessThan(10_000);
  });

  it('leaves whole lines behind when it is killed', async () => {
    tree();
    const child = spawn(process.execPath, [
      `${built}record-main.js`,
      ...[
        '--to',
        log(),
        '--minutes',
        '5',
        '--interval',
        '0.05',
        '--load',
        '--threads',
        '1',
        '--idle-before',
        '0',
      ],
      ...['--sysfs', sysfs],
    ]);
    const lines = (): number => (existsSync(log()) ? readFileSync(log(), 'utf8').split('\n').length : 0);
    while (lines() < 8) await wait(20);
    child.kill('SIGKILL');
    await once(child, 'exit');
    const text = readFileSync(log(), 'utf8');
    expect(text.endsWith('\n')).toBe(true);
    const widths = new Set(
      text
        .trimEnd()
        .split('\n')
        .map((line) => line.split(',').length),
    );
    expect(widths).toEqual(new Set([6]));
    expect((await readRun(log())).findings.filter(({ code }) => code.startsWith('row-'))).toEqual([]);
  });

  it('ends when the temperature falls silent, and when it is told to; what was recorded stays whole', async () => {
    tree();
    const silent = recorded({
      durationS: 30,
      onSample: () => writeFileSync(join(sysfs, 'class/hwmon/hwmon1/temp1_input'), ''),
    });
    await expect(silent).rejects.toThrow(
      'class/hwmon/hwmon1/temp1_input: there is no reading here; it holds "" where a number belongs',
    );
    expect(readFileSync(log(), 'utf8')).toMatch(/^time_s[^\n]*\n[^\n]+\n$/);
    set('class/hwmon/hwmon1/temp1_input', 54_000);
    rmSync(log());
    const ending = new AbortController();
    const result = await recorded({ durationS: 30, signal: ending.signal, onSample: () => ending.abort() });
    expect(result).toMatchObject({ reason: 'aborted', sampleCount: 1 });
  });

  it('stops the load too when the temperature falls silent', async () => {
    tree();
    const child = spawn(process.execPath, [
      `${built}record-main.js`,
      ...['--to', log(), '--minutes', '5', '--interval', '0.1', '--load', '--threads', '1'],
      ...['--idle-before', '0', '--sysfs', sysfs],
    ]);
    let said = '';
    child.stderr.on('data', (text: Buffer) => {
      said += String(text);
    });
    while (!existsSync(log()) || readFileSync(log(), 'utf8').split('\n').length < 4) await wait(20);
    writeFileSync(join(sysfs, 'class/hwmon/hwmon1/temp1_input'), '');
    // A thread that went on loading would keep the process alive.
    expect(await once(child, 'exit')).toEqual([1, null]);
    expect(said).toContain('temp1_input: there is no reading here');
  });

  it('goes on without any other sensor that falls silent: empty cells, one message, and values again when it answers', async () => {
    tree({ 'class/hwmon/hwmon0/in0_input': 1050, 'class/hwmon/hwmon0/in0_label': 'Vcore' });
    const files = [
      ['power', 'class/powercap/zone:0/energy_uj', '1000000'],
      ['frequency', 'devices/system/cpu/cpu0/cpufreq/scaling_cur_freq', '4000000'],
      ['frequency', 'devices/system/cpu/cpu1/cpufreq/scaling_cur_freq', '3900000'],
      ['fanSpeed', 'class/hwmon/hwmon0/fan1_input', '1240'],
      ['voltage', 'class/hwmon/hwmon0/in0_input', '1050'],
    ] as const;
    const write = (textOf: (text: string) => string): void => {
      for (const [, file, text] of files) writeFileSync(join(sysfs, file), textOf(text));
    };
    const said: string[] = [];
    let count = 0;
    const { notes, reason } = await recorded({
      durationS: 60,
      intervalS: 0.05,
      stopAtC: 90,
      onNote: (note) => said.push(note),
      onSample: () => {
        count++;
        if (count === 2) write(() => '');
        if (count === 5) write((text) => text);
        if (count === 8) set('class/hwmon/hwmon1/temp1_input', 91_000);
      },
    });
    expect(reason).toBe('over-temperature');
    expect(said).toHaveLength(4);
    expect(notes).toEqual(said);
    for (const [column, file] of files.filter((_, i) => i !== 2))
      expect(said.find((note) => note.startsWith(column))).toMatch(
        new RegExp(`^${column} fell silent and is empty in the log.*${file}: there is no reading here`),
      );
    const rows = readFileSync(log(), 'utf8').trim().split('\n').slice(1);
    const cells = rows.map((row) => row.split(',').slice(2).join(','));
    expect(cells).toEqual([
      ...Array(2).fill('0.000,3950.0,1240,1.050'),
      ...Array(3).fill(',,,'),
      // The counter may have begun anew meanwhile: its first count only says where it goes on from.
      ',3950.0,1240,1.050',
      ...Array(2).fill('0.000,3950.0,1240,1.050'),
      '0.000,3950.0,1240,1.050',
    ]);
    const run = await readRun(log());
    expect(run.timeS).toHaveLength(5);
    expect(run.findings.find(({ code }) => code === 'row-missing-value')?.count).toBe(4);
  });

  it('takes the mean frequency over the processors that answer', async () => {
    tree();
    const said: string[] = [];
    const frequencies: (number | undefined)[] = [];
    await recorded({
      onNote: (note) => said.push(note),
      onSample: ({ frequencyMHz }) => {
        frequencies.push(frequencyMHz);
        writeFileSync(join(sysfs, 'devices/system/cpu/cpu1/cpufreq/scaling_cur_freq'), '');
      },
    });
    expect(frequencies[0]).toBe(3950);
    expect(new Set(frequencies.slice(1))).toEqual(new Set([4000]));
    expect(said).toHaveLength(1);
  });

  it('does not take an energy counter that was set back for one that ran over', async () => {
    tree({ 'class/powercap/zone:0/energy_uj': 90_000_000_000 });
    const said: string[] = [];
    const powers: (number | undefined)[] = [];
    await recorded({
      onNote: (note) => said.push(note),
      onSample: ({ powerW }) => {
        powers.push(powerW);
        set('class/powercap/zone:0/energy_uj', 1000);
      },
    });
    // Over the end of the range it would have been 172 kJ in a tenth of a second.
    expect(said).toHaveLength(1);
    expect(said[0]).toContain(
      'the energy counter was set back from 90000000000 to 1000 µJ, as after standby',
    );
    expect(powers.slice(0, 3)).toEqual([0, undefined, 0]);
  });

  it('does not load what is too hot already', async () => {
    tree({ 'class/hwmon/hwmon1/temp1_input': 96_000 });
    const works: (number | undefined)[] = [];
    const { reason } = await recorded({
      load: { threadCount: 1 },
      intervalS: 0.4,
      idleBeforeS: 0,
      onCaution: () => undefined,
      onSample: ({ throughputPerS }) => works.push(throughputPerS),
    });
    expect(reason).toBe('over-temperature');
    expect(works).toEqual([0]);
  });

  it('loads only as long as somebody looks at the temperature', async () => {
    const load = new RecordLoad(1, 600);
    load.start();
    try {
      const watchUntil = async (isOver: () => boolean): Promise<void> => {
        while (!isOver()) {
          load.keepGoing();
          await wait(20);
        }
      };
      await watchUntil(() => load.pieceCount() > 0);
      const endMs = performance.now() + 900;
      await watchUntil(() => performance.now() > endMs);
      const before = load.pieceCount();
      await expect(
        (async () => {
          while (load.pieceCount() >= before) await wait(50);
        })(),
      ).rejects.toThrow('the temperature was not looked at for 0.6 s, and the load ended by itself');
    } finally {
      await load.stop();
    }
  });

  it('says why a log cannot be begun', async () => {
    tree();
    const into = (path: string) => record(join(folder, path), { ...QUICK, sysfs });
    await expect(into('gone/drawer.csv')).rejects.toThrow(
      'gone/drawer.csv: the folder of the log is not there; make it first',
    );
    await expect(into('sys')).rejects.toThrow('there is a file of this name already');
    await expect(into(`${'x'.repeat(300)}.csv`)).rejects.toThrow('the log cannot be written (ENAMETOOLONG');
  });

  it.skipIf(process.platform === 'win32')('keeps whole lines only where the disk takes no more', async () => {
    tree();
    // A bound on the size of files stands for a full disk: it cuts a line, then refuses the next.
    const script = `
      const { record } = await import(${JSON.stringify(pathToFileURL(resolve(`${built}record-run.js`)).href)});
      await record(${JSON.stringify(log())}, { durationS: 60, intervalS: 0.05, sysfs: ${JSON.stringify(sysfs)} })
        .catch((error) => console.log(error.message));`;
    const child = spawn('sh', [
      '-c',
      'ulimit -f 1; exec "$0" --input-type=module -e "$1"',
      process.execPath,
      script,
    ]);
    let said = '';
    child.stdout.on('data', (text: Buffer) => {
      said += String(text);
    });
    await once(child, 'close');
    expect(said).toContain('the disk is full; all lines before are whole; make room and record again');
    const text = readFileSync(log(), 'utf8');
    expect(text.endsWith('\n')).toBe(true);
    expect(text.split('\n').length).toBeGreaterThan(5);
  });

  it('never writes over a log or a conditions file', async () => {
    tree();
    writeFileSync(join(folder, 'drawer.conditions.json'), '{ "cooler": "tower 88 mm" }');
    const first = await recorded();
    expect(first.notes).toEqual([
      `${join(folder, 'drawer.conditions.json')} was there already and stays as it is: check that it describes this run.`,
    ]);
    expect(readFileSync(join(folder, 'drawer.conditions.json'), 'utf8')).toContain('tower 88 mm');
    await expect(recorded()).rejects.toThrow(
      'there is a file of this name already, and it is not written over; give another name',
    );
  });

  it('costs less than a hundredth of a core at one sample per second', async () => {
    const cores = Object.fromEntries(
      Array.from({ length: 24 }, (_, i) => [
        `devices/system/cpu/cpu${i}/cpufreq/scaling_cur_freq`,
        4_000_000,
      ]),
    );
    tree(cores);
    await recorded({ durationS: 0.2, intervalS: 0.05 });
    rmSync(log());
    const before = process.cpuUsage();
    // Twenty samples a second, so that twenty seconds' worth is measured in one.
    const { sampleCount } = await recorded({ durationS: 1, intervalS: 0.05 });
    const { user, system } = process.cpuUsage(before);
    const secondsPerSample = (user + system) / 1e6 / sampleCount;
    expect(secondsPerSample).toBeLessThan(0.01);
  });

  it('names an option at fault', async () => {
    tree();
    await expect(recorded({ durationS: 0 })).rejects.toThrow(
      'record: `options.durationS` must be a finite number above 0',
    );
    await expect(recorded({ stopAtC: 130 })).rejects.toThrow(
      '`options.stopAtC` must be a finite number at least 30 and at most 110 (received 130)',
    );
    await expect(recorded({ load: { threadCount: 0 } })).rejects.toThrow(
      '`options.load.threadCount` must be a whole number from 1 to 1024',
    );
    await expect(recorded({ duration: 5 } as never)).rejects.toThrow('did you mean durationS?');
    await expect(recorded({ sensors: { temp: 'x' } as never })).rejects.toThrow(
      '`options.sensors.temp` must be one of',
    );
    await expect(recorded({ conditions: { ambientC: 250 } })).rejects.toThrow('ambientC');
    await expect(record('', QUICK)).rejects.toThrow('`path` must be the path of the log to write');
    expect(existsSync(log())).toBe(false);
  });
});

describe('the sensors of a machine', () => {
  it('are listed as the kernel names them', () => {
    tree();
    expect(findSensors(sysfs).map(({ kind, id }) => `${kind} ${id}`)).toEqual([
      'fan board/fan1',
      'temperature board/temp1',
      'temperature stagetemp/Package id 0',
      'temperature stagetemp/Core 0',
      'energy powercap/package-0',
      'energy powercap/core',
    ]);
  });

  it('are asked for where several could be meant', () => {
    tree({ 'class/hwmon/hwmon1/temp1_label': 'sensor a' });
    expect(() => chooseSensors(sysfs, {})).toThrow(
      `3 sensors could be temperature: board/temp1 (${join(sysfs, 'class/hwmon/hwmon0/temp1_input')}), stagetemp/sensor a`,
    );
    expect(() => chooseSensors(sysfs, {})).toThrow(
      "write the option sensors: { temperature: 'board/temp1' } with the one you mean",
    );
    expect(chooseSensors(sysfs, { temperature: 'stagetemp/sensor a' }).temperature.label).toBe('sensor a');
    expect(() => chooseSensors(sysfs, { temperature: 'nowhere' })).toThrow(
      'no sensor is "nowhere", chosen for temperature',
    );
    tree({
      'class/powercap/zone:1/name': 'package-1',
      'class/powercap/zone:1/energy_uj': 5,
      'class/powercap/zone:1/max_energy_range_uj': 10,
    });
    expect(() => chooseSensors(sysfs, {})).toThrow('3 sensors could be power');
    expect(chooseSensors(sysfs, { power: 'package-1' }).energyRangeMicroJ).toBe(10);
  });

  it('that are optional are left out with a note where they are in doubt, and taken where they are plain', () => {
    tree({
      'class/hwmon/hwmon0/fan2_input': 900,
      'class/hwmon/hwmon0/in0_input': 1050,
      'class/hwmon/hwmon0/in0_label': 'Vcore',
      'class/hwmon/hwmon0/temp5_input': 23_400,
      'class/hwmon/hwmon0/temp5_label': 'Intake air',
    });
    const sensors = chooseSensors(sysfs, {});
    expect(sensors.voltage?.id).toBe('board/Vcore');
    expect(sensors.ambient?.id).toBe('board/Intake air');
    expect(sensors.fanSpeed).toBeUndefined();
    expect(sensors.notes).toEqual([
      `fanSpeed is not recorded: write the option sensors: { fanSpeed: '…' } with one of board/fan1 (${join(sysfs, 'class/hwmon/hwmon0/fan1_input')}), board/fan2 (${join(sysfs, 'class/hwmon/hwmon0/fan2_input')}).`,
    ]);
  });

  it('that are optional and do not answer are left out with a note, unless they were asked for', async () => {
    tree({ 'class/hwmon/hwmon0/fan1_input': '' });
    const { fanSpeed, notes } = chooseSensors(sysfs, {});
    expect(fanSpeed).toBeUndefined();
    const path = join(sysfs, 'class/hwmon/hwmon0/fan1_input');
    expect(notes).toEqual([`fanSpeed is not recorded: board/fan1 (${path}) does not answer.`]);
    await expect(recorded({ sensors: { fanSpeed: 'fan1' } })).rejects.toThrow(
      `${path}: there is no reading here; it holds "" where a number belongs`,
    );
    expect(existsSync(log())).toBe(false);
  });

  it('that are missing are named with what to do', () => {
    tree({ 'class/powercap/zone:0/max_energy_range_uj': undefined });
    expect(() => chooseSensors(sysfs, {})).toThrow(
      'max_energy_range_uj: there is no reading here; it says where the energy counter begins anew',
    );
    expect(() => chooseSensors(join(folder, 'nothing'), {})).toThrow('there are no energy counters under');
    expect(() => chooseSensors(join(folder, 'nothing'), {})).toThrow('there are no hardware monitors under');
  });

  it.skipIf(process.getuid?.() === 0)('that may not be read are named with the remedy', async () => {
    tree();
    const path = join(sysfs, 'class/powercap/zone:0/energy_uj');
    chmodSync(path, 0);
    await expect(recorded()).rejects.toThrow(
      `${path}: this file may not be read; let everybody read it until the next start: sudo chmod a+r ${path}`,
    );
  });
});

describe('npm run record', () => {
  const run = async (...args: readonly string[]) => {
    const printed: string[] = [];
    const failed: string[] = [];
    const code = await runRecord([...args, '--sysfs', sysfs], {
      typedIn: folder,
      print: (line) => printed.push(line),
      printError: (line) => failed.push(line),
    });
    return { code, printed, failed };
  };

  it('records and says where', async () => {
    tree();
    const { code, printed } = await run(
      '--to',
      'drawer.csv',
      '--minutes',
      '0.005',
      '--interval',
      '0.1',
      '--condition',
      'cooler=flat 58 mm',
      '--condition',
      'ambientC=23.5',
      '--sensor',
      'fanSpeed=fan1',
    );
    expect(code).toBe(0);
    expect(printed.at(-2)).toBe(`Recorded 3 samples in ${log()}`);
    expect((await readRun(log())).conditions).toEqual({
      powerCapW: 118,
      cooler: 'flat 58 mm',
      ambientC: 23.5,
    });
  });

  it('lists sensors and shows its help', async () => {
    tree();
    expect((await run('--sensors')).printed[2]).toContain('stagetemp/Package id 0');
    expect((await run('--help')).printed[0]).toContain('--stop-at N');
  });

  it('says what is wrong with the command', async () => {
    tree();
    expect(await run('--minutes', '5')).toMatchObject({
      code: 1,
      failed: [
        'npm run record: `--to` must be the name of the log to write (received undefined); npm run record -- --help lists everything',
      ],
    });
    expect((await run('--to', 'a.csv', '--minutes', 'ten')).failed[0]).toContain(
      '`--minutes` must be a number (received "ten")',
    );
    expect((await run('--to', 'a.csv', '--minutes', '1', '--condition', 'cooler')).failed[0]).toContain(
      'must be NAME=VALUE',
    );
    expect((await run('--nonsense')).failed[0]).toContain("Unknown option '--nonsense'");
  });

  it('ends with code 3 where the limit ended it', async () => {
    tree({ 'class/hwmon/hwmon1/temp1_input': 96_000 });
    const { code, printed } = await run('--to', 'drawer.csv', '--minutes', '1', '--interval', '0.1');
    expect(code).toBe(3);
    expect(printed.join('\n')).toContain('Stopped at 96.0 °C, at or above the limit; recorded 1 sample in');
  });
});
