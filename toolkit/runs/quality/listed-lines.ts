import type { Finding } from '../finding.js';

/** How many line numbers a finding lists. */
export const LISTED_LINE_COUNT = 20;

/** The `lines` of a finding about these samples; nothing where the samples came from no log. */
export function listedLines(
  indices: readonly number[],
  lineNumbers: ArrayLike<number> | undefined,
): Pick<Finding, 'lines'> {
  if (lineNumbers === undefined) return {};
  return { lines: indices.slice(0, LISTED_LINE_COUNT).map((index) => lineNumbers[index]) };
}
