import type { KernelConnection, KernelStartOptions } from '../../kernel/kernel-connection.js';
import { HttpError } from './http-error.js';
import { ServedKernel } from './served-kernel.js';

/** The kernels that run for the pages of this server. */
export class Kernels {
  readonly #start: (options: KernelStartOptions) => KernelConnection;
  readonly #running = new Map<string, ServedKernel>();

  constructor(start: (options: KernelStartOptions) => KernelConnection) {
    this.#start = start;
  }

  start(workingDirectory: string): ServedKernel {
    const kernel = new ServedKernel(this.#start({ workingDirectory }));
    this.#running.set(kernel.id, kernel);
    return kernel;
  }

  all(): readonly ServedKernel[] {
    return [...this.#running.values()];
  }

  get(id: string): ServedKernel {
    const kernel = this.#running.get(id);
    if (kernel === undefined) throw new HttpError(404, 'This kernel does not run any more.');
    return kernel;
  }

  async shutdown(id: string): Promise<void> {
    const kernel = this.get(id);
    this.#running.delete(id);
    await kernel.shutdown();
  }

  async shutdownAll(): Promise<void> {
    await Promise.allSettled([...this.#running.keys()].map((id) => this.shutdown(id)));
  }
}
