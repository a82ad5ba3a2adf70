import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest';
import { type PulseReply, watchPulse } from '../../../../toolkit/notebook/kernel/pulse.js';

const periodMs = 1000;
let reply: PulseReply | undefined;
let mainAnswers: boolean;
let isRequestWaiting: boolean;
let mainQuestions: number;
let lost: string[];
let end: () => void;

beforeEach(() => {
  vi.useFakeTimers();
  reply = { turned: true, atWork: false };
  mainAnswers = true;
  isRequestWaiting = false;
  mainQuestions = 0;
  lost = [];
  end = watchPulse(
    {
      askControl: () => (reply === undefined ? new Promise(() => {}) : Promise.resolve(reply)),
      askMain: () => {
        mainQuestions += 1;
        return mainAnswers ? Promise.resolve() : new Promise(() => {});
      },
      waitsLongerThan: () => isRequestWaiting,
    },
    { periodMs, onLost: (reason) => lost.push(reason) },
  );
});
afterEach(() => {
  end();
  vi.useRealTimers();
});
const wait = (periods: number): Promise<unknown> => vi.advanceTimersByTimeAsync(periods * periodMs);

describe('the pulse of a kernel', () => {
  it('is felt for as long as both ways to it answer', async () => {
    await wait(50);
    expect(lost).toEqual([]);
    expect(mainQuestions).toBeGreaterThan(40);
  });

  it('leaves a kernel at work alone, however long it takes, and asks its main thread no second time', async () => {
    await wait(1);
    const before = mainQuestions;
    reply = { turned: false, atWork: true };
    mainAnswers = false;
    isRequestWaiting = true;
    await wait(500);
    expect(lost).toEqual([]);
    expect(mainQuestions).toBeLessThanOrEqual(before + 1);
  });

  it('leaves a kernel alone whose cell awaits something', async () => {
    reply = { turned: true, atWork: true };
    isRequestWaiting = true;
    await wait(500);
    expect(lost).toEqual([]);
  });

  it('gives up one that takes turns and answers nothing', async () => {
    mainAnswers = false;
    await wait(6);
    expect(lost).toEqual(['could be reached no more: a cell has broken what it needs']);
  });

  it('gives up one that has nothing to do while a request waits', async () => {
    isRequestWaiting = true;
    await wait(4);
    expect(lost).toEqual(['could be reached no more: a cell has broken what it needs']);
  });

  it('gives up one whose control thread stays silent, but not one that is slow once', async () => {
    reply = undefined;
    await wait(4);
    reply = { turned: true, atWork: false };
    await wait(20);
    expect(lost).toEqual([]);
    reply = undefined;
    await wait(8);
    expect(lost).toEqual(['did not react any more']);
    await wait(20);
    expect(lost).toHaveLength(1);
  });
});
