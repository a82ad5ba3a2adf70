import type { MessageContent } from './jupyter-message.js';

/** Session, number and code of a cell that was run: what the protocol calls an entry of the history. */
type Entry = readonly [session: number, line: number, input: string];

/** Cells that were run since the kernel started. */
export class CellHistory {
  readonly #entries: Entry[] = [];

  add(executionCount: number, code: string): void {
    this.#entries.push([0, executionCount, code]);
  }

  /** Answers a `history_request`: the last n, a range of cells, or what matches a pattern with `*` and `?`. */
  answer(request: MessageContent): readonly (Entry | readonly [number, number, readonly [string, null]])[] {
    const found = this.#select(request);
    // Values of cells are not kept.
    return request['output'] === true ? found.map(([s, line, input]) => [s, line, [input, null]]) : found;
  }

  #select(request: MessageContent): readonly Entry[] {
    const n = numberOr(request['n'], 1000);
    if (request['hist_access_type'] === 'range') {
      if (numberOr(request['session'], 0) !== 0) return [];
      const start = numberOr(request['start'], 0);
      const stop = numberOr(request['stop'], Number.POSITIVE_INFINITY);
      return this.#entries.filter(([, line]) => line >= start && line < stop);
    }
    if (request['hist_access_type'] === 'search') {
      const pattern = wildcard(String(request['pattern'] ?? '*'));
      const found = this.#entries.filter(([, , input]) => pattern.test(input));
      return lastOf(request['unique'] === true ? withoutRepeats(found) : found, n);
    }
    return lastOf(this.#entries, n);
  }
}

function lastOf(entries: readonly Entry[], n: number): readonly Entry[] {
  return n > 0 ? entries.slice(-n) : [];
}

/** The latest of each input. */
function withoutRepeats(entries: readonly Entry[]): readonly Entry[] {
  return [...new Map(entries.map((entry) => [entry[2], entry])).values()].sort((a, b) => a[1] - b[1]);
}

function wildcard(pattern: string): RegExp {
  const escaped = pattern.replaceAll(/[.+^${}()|[\]\\]/g, '\\$&');
  return new RegExp(`^${escaped.replaceAll('*', '[\\s\\S]*').replaceAll('?', '[\\s\\S]')}$`);
}

function numberOr(value: unknown, otherwise: number): number {
  return typeof value === 'number' && Number.isFinite(value) ? value : otherwise;
}
