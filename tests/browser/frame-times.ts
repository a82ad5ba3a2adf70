import type { Page } from 'playwright-core';

interface TraceEvent {
  readonly name: string;
  readonly ph: string;
  readonly pid: number;
  readonly tid: number;
  /** Start, length, and processor time of the thread, microseconds. */
  readonly ts: number;
  readonly dur?: number;
  readonly tdur?: number;
}

/** One frame in which the page's own code ran. */
export interface FrameTime {
  /** Processor time of the page's code alone, ms. */
  readonly scriptMs: number;
  /** The same with style, layout and painting, ms. */
  readonly frameMs: number;
}

/**
 * What the frames of a page cost while something is done to it, by the browser's own trace: processor time of the page's
 * thread, which other work on the machine lengthens little.
 */
export async function frameTimes(page: Page, act: () => Promise<unknown>): Promise<readonly FrameTime[]> {
  const browser = page.context().browser()!;
  await browser.startTracing(page, { categories: ['devtools.timeline', 'toplevel'] });
  await act();
  const { traceEvents } = JSON.parse((await browser.stopTracing()).toString('utf8')) as {
    readonly traceEvents: readonly TraceEvent[];
  };
  const whole = traceEvents.filter(({ ph, tdur }) => ph === 'X' && tdur !== undefined);
  const tasks = whole.filter(({ name }) => name.endsWith('RunTask'));
  return whole
    .filter(({ name }) => name === 'FireAnimationFrame')
    .map((script) => {
      const around = tasks.filter((task) => holds(task, script)).map(({ tdur }) => tdur!);
      return { scriptMs: script.tdur! / 1000, frameMs: Math.max(script.tdur!, ...around) / 1000 };
    });
}

function holds(outer: TraceEvent, inner: TraceEvent): boolean {
  return (
    outer.pid === inner.pid &&
    outer.tid === inner.tid &&
    outer.ts <= inner.ts &&
    outer.ts + outer.dur! >= inner.ts + inner.dur!
  );
}
