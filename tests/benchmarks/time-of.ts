/** How long something took, ms. */
export interface Taken {
  readonly processorMs: number;
  readonly wallMs: number;
}

/** Processor time of all threads, and time by the clock, of one call. */
export async function timeOf<Result>(
  call: () => Result | Promise<Result>,
): Promise<Taken & { readonly result: Result }> {
  const begin = performance.now();
  const usageBefore = process.cpuUsage();
  const result = await call();
  const { user, system } = process.cpuUsage(usageBefore);
  return { processorMs: (user + system) / 1000, wallMs: performance.now() - begin, result };
}

/** Median over repeated calls, after as many to warm up. */
export async function warmTimeOf(call: () => unknown, repeats: number): Promise<Taken> {
  const taken: Taken[] = [];
  for (let n = 0; n < 2 * repeats; n++) {
    const one = await timeOf(call);
    if (n >= repeats) taken.push(one);
  }
  return {
    processorMs: median(taken.map(({ processorMs }) => processorMs)),
    wallMs: median(taken.map(({ wallMs }) => wallMs)),
  };
}

export function median(values: readonly number[]): number {
  return values.toSorted((a, b) => a - b)[values.length >> 1];
}
