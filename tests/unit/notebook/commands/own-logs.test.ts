import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { requireUsableLogs } from '../../../../toolkit/notebook/commands/own-logs.js';

const log = `time_s,package_temperature_c,package_power_w,core_frequency_mhz\n${Array.from(
  { length: 300 },
  (_, i) => `${i},${(70 - 40 * Math.exp(-i / 60)).toFixed(2)},${(95 + Math.sin(i) / 10).toFixed(2)},3800`,
).join('\n')}\n`;

let folder: string;
const path = (name: string): string => join(folder, name);

beforeAll(async () => {
  folder = await mkdtemp(join(tmpdir(), 'kpw-own-'));
  await writeFile(path('a.csv'), log);
  await writeFile(path('b.csv'), log);
  await writeFile(
    path('b.conditions.json'),
    '{ "cooler": "tower 88 mm", "ambientC": 22.5, "defaultCapW": 118 }',
  );
});
afterAll(() => rm(folder, { recursive: true }));

describe('requireUsableLogs', () => {
  it('returns the runs with what the files and the options say', async () => {
    const runs = await requireUsableLogs([path('b.csv')], { processor: 'twelve cores' }, folder);
    expect(runs[0]?.conditions).toEqual({
      cooler: 'tower 88 mm',
      ambientC: 22.5,
      defaultCapW: 118,
      processor: 'twelve cores',
    });
  });

  it('names what is missing, the logs, the file to write and the option', async () => {
    await expect(requireUsableLogs([path('a.csv'), path('b.csv')], {}, folder)).rejects.toThrow(
      /`logs` must be complete: a\.csv does not say which cooler was on the processor; a\.csv does not say the air .*\(received "2 logs"\)/,
    );
    await expect(requireUsableLogs([path('a.csv'), path('b.csv')], {}, folder)).rejects.toThrow(
      /a\.conditions\.json:\n {2}\{ "cooler": "tower 88 mm", "ambientC": 22\.5 \}\nor, .* --cooler "tower 88 mm" --ambient-during-runs 22\.5/,
    );
  });

  it('is content when options say what is missing', async () => {
    const runs = await requireUsableLogs([path('a.csv')], { cooler: 'flat 41 mm', ambientC: 23 }, folder);
    expect(runs[0]?.conditions).toEqual({ cooler: 'flat 41 mm', ambientC: 23 });
  });

  it('refuses an option that contradicts a log', async () => {
    await expect(requireUsableLogs([path('b.csv')], { cooler: 'flat 41 mm' }, folder)).rejects.toThrow(
      /`--cooler` must be what b\.csv says itself: "tower 88 mm" \(received "flat 41 mm"\)/,
    );
  });

  it('refuses a log that is given twice', async () => {
    await expect(
      requireUsableLogs([path('b.csv'), path('a.csv'), path('b.csv')], {}, folder),
    ).rejects.toThrow(/`logs` must be given once each, .*\(received "b\.csv twice"\); leave one/);
  });

  it('reads columns and units as it is told', async () => {
    const options = { cooler: 'flat 41 mm', ambientC: 23 };
    const howToRead = { columns: { frequency: false } } as const;
    const [run] = await requireUsableLogs([path('a.csv')], options, folder, howToRead);
    expect(run?.frequencyMHz).toBeUndefined();
  });

  it('names every file that cannot be read', async () => {
    await expect(requireUsableLogs([path('no.csv'), folder], {}, folder)).rejects.toThrow(
      /no\.csv: there is no such file[\s\S]*this is a directory/,
    );
  });
});
