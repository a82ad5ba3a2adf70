import { describe, expect, it } from 'vitest';
import { withKeptExtension } from '../../../../toolkit/notebook/app/page/kept-extension.js';

describe('a new name', () => {
  it('keeps what makes it a notebook', () => {
    expect(withKeptExtension('drawer', 'untitled.ipynb')).toBe('drawer.ipynb');
    expect(withKeptExtension('drawer.ipynb', 'untitled.ipynb')).toBe('drawer.ipynb');
    expect(withKeptExtension('drawer, version 1.2', 'untitled.ipynb')).toBe('drawer, version 1.2.ipynb');
    expect(withKeptExtension('drawer.txt', 'untitled.ipynb')).toBe('drawer.txt.ipynb');
  });

  it('keeps what makes it a log, or takes another such', () => {
    expect(withKeptExtension('at 95 W', 'run.csv')).toBe('at 95 W.csv');
    expect(withKeptExtension('at 95.5 W', 'run.csv')).toBe('at 95.5 W.csv');
    expect(withKeptExtension('run.tsv', 'run.csv')).toBe('run.tsv');
    expect(withKeptExtension('run', 'run.csv')).toBe('run.csv');
    expect(withKeptExtension('drawer', 'run.csv.gz')).toBe('drawer.csv.gz');
  });
});
