import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { readStudy } from '../../../../toolkit/logs/study/study-node.js';
import { displayItems } from '../../../../toolkit/notebook/display/display-items.js';
import { tableText } from '../../../../toolkit/report/tables/table.js';
import { tableOfStudy } from '../../../../toolkit/report/tables/table-of-study.js';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-'));
});
afterEach(() => rmSync(folder, { recursive: true }));

const write = (name: string, text: string): void => writeFileSync(join(folder, name), text);
const conditions = (name: string, of: object): void => write(`${name}.conditions.json`, JSON.stringify(of));
const log = (name: string, powerW = 95, extra = ''): void =>
  write(
    name,
    `time_s,temperature_c,power_w${extra === '' ? '' : ',ambient_c'}\n${Array.from({ length: 120 }, (_, i) => `${i},${i < 30 ? 35 : 70}.5,${i < 30 ? 12 : powerW}${extra}`).join('\n')}\n`,
  );
const COMMON = { processor: 'stage processor', enclosure: 'open bench', ambientC: 23, defaultCapW: 118 };

describe('readStudy', () => {
  it('reads a folder as one: common conditions, and each log’s own over them', async () => {
    conditions('study', COMMON);
    log('tower-95.csv');
    conditions('tower-95', { cooler: 'tower 88 mm', powerCapW: 95, ambientC: 24.5 });
    log('flat-95.tsv', 94);
    conditions('flat-95', { cooler: 'flat 41 mm', powerCapW: 95 });
    write('README.txt', 'what this is\n');
    mkdirSync(join(folder, 'older'));
    const study = await readStudy(folder);
    expect(study.kind).toBe('study');
    expect(study.logs.map(({ file, missing, issues }) => [file, missing, issues])).toEqual([
      ['flat-95.tsv', [], []],
      ['tower-95.csv', [], []],
    ]);
    expect(study.runs.map(({ label, conditions: of }) => [label, of.cooler, of.ambientC])).toEqual([
      ['flat-95', 'flat 41 mm', 23],
      ['tower-95', 'tower 88 mm', 24.5],
    ]);
    expect(study.disagreements).toEqual([]);
    expect(study.issues).toEqual([]);
  });

  it('says what is missing; air that is logged is not', async () => {
    log('a.csv');
    log('b.csv', 94, ',23.5');
    conditions('b', { cooler: 'flat 41 mm' });
    const { logs } = await readStudy(folder);
    expect(logs[0]?.missing).toEqual([
      'cooler',
      'processor',
      'enclosure',
      'ambientC',
      'powerCapW',
      'defaultCapW',
    ]);
    expect(logs[1]?.missing).toEqual(['processor', 'enclosure', 'powerCapW', 'defaultCapW']);
    expect(logs[0]?.conditionsFile).toBeUndefined();
  });

  it('reads on where a file has a mistake, and says where it is', async () => {
    conditions('study', COMMON);
    log('good.csv');
    log('typo.csv', 94);
    write('typo.conditions.json', '{ "coolr": "flat 41 mm", "powerCapW": 95 }');
    log('comma.csv', 93);
    write('comma.conditions.json', '{\n  "cooler": "flat 41 mm",\n}');
    write('words.csv', 'Dear diary\n');
    conditions('lost', { cooler: 'flat 58 mm' });
    const study = await readStudy(folder);
    expect(study.runs.map(({ label }) => label)).toEqual(['comma', 'good', 'typo']);
    const of = (name: string) => study.logs.find(({ label }) => label === name)!;
    expect(of('typo').issues[0]).toMatchObject({
      path: '/coolr',
      source: join(folder, 'typo.conditions.json'),
    });
    expect(of('typo').issues[0]?.remedy).toContain('cooler');
    expect(of('comma').issues[0]).toMatchObject({ code: 'json-syntax', line: 3, column: 1 });
    expect(of('words').issues[0]).toMatchObject({ code: 'no-delimiter', source: join(folder, 'words.csv') });
    expect(of('words').run).toBeUndefined();
    // What is common might be what the mistake would have said otherwise.
    expect(of('typo').conditions).toEqual({ powerCapW: 95 });
    expect(of('comma').conditions).toEqual({});
    expect(of('good').conditions).toEqual(COMMON);
    expect(study.issues).toMatchObject([
      { code: 'conditions-without-log', source: join(folder, 'lost.conditions.json') },
    ]);
  });

  it('reads conditions in the encodings of editors, and passes over hidden files', async () => {
    log('a.csv');
    writeFileSync(
      join(folder, 'a.conditions.json'),
      Buffer.from('\uFEFF{ "cooler": "flat 41 mm" }', 'utf16le'),
    );
    log('b.csv', 94);
    writeFileSync(join(folder, 'b.conditions.json'), '\uFEFF{ "cooler": "flat 58 mm" }');
    writeFileSync(join(folder, '._a.csv'), Buffer.from([0, 5, 22, 7]));
    writeFileSync(join(folder, '._a.conditions.json'), Buffer.from([0, 5, 22, 7]));
    const { logs, issues } = await readStudy(folder);
    expect(logs.map(({ file, conditions: of }) => [file, of.cooler])).toEqual([
      ['a.csv', 'flat 41 mm'],
      ['b.csv', 'flat 58 mm'],
    ]);
    expect(issues).toEqual([]);
  });

  it('says what disagrees', async () => {
    conditions('study', { ...COMMON, cooler: 'flat 41 mm' });
    log('cap.csv', 118);
    conditions('cap', { powerCapW: 95 });
    log('air.csv', 94, ',29.5');
    log('other.csv', 93);
    conditions('other', { processor: 'another one', defaultCapW: 105 });
    log('copy.csv', 93);
    const { disagreements } = await readStudy(folder);
    expect(disagreements.map(({ condition, labels, message }) => [condition, labels, message])).toEqual([
      [
        'ambientC',
        ['air'],
        'air states air of 23 °C, but its column says 29.5 °C in the mean. The column is used.',
      ],
      ['powerCapW', ['cap'], 'cap states a power cap of 95 W, but its load takes 118.0 W.'],
      [
        'processor',
        ['air', 'cap', 'copy', 'other'],
        'Name of the processor differs: stage processor in air, cap, copy; another one in other.',
      ],
      [
        'defaultCapW',
        ['air', 'cap', 'copy', 'other'],
        expect.stringContaining('118 in air, cap, copy; 105 in other.'),
      ],
      [undefined, ['copy', 'other'], 'copy and other hold the same samples.'],
    ]);
  });

  it('refuses a folder that is none, or is empty, and other options', async () => {
    await expect(readStudy(join(folder, 'nothing'))).rejects.toThrow('there is no such folder');
    write('a.txt', 'x');
    await expect(readStudy(join(folder, 'a.txt'))).rejects.toThrow('this is no folder');
    rmSync(join(folder, 'a.txt'));
    await expect(readStudy(folder)).rejects.toThrow('there is no log in this folder');
    await expect(readStudy(folder, { label: 'x' } as never)).rejects.toThrow(
      'readStudy: `options.label` must be one of',
    );
    await expect(readStudy('')).rejects.toThrow('`folder` must be the path of a folder');
  });
});

describe('the table of a study', () => {
  it('shows what is there, what is missing and what is wrong, and a notebook shows it', async () => {
    conditions('study', { processor: 'stage processor', enclosure: 'open bench' });
    log('cap.csv', 118);
    conditions('cap', { powerCapW: 95, cooler: 'flat 41 mm', mount: 'first' });
    log('broken.csv', 94);
    write('broken.conditions.json', '{');
    write('words.csv', 'Dear diary\n');
    const study = await readStudy(folder);
    const { rows, notes } = tableOfStudy(study);
    expect(rows.map((row) => [row[0], row[1], row[7], row[8]])).toEqual([
      [
        'broken.csv',
        null,
        'cooler, processor, enclosure, ambientC, powerCapW, defaultCapW',
        'conditions file',
      ],
      ['cap.csv', 'flat 41 mm', 'ambientC, defaultCapW', 'disagrees'],
      ['words.csv', null, 'cooler, ambientC, powerCapW, defaultCapW', 'cannot be read'],
    ]);
    expect(notes?.join('\n')).toContain('broken.conditions.json: line 1: expected');
    expect(notes?.join('\n')).toContain('To do: correct powerCapW');
    expect(tableText(tableOfStudy(study))).toContain('Missing');
    expect(displayItems(study)?.map(({ kind }) => kind)).toEqual(['table']);
  });
});
