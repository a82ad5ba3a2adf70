import type { LoadSegment, RunSegment } from './run-segment.js';

/** The load segments at the end of a run, without a pause between them; a quiet end is passed over. */
export function lastLoads(segments: readonly RunSegment[]): readonly LoadSegment[] {
  const upToLast = segments.slice(0, segments.findLastIndex(({ kind }) => kind === 'load') + 1);
  const pause = upToLast.findLastIndex(({ kind }) => kind !== 'load');
  return upToLast.slice(pause + 1).filter((segment) => segment.kind === 'load');
}
