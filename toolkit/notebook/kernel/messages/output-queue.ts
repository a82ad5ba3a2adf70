import type { KernelOutput, StreamOutput } from './outputs.js';

/**
 * Joins text written in quick succession into one output, in order with everything else.
 *
 * A cell may print 30,000 lines in one tick; one message each would keep the receiver busy for seconds.
 */
export class OutputQueue {
  readonly #send: (output: KernelOutput) => void;
  /** Of the start, whatever a cell puts in their place. */
  readonly #clock = { setTimeout, clearTimeout, performance };
  readonly #joinMs: number;
  #waiting: { name: StreamOutput['name']; parts: string[]; since: number } | undefined;
  #timer: NodeJS.Timeout | undefined;

  constructor(send: (output: KernelOutput) => void, joinMs = 25) {
    this.#send = send;
    this.#joinMs = joinMs;
  }

  write(name: StreamOutput['name'], text: string): void {
    if (text === '') return;
    if (this.#waiting !== undefined && this.#waiting.name !== name) this.flush();
    this.#waiting ??= { name, parts: [], since: this.#clock.performance.now() };
    this.#waiting.parts.push(text);
    // A loop that never yields starves the timer: then the clock decides, so that progress is seen.
    if (this.#clock.performance.now() - this.#waiting.since >= this.#joinMs) this.flush();
    else this.#timer ??= this.#clock.setTimeout(() => this.flush(), this.#joinMs);
  }

  push(output: KernelOutput): void {
    this.flush();
    this.#send(output);
  }

  flush(): void {
    this.#clock.clearTimeout(this.#timer);
    this.#timer = undefined;
    const waiting = this.#waiting;
    this.#waiting = undefined;
    if (waiting !== undefined)
      this.#send({ output_type: 'stream', name: waiting.name, text: waiting.parts.join('') });
  }
}

/** Sends what this process writes to its standard streams to the queue instead. */
export function captureStandardStreams(queue: OutputQueue): void {
  for (const name of ['stdout', 'stderr'] as const) {
    const decoder = new TextDecoder();
    const write = (
      chunk: string | Uint8Array,
      encodingOrDone?: BufferEncoding | ((error?: Error | null) => void),
      done?: (error?: Error | null) => void,
    ): boolean => {
      queue.write(name, typeof chunk === 'string' ? chunk : decoder.decode(chunk, { stream: true }));
      const callback = typeof encodingOrDone === 'function' ? encodingOrDone : done;
      if (callback !== undefined) process.nextTick(callback);
      return true;
    };
    process[name].write = write as typeof process.stdout.write;
  }
}
