import type { CompletionInfo } from './tslab-parts.js';

/** What could stand in place of a stretch of code; positions are UTF-16 offsets. */
export interface Completion {
  readonly start: number;
  readonly end: number;
  readonly matches: readonly { readonly text: string; readonly kind: string }[];
}

/** Names the evaluator makes for itself. */
const innerName = /^(?:tsLastExpr\d*|__tslab__)$/;

/** The compiler's candidates, each once, with what they are: function, const, property, … */
export function completionOf({ start, end, candidates, original }: CompletionInfo): Completion {
  const kinds = new Map(original?.entries.map(({ name, kind }) => [name, String(kind)]));
  const matches = [...new Set(candidates)]
    .filter((text) => !innerName.test(text))
    .map((text) => ({ text, kind: kinds.get(text) ?? '' }));
  return { start, end, matches };
}
