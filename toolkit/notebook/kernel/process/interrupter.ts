import { Session } from 'node:inspector/promises';
import { setTimeout as pause } from 'node:timers/promises';
import type { ControlFlags } from './control-flags.js';

/** What the control thread asks of the main thread. */
export interface InterruptRequest {
  readonly type: 'interrupt';
  readonly interruption: number;
  /** The stretch of work it is meant for; a later one goes on. */
  readonly cell: number;
}

/** How long a thread that is not in a loop may take to read a message. */
const patienceMs = 100;
const retryMs = 20;

/**
 * Stops the main thread's cell from the control thread: by a message, which ends awaits; where the thread does not
 * read it, it is in a loop, and the loop is ended by force through the inspector. Never while a cell is being
 * compiled: that would break the compiler for good.
 */
export class Interrupter {
  readonly #flags: ControlFlags;
  readonly #post: (request: InterruptRequest) => void;
  #count = 0;

  constructor(flags: ControlFlags, post: (request: InterruptRequest) => void) {
    this.#flags = flags;
    this.#post = post;
  }

  /** Resolves when the main thread has heard it. */
  async interrupt(): Promise<void> {
    this.#count += 1;
    const interruption = this.#count;
    this.#post({ type: 'interrupt', interruption, cell: this.#flags.cell });
    const wasHeard = (): boolean => this.#flags.heard >= interruption;
    for (let waitedMs = 0; waitedMs < patienceMs && !wasHeard(); waitedMs += retryMs / 4)
      await pause(retryMs / 4);
    while (!wasHeard()) {
      if (this.#flags.phase !== 'converting') await this.#force();
      await pause(retryMs);
    }
  }

  async #force(): Promise<void> {
    const inspector = new Session();
    inspector.connectToMainThread();
    await inspector.post('Runtime.terminateExecution');
    // A process with a connected inspector waits for it at its end.
    inspector.disconnect();
  }
}
