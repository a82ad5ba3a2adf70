import { describe, expect, it } from 'vitest';
import { isLogName } from '../../../../toolkit/logs/read/log-name.js';
import { logCellCode } from '../../../../toolkit/notebook/app/page/log-cell.js';

describe('logCellCode', () => {
  it('reads one log into a run named after it', () => {
    expect(logCellCode(['tower 88-at-95w.csv'])).toBe(
      'const runTower88At95w = await kpw.readRun("tower 88-at-95w.csv");\nrunTower88At95w',
    );
  });

  it('leaves both endings of a packed log out of the name', () => {
    expect(logCellCode(['evening.csv.gz'])).toMatch(/^const runEvening = /);
  });

  it('reads several logs together', () => {
    expect(logCellCode(['a.csv', 'b.csv'])).toBe(
      'const runs = await kpw.readRuns([\n  "a.csv",\n  "b.csv",\n]);\nruns',
    );
  });

  it('keeps a hostile file name a text', () => {
    const name = '"); process.exit(); ("`$' + '{x}`</script>.csv';
    const code = logCellCode([name]);
    const [, quoted] = /^const run\w* = await kpw\.readRun\((.*)\);\nrun\w*$/.exec(code)!;
    expect(JSON.parse(quoted)).toBe(name);
  });
});

describe('isLogName', () => {
  it('knows delimited text by its ending', () => {
    expect(['a.csv', 'a.TSV', 'a.log', 'a.txt', 'a.dat', 'a.jsonl', 'a.csv.gz'].every(isLogName)).toBe(true);
    expect(['a.json', 'a.png', 'csv', 'a.csv.exe'].some(isLogName)).toBe(false);
  });
});
