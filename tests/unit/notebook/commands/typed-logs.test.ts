import { mkdir, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { typedLogs } from '../../../../toolkit/notebook/commands/typed-logs.js';

let here: string;

beforeAll(async () => {
  here = await mkdtemp(join(tmpdir(), 'kpw-typed-'));
  await mkdir(join(here, 'my logs'));
  for (const name of ['run-2.csv', 'run-10.csv', 'run-2.conditions.json', 'page.html', 'odd [a].tsv'])
    await writeFile(join(here, 'my logs', name), 'x');
});
afterAll(() => rm(here, { recursive: true }));

const logs = (...typed: string[]): Promise<readonly string[]> => typedLogs(typed, here, 'npm run decide');
const inFolder = (...names: string[]): string[] => names.map((name) => join('my logs', name));

describe('typedLogs', () => {
  it('takes a file as it was typed, also one that is not there', async () => {
    expect(await logs('my logs/run-2.csv', './my logs/odd [a].tsv', 'gone.csv')).toEqual([
      'my logs/run-2.csv',
      './my logs/odd [a].tsv',
      'gone.csv',
    ]);
  });

  it('takes a folder for its logs, and a pattern where the shell left it alone', async () => {
    expect(await logs('my logs')).toEqual(inFolder('odd [a].tsv', 'run-2.csv', 'run-10.csv'));
    expect(await logs('my logs/*.csv')).toEqual(inFolder('run-2.csv', 'run-10.csv'));
    expect(await logs(join(here, 'my logs', '*.csv'))).toEqual(
      inFolder('run-2.csv', 'run-10.csv').map((path) => join(here, path)),
    );
  });

  it('says what is wrong with a folder or a pattern that stands for nothing', async () => {
    await expect(logs('my logs/*.cvs')).rejects.toThrow(/\*\.cvs: no file fits this pattern; logs end with/);
    await expect(logs('.')).rejects.toThrow(/there is no log in this folder/);
  });

  it('says that a conditions file is no log', async () => {
    await expect(logs('my logs/run-2.csv', 'my logs/run-2.conditions.json')).rejects.toThrow(
      /^npm run decide: `logs` must be logs only: .* \(received "run-2\.conditions\.json"\); leave it out/,
    );
  });
});
