import type { JupyterMessage } from './messages/jupyter-message.js';

/**
 * `starting`: messages are kept until the kernel is ready. `dead`: the process ended by itself or would not start;
 * `restart` brings a new one. `closed`: shut down for good.
 */
export type KernelState = 'starting' | 'ready' | 'restarting' | 'dead' | 'closed';

/** How a kernel process ended without being asked to. */
export interface KernelDeath {
  /** In words, with the last of what it wrote to standard error. */
  readonly message: string;
  readonly exitCode: number | null;
  readonly signal: string | null;
}

/** A kernel in a process of its own that speaks Jupyter messages as plain objects. Survives its process: `restart`. */
export interface KernelConnection {
  readonly id: string;
  readonly state: KernelState;
  /** Of the running process; changes with a restart. */
  readonly processId: number | undefined;
  /**
   * Sends a message on its channel, any time: kept while the kernel starts, dropped while it is dead or closed.
   * `interrupt_request` and `shutdown_request` belong on the control channel and are heard while a cell runs.
   */
  send(message: JupyterMessage): void;
  /** Every message of the kernel, in order; returns what ends the subscription. */
  onMessage(listener: (message: JupyterMessage) => void): () => void;
  /** The state after each change. */
  onState(listener: (state: KernelState) => void): () => void;
  /** The process ended without being asked to, or could be reached no more and was ended. */
  onDeath(listener: (death: KernelDeath) => void): () => void;
  /** Resolves when the kernel that is starting now can be used; rejects with the reason why it cannot. */
  ready(): Promise<void>;
  /**
   * Ends the running cell, which then fails; resolves when the kernel has heard it. Between cells nothing happens.
   * Rejects where it does not stop in time, as code that waits for another program does: only a restart ends that.
   */
  interrupt(): Promise<void>;
  /** Replaces the process, whatever it is doing; messages not yet answered are lost. Resolves when it is ready. */
  restart(): Promise<void>;
  /** Ends the process for good, whatever it is doing; safe to call twice. Resolves when it is gone. */
  shutdown(): Promise<void>;
}

/** Where and how to start a kernel. */
export interface KernelStartOptions {
  /** Cells resolve files and packages from here. */
  readonly workingDirectory: string;
  /** Seconds the start may take; 60 by default. */
  readonly startTimeoutS?: number;
  /** Seconds a cell may take to stop when it is interrupted; 10 by default. */
  readonly stopTimeoutS?: number;
  /** Seconds between two questions whether the kernel can still be reached; 5 by default. */
  readonly pulseS?: number;
}
