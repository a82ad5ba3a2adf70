import type { EvaluatorPhase } from '../evaluator/evaluator.js';

const phases: readonly EvaluatorPhase[] = ['idle', 'converting', 'running'];
const phaseSlot = 0;
const cellSlot = 1;
const heardSlot = 2;
const turnSlot = 3;

/**
 * What the kernel's main thread lets the control thread see while it is busy: plain memory of both, since a thread
 * that runs a loop reads no messages.
 */
export class ControlFlags {
  readonly #slots: Int32Array;

  /** @param memory - from the other thread, or new */
  constructor(readonly memory: SharedArrayBuffer = new SharedArrayBuffer(4 * Int32Array.BYTES_PER_ELEMENT)) {
    this.#slots = new Int32Array(memory);
  }

  get phase(): EvaluatorPhase {
    return phases[Atomics.load(this.#slots, phaseSlot)] ?? 'idle';
  }

  /** Changes the phase; a new number for every stretch of work, so that an interruption meets the one it was meant for. */
  enter(phase: EvaluatorPhase): void {
    if (phase === 'converting') Atomics.add(this.#slots, cellSlot, 1);
    Atomics.store(this.#slots, phaseSlot, phases.indexOf(phase));
  }

  get cell(): number {
    return Atomics.load(this.#slots, cellSlot);
  }

  /** Number of the last interruption the main thread has heard. */
  get heard(): number {
    return Atomics.load(this.#slots, heardSlot);
  }

  hear(interruption: number): void {
    Atomics.store(this.#slots, heardSlot, interruption);
  }

  /** Grows whenever the main thread has read a question for its pulse. */
  get turns(): number {
    return Atomics.load(this.#slots, turnSlot);
  }

  takeTurn(): void {
    Atomics.add(this.#slots, turnSlot, 1);
  }
}
