/** Ends of the names that logs have; each may be followed by `.gz`. */
export const LOG_ENDINGS: readonly string[] = ['.csv', '.tsv', '.txt', '.log', '.dat', '.jsonl', '.ndjson'];

/**
 * Whether a file has the name of a log: one of `LOG_ENDINGS`, packed or not; no read-me, and none that is hidden, as those
 * that file managers leave beside others.
 */
export function isLogName(name: string): boolean {
  const lower = name.toLowerCase().replace(/\.gz$/, '');
  return !/^(?:readme|\.)/.test(lower) && LOG_ENDINGS.some((ending) => lower.endsWith(ending));
}
