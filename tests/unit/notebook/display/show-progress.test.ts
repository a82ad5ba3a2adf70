import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { displayHookKey, type NotebookHook } from '../../../../toolkit/notebook/display/display-hook.js';
import {
  progressBundle,
  progressInWords,
  showProgress,
} from '../../../../toolkit/notebook/display/show-progress.js';

const at = (doneCount: number, count: number, elapsedS: number): string =>
  progressInWords({ task: 'Refits', doneCount, count, elapsedS });

describe('progress', () => {
  it('tells the time left at the rate so far, and nothing before there is a rate', () => {
    expect(at(0, 200, 5)).toBe('Refits: 0 of 200');
    expect(at(10, 200, 0.4)).toBe('Refits: 10 of 200');
    expect(at(50, 200, 10)).toBe('Refits: 50 of 200, about 30 s left');
    expect(at(10, 200, 60)).toBe('Refits: 10 of 200, about 19 min left');
    expect(at(199, 200, 20)).toBe('Refits: 199 of 200, less than 1 s left');
    expect(at(200, 200, 41)).toBe('Refits: 200 of 200 in 41 s');
  });

  it('of a share is told in per cent', () => {
    expect(at(0.345, 1, 2)).toBe('Refits: 34 %, about 4 s left');
    expect(at(1, 1, 2)).toBe('Refits: done in 2 s');
  });

  it('shows hostile words as words', () => {
    const bundle = progressBundle({ task: '<img src=x>', doneCount: 1, count: 2, elapsedS: 0 });
    expect(bundle['text/html']).not.toContain('<img');
  });

  it('refuses a task that is no text', () => {
    expect(() => showProgress('')).toThrow(
      'showProgress: `task` must be a text that says what is being done (received "")',
    );
  });
});

describe('showProgress', () => {
  const shown: Parameters<NotebookHook['display']>[] = [];
  beforeEach(() => {
    shown.length = 0;
    vi.useFakeTimers({ toFake: ['performance'] });
    Object.assign(globalThis, {
      [displayHookKey]: { display: (...args: Parameters<NotebookHook['display']>) => shown.push(args) },
    });
  });
  afterEach(() => {
    vi.useRealTimers();
    Reflect.deleteProperty(globalThis, displayHookKey);
  });

  it('shows once and then updates in place, not more often than a page can follow, and always the end', () => {
    const tell = showProgress('Refits');
    for (let done = 0; done <= 1000; done += 1) {
      tell(done, 1000);
      vi.advanceTimersByTime(1);
    }
    expect(shown.map(([, options]) => options?.update)).toEqual([false, true, true, true, true, true]);
    expect(new Set(shown.map(([, options]) => options?.displayId)).size).toBe(1);
    expect(shown.at(-1)?.[0]['text/plain']).toBe('Refits: 1000 of 1000 in 1 s');
  });
});
