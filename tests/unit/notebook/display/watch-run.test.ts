import { appendFileSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { displayHookKey } from '../../../../toolkit/notebook/display/display-hook.js';
import { watchRun } from '../../../../toolkit/notebook/display/watch-run.js';

let folder: string;
let path: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'kelvin-per-watt-'));
  path = join(folder, 'drawer.csv');
});
afterEach(() => {
  rmSync(folder, { recursive: true });
  Reflect.deleteProperty(globalThis, displayHookKey);
});

/** A minute of rest and then a load, with the noise of a repeatable sensor. */
function rows(from: number, to: number): string {
  let text = '';
  for (let t = from; t < to; t++) {
    const loadS = t - 60;
    const rise = loadS < 0 ? 3 : 3 + 30 * (1 - Math.exp(-loadS / 8)) + 15 * (1 - Math.exp(-loadS / 70));
    text += `${t},${(23 + rise + 0.05 * Math.sin(t * t)).toFixed(2)},${loadS < 0 ? 10 : 95},23.0\n`;
  }
  return text;
}

interface Shown {
  readonly text: string;
  readonly displayId?: string;
  readonly update?: boolean;
}

function installHook(): Shown[] {
  const shown: Shown[] = [];
  Object.assign(globalThis, {
    [displayHookKey]: {
      display: (bundle: Record<string, string>, options: object = {}) =>
        shown.push({ text: bundle['text/plain'], ...options }),
    },
  });
  return shown;
}

describe('watchRun', () => {
  it('updates sentence and picture in place, and stops when the wanted half-width is reached', async () => {
    const shown = installHook();
    writeFileSync(path, `time_s,temperature_c,power_w,ambient_c\n${rows(0, 100)}`);
    let written = 100;
    const watched = await watchRun(path, {
      everyS: 0.01,
      endAfterS: 5,
      halfWidthK: 0.4,
      onForecast: () => {
        appendFileSync(path, rows(written, written + 100));
        written += 100;
      },
    });
    expect(watched.reason).toBe('half-width-reached');
    expect(written).toBeLessThan(3000);
    const { forecast } = watched;
    if (forecast.kind !== 'forecast' || forecast.steadyTemperatureC.kind !== 'estimated')
      throw new Error('no forecast');
    // The truth of the rows: 23 + 3 + 30 + 15.
    expect(Math.abs(forecast.steadyTemperatureC.value - 71)).toBeLessThan(0.8);
    // Two places below the cell, each shown once and then filled anew.
    const ids = new Set(shown.map(({ displayId }) => displayId));
    expect(ids.size).toBe(2);
    for (const id of ids)
      expect(shown.filter(({ displayId }) => displayId === id).map(({ update }) => update === true)).toEqual(
        Array.from({ length: shown.length / 2 }, (_, i) => i > 0),
      );
    expect(shown.at(-2)?.text).toContain('drawer: ');
  });

  it('ends with the log, and prints each new sentence outside a notebook', async () => {
    const log = vi.spyOn(console, 'log').mockImplementation(() => undefined);
    try {
      writeFileSync(path, `time_s,temperature_c,power_w,ambient_c\n${rows(0, 90)}`);
      const watched = await watchRun(path, { everyS: 0.01, endAfterS: 0.1 });
      expect(watched).toMatchObject({
        kind: 'watched-run',
        reason: 'log-ended',
        forecast: { kind: 'too-early' },
      });
      expect(log).toHaveBeenCalledTimes(1);
    } finally {
      log.mockRestore();
    }
  });

  it('names an option at fault', async () => {
    await expect(watchRun(path, { halfWidth: 1 } as never)).rejects.toThrow('did you mean halfWidthK?');
    await expect(watchRun(path, { halfWidthK: -1 })).rejects.toThrow(
      '`options.halfWidthK` must be a finite number above 0',
    );
  });
});
