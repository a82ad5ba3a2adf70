import type { KernelOutput, StreamOutput } from './outputs.js';

/** Most that one cell may print: ten times that, and a page takes longer to show it than anybody waits. */
export const mostText: { readonly characterCount: number; readonly lineCount: number } = {
  characterCount: 5_000_000,
  lineCount: 100_000,
};

/** Most that one cell may show besides: figures come with up to half a million characters. */
export const mostDisplays: { readonly characterCount: number; readonly count: number } = {
  characterCount: 20_000_000,
  count: 1000,
};

/** What stands in the place of all that a cell shows beyond `mostDisplays`. */
export const tooManyText: string =
  '\nThis cell has shown more than 1,000 outputs or 20,000,000 characters: what it shows from here on is not kept. ' +
  'Show fewer of them, or write them to files.\n';

/** A change between the streams makes an output of its own, which costs a page as much as some lines. */
const linesOfChange = 20;

/** What stands in the place of all that a cell prints beyond `mostText`. */
export const tooMuchText: string =
  '\nThis cell has printed more than 100,000 lines or 5,000,000 characters: what it prints from here on is not kept. ' +
  'Write it to a file instead, or show a part of it.\n';

/**
 * Joins text written in quick succession into one output, in order with everything else.
 *
 * A cell may print 30,000 lines in one tick; one message each would keep the receiver busy for seconds. A receiver shows
 * all of a cell's text anew with every message: the more there is, the longer is waited for more. What an endless loop
 * prints ends with a word on it, before it fills the memory of kernel, server and page.
 */
export class OutputQueue {
  readonly #send: (output: KernelOutput) => void;
  /** Of the start, whatever a cell puts in their place. */
  readonly #clock = { setTimeout, clearTimeout, performance };
  readonly #joinMs: number;
  #waiting: { name: StreamOutput['name']; parts: string[]; since: number } | undefined;
  #timer: NodeJS.Timeout | undefined;
  #characterCount = 0;
  #lineCount = 0;
  #shownCount = 0;
  #shownCharacterCount = 0;

  constructor(send: (output: KernelOutput) => void, joinMs = 25) {
    this.#send = send;
    this.#joinMs = joinMs;
  }

  /** Another cell begins, with nothing printed yet. */
  beginCell(): void {
    this.flush();
    this.#characterCount = 0;
    this.#lineCount = 0;
    this.#shownCount = 0;
    this.#shownCharacterCount = 0;
  }

  write(name: StreamOutput['name'], text: string): void {
    if (text === '' || this.#isFull) return;
    const kept = this.#count(text);
    if (kept !== '') this.#join(name, kept);
    if (this.#isFull) {
      this.#join('stderr', tooMuchText);
      this.flush();
    }
  }

  push(output: KernelOutput): void {
    this.flush();
    // What was printed has gone from the page.
    if (output.output_type === 'clear_output') this.beginCell();
    if (output.output_type !== 'display_data') this.#send(output);
    else if (!this.#hasShownAll) {
      this.#shownCount += 1;
      for (const part of Object.values(output.data))
        if (typeof part === 'string') this.#shownCharacterCount += part.length;
      this.#send(this.#hasShownAll ? { output_type: 'stream', name: 'stderr', text: tooManyText } : output);
    }
  }

  flush(): void {
    this.#clock.clearTimeout(this.#timer);
    this.#timer = undefined;
    const waiting = this.#waiting;
    this.#waiting = undefined;
    if (waiting !== undefined)
      this.#send({ output_type: 'stream', name: waiting.name, text: waiting.parts.join('') });
  }

  get #hasShownAll(): boolean {
    return this.#shownCount > mostDisplays.count || this.#shownCharacterCount > mostDisplays.characterCount;
  }

  get #isFull(): boolean {
    return this.#characterCount > mostText.characterCount || this.#lineCount > mostText.lineCount;
  }

  /** Counts a text, and gives as much of it as may still be sent. */
  #count(text: string): string {
    const room = mostText.characterCount - this.#characterCount;
    let end = 0;
    while (this.#lineCount <= mostText.lineCount) {
      const next = text.indexOf('\n', end);
      if (next === -1) {
        end = text.length;
        break;
      }
      this.#lineCount += 1;
      if (this.#lineCount <= mostText.lineCount) end = next + 1;
    }
    this.#characterCount += text.length;
    return text.slice(0, Math.min(end, room));
  }

  #join(name: StreamOutput['name'], text: string): void {
    if (this.#waiting !== undefined && this.#waiting.name !== name) {
      this.flush();
      this.#lineCount += linesOfChange;
    }
    this.#waiting ??= { name, parts: [], since: this.#clock.performance.now() };
    this.#waiting.parts.push(text);
    const waitMs = this.#joinMs + this.#characterCount / 1000 + this.#lineCount / 100;
    // A loop that never yields starves the timer: then the clock decides, so that progress is seen.
    if (this.#clock.performance.now() - this.#waiting.since >= waitMs) this.flush();
    else this.#timer ??= this.#clock.setTimeout(() => this.flush(), waitMs);
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
