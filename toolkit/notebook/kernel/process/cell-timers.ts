import { createRequire, syncBuiltinESMExports } from 'node:module';
import { promisify } from 'node:util';
import { MessageChannel } from 'node:worker_threads';

/** The part of Node's timer modules that is replaced. */
type TimerFunctions = Pick<
  typeof globalThis,
  'setTimeout' | 'setInterval' | 'setImmediate' | 'clearTimeout' | 'clearInterval' | 'clearImmediate'
>;
type Arm = (callback: (...values: unknown[]) => void, delayMs?: number, ...values: unknown[]) => object;

/**
 * Lets timers call their functions from messages instead of from the runtime's timer loop.
 *
 * Code stopped by force while the timer loop is below it takes the whole process along; a message port lives on.
 */
export function fireTimersFromMessages(): void {
  const { port1, port2 } = new MessageChannel();
  const due: (() => void)[] = [];
  const cleared = new WeakSet<object>();
  port2.on('message', () => due.shift()?.());
  port2.unref();

  const through =
    (arm: Arm): Arm =>
    (callback, delayMs, ...values) => {
      if (typeof callback !== 'function') return arm(callback, delayMs); // which refuses it in its own words
      const timer = arm(() => {
        due.push(() => {
          if (!cleared.has(timer)) callback(...values);
        });
        port1.postMessage(null);
      }, delayMs);
      return timer;
    };
  const clearing =
    (disarm: (timer: never) => void) =>
    (timer: unknown): void => {
      if (typeof timer === 'object' && timer !== null) cleared.add(timer);
      disarm(timer as never);
    };

  const { setTimeout, setInterval, setImmediate, clearTimeout, clearInterval, clearImmediate } = globalThis;
  const armImmediate: Arm = (callback, _, ...values) => setImmediate(callback, ...values);
  const immediate = through(armImmediate);
  const replaced = {
    setTimeout: through(setTimeout as Arm),
    setInterval: through(setInterval as Arm),
    setImmediate: (callback: () => void, ...values: unknown[]) => immediate(callback, 0, ...values),
    clearTimeout: clearing(clearTimeout),
    clearInterval: clearing(clearInterval),
    clearImmediate: clearing(clearImmediate),
  };
  const later = awaitable(replaced.setTimeout);
  const soon = awaitable((callback) => replaced.setImmediate(callback));
  Object.defineProperty(replaced.setTimeout, promisify.custom, { value: later });
  Object.defineProperty(replaced.setImmediate, promisify.custom, {
    value: (value: unknown, options?: WaitOptions) => soon(0, value, options),
  });

  const require = createRequire(import.meta.url);
  Object.assign(globalThis, replaced as unknown as TimerFunctions);
  Object.assign(require('node:timers') as object, replaced);
  Object.assign(require('node:timers/promises') as object, {
    setTimeout: later,
    setImmediate: (value: unknown, options?: WaitOptions) => soon(0, value, options),
  });
  syncBuiltinESMExports();
}

interface WaitOptions {
  readonly signal?: AbortSignal;
  readonly ref?: boolean;
}

/** The promise form of a timer, as `node:timers/promises` has it. */
function awaitable(
  arm: (callback: () => void, delayMs?: number) => object,
): (delayMs?: number, value?: unknown, options?: WaitOptions) => Promise<unknown> {
  return (delayMs, value, { signal } = {}) =>
    new Promise((resolve, reject) => {
      const abort = (): void => reject(new DOMException('The operation was aborted', 'AbortError'));
      if (signal?.aborted === true) return abort();
      signal?.addEventListener('abort', abort, { once: true });
      arm(() => {
        signal?.removeEventListener('abort', abort);
        resolve(value);
      }, delayMs);
    });
}
