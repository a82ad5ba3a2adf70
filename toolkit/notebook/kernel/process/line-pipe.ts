import type { Duplex } from 'node:stream';

/** JSON values over a pipe between two processes, one a line. What is none, because something else wrote it, is passed over. */
export class LinePipe {
  readonly #pipe: Duplex;
  #rest = '';

  constructor(pipe: Duplex, onValue: (value: unknown) => void) {
    this.#pipe = pipe;
    pipe.setEncoding('utf8');
    pipe.on('data', (text: string) => {
      const end = text.lastIndexOf('\n');
      const whole = end === -1 ? [] : (this.#rest + text.slice(0, end)).split('\n');
      this.#rest = end === -1 ? this.#rest + text : text.slice(end + 1);
      for (const line of whole) {
        let value: unknown;
        try {
          value = JSON.parse(line);
        } catch {
          continue;
        }
        onValue(value);
      }
    });
    // Writing to a process that is just ending is no failure of ours.
    pipe.on('error', () => pipe.destroy());
  }

  /** Resolves when the value is on its way, or the pipe is closed. */
  send(value: unknown): Promise<void> {
    return new Promise((resolve) => this.#pipe.write(`${JSON.stringify(value)}\n`, () => resolve()));
  }

  onClose(listener: () => void): void {
    this.#pipe.once('close', listener);
  }
}
