import { randomUUID } from 'node:crypto';
import { ArgumentError } from '../../errors.js';
import { escapeHtml } from '../../report/html-text.js';
import type { MimeBundle } from '../kernel/messages/outputs.js';
import { notebookHook } from './display-hook.js';

/** How far a long computation is. */
export interface ProgressState {
  readonly task: string;
  readonly doneCount: number;
  readonly count: number;
  readonly elapsedS: number;
}

/** A page follows this well enough, and a computation is not slowed down by telling. */
const leastGapMs = 200;
/** Before that a rate says nothing. */
const leastElapsedS = 1;

/**
 * Shows in the notebook how far a long computation is and how long it still takes, in one place that is kept up to
 * date; its result is what takes `onProgress` in `bootstrapCooler`, `simulationCheck` and their like. For work that tells
 * the share done, as `readRun` does, hand on the share and 1: `onProgress: (share) => tell(share, 1)`.
 *
 * The time left assumes that the rest takes as long per step as the part that is done. Outside a notebook nothing is
 * shown.
 *
 * @param task - what is being done, as the line shall say it
 * @returns a function to be called with how many steps are done, and of how many; or with the share done, and 1
 * @throws ArgumentError if the task is not a text
 * @example
 * const tell = showProgress('Refits');
 * tell(20, 200); // => undefined
 */
export function showProgress(task: string): (doneCount: number, count: number) => void {
  if (typeof task !== 'string' || task.trim() === '')
    throw new ArgumentError({
      caller: 'showProgress',
      argument: 'task',
      expected: 'a text that says what is being done',
      received: task,
    });
  const displayId = `progress-${randomUUID()}`;
  const startMs = performance.now();
  let shownMs = Number.NEGATIVE_INFINITY;
  return (doneCount, count) => {
    const nowMs = performance.now();
    if (doneCount < count && nowMs - shownMs < leastGapMs) return;
    const isFirst = shownMs === Number.NEGATIVE_INFINITY;
    shownMs = nowMs;
    const bundle = progressBundle({ task, doneCount, count, elapsedS: (nowMs - startMs) / 1000 });
    notebookHook()?.display(bundle, { displayId, update: !isFirst });
  };
}

/** The line with a bar above its words, and as plain text. */
export function progressBundle(state: ProgressState): MimeBundle {
  const words = progressInWords(state);
  const { doneCount, count } = state;
  return {
    'text/html': `<div role="status"><progress value="${Number(doneCount)}" max="${Number(count)}" aria-label="${escapeHtml(state.task)}"></progress> ${escapeHtml(words)}</div>`,
    'text/plain': words,
  };
}

/** How far, and how long it takes or took. */
export function progressInWords({ task, doneCount, count, elapsedS }: ProgressState): string {
  if (doneCount >= count)
    return `${task}: ${count === 1 ? 'done' : `${count} of ${count}`} in ${duration(elapsedS)}`;
  const share = `${task}: ${count === 1 ? `${Math.floor(doneCount * 100)} %` : `${doneCount} of ${count}`}`;
  if (doneCount === 0 || elapsedS < leastElapsedS) return share;
  const leftS = (elapsedS / doneCount) * (count - doneCount);
  return `${share}, ${leftS < 1 ? '' : 'about '}${duration(leftS)} left`;
}

function duration(durationS: number): string {
  if (durationS < 1) return 'less than 1 s';
  if (durationS < 100) return `${Math.round(durationS)} s`;
  const minutes = Math.round(durationS / 60);
  return minutes < 100 ? `${minutes} min` : `${Math.round(durationS / 3600)} h`;
}
