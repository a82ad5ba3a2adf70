import { type KnownNames, requireNumber } from '../../errors.js';
import type { Finding } from '../../runs/finding.js';
import { samplingOf } from '../../runs/quality/sampling.js';
import type { Run } from '../../runs/run.js';
import { loadSegments } from '../../runs/segments/load-segments.js';
import type { CollectedSamples } from '../samples/collected-samples.js';
import { partOfSamples } from '../samples/part-of-samples.js';
import { collectText, PARSE_RUN_NAMES, type ParseRunOptions, requireOptions, runFrom } from './parse-run.js';

/** What a caller may say about a log that holds several runs. */
export interface ParseRunsOptions extends ParseRunOptions {
  /** Idling, or a gap, at least this long parts two runs, s. Default 120. */
  readonly idleS?: number;
}

const PARSE_RUNS_NAMES: KnownNames<ParseRunsOptions> = { ...PARSE_RUN_NAMES, idleS: true };

/** Default of `ParseRunsOptions.idleS`. */
const DEFAULT_IDLE_S = 120;

/** How much of the idling before a load goes with it, s, so that it begins from rest. */
const LEAD_S = 60;

/** So many samples after a step back of time must run on from there for it to be another start. */
const RESTART_SAMPLES = 3;

/**
 * Reads a log that holds several load runs one after the other, as several runs.
 *
 * A run ends where time starts anew, where nothing was logged for `idleS`, or where the processor idled for `idleS`
 * before the next load (`loadSegments` tells load from idling). The last minute of idling goes with the load behind it,
 * the rest with the one before it, so that every sample is in exactly one run. Runs are labelled by their number behind the
 * label; a finding says which lines each came from. Findings about the text are those of the whole log, in every run.
 *
 * @param text - the log, as text or as the bytes of a file
 * @param options - as for `parseRun`, and how long idling must last
 * @returns the runs in the order of the log; one where nothing parts them
 * @throws LogFormatError if the log cannot be read without guessing
 * @throws ArgumentError if an option is not what it must be
 * @example
 * const power = (t: number) => (t % 600 < 200 ? 15 : 95);
 * const rows = Array.from({ length: 1200 }, (_, t) => `${t},${t % 600 < 200 ? 35 : 70},${power(t)}`);
 * const runs = parseRuns(`time_s,temperature_c,power_w\n${rows.join('\n')}`, { label: 'rehearsal' });
 * runs.map(({ label, timeS }) => [label, timeS.length]); // => [['rehearsal 1', 740], ['rehearsal 2', 460]]
 */
export function parseRuns(text: string | Uint8Array, options: ParseRunsOptions = {}): readonly Run[] {
  requireRunsOptions(options, PARSE_RUNS_NAMES, 'parseRuns');
  return runsFrom(collectText(text, options, 'parseRuns'), options);
}

/** Checks options before any text is read. */
export function requireRunsOptions(options: ParseRunsOptions, names: object, caller: string): void {
  requireOptions(options, names, caller);
  if (options.idleS !== undefined)
    requireNumber(options.idleS, { caller, argument: 'options.idleS' }, { above: 0 });
}

/** The runs among samples that were read in one go. */
export function runsFrom(samples: CollectedSamples, options: ParseRunsOptions): readonly Run[] {
  const { label = 'run', idleS = DEFAULT_IDLE_S } = options;
  const starts = startsOf(samples.columns.time!);
  const edges = [...starts, samples.lineNumbers.length].flatMap((start, k) => {
    const end = starts[k + 1] ?? samples.lineNumbers.length;
    if (start >= end) return [];
    return start + 1 >= end ? [start] : [start, ...idleEdges(samples, start, end, idleS, options)];
  });
  edges.push(samples.lineNumbers.length);
  if (edges.length === 2) return [runFrom(samples, options)];
  // A run needs two samples; a single stray one goes with what is before it.
  const parts = edges
    .slice(0, -1)
    .map((start, k): readonly [number, number] => [start, edges[k + 1]])
    .filter(([start, end]) => end - start >= 2);
  return parts.map(([start, end], k) => {
    const part = partOfSamples(samples, start, end);
    const finding: Finding = {
      code: 'part-of-log',
      severity: 'note',
      message: `Run ${k + 1} of ${parts.length} in this log: lines ${part.lineNumbers[0]} to ${part.lineNumbers[end - start - 1]}; parted where time starts anew, or at ${idleS} s without load or without samples. Counts of rows are those of the whole log.`,
      remedy: 'to part at other pauses, write the option idleS',
    };
    return runFrom(
      { ...part, findings: [finding, ...part.findings] },
      { ...options, label: `${label} ${k + 1}` },
    );
  });
}

/** Indices at which time starts anew and runs on from there. */
function startsOf(timeS: Float64Array): readonly number[] {
  const starts = [0];
  let highest = timeS[0];
  for (let i = 1; i < timeS.length; i++) {
    const time = timeS[i];
    if (time < timeS[i - 1] && runsOnBelow(timeS, i, highest)) {
      starts.push(i);
      highest = time;
    } else if (time > highest) highest = time;
  }
  return starts;
}

/** Whether the samples from there on increase and stay below what was before, so that it is no stray stamp. */
function runsOnBelow(timeS: Float64Array, from: number, before: number): boolean {
  for (let i = from + 1; i <= from + RESTART_SAMPLES; i++) {
    if (i >= timeS.length || timeS[i] <= timeS[i - 1] || timeS[i] >= before) return false;
  }
  return true;
}

/** Where a stretch of samples is parted by pauses: indices of the first samples of the runs but the first. */
function idleEdges(
  samples: CollectedSamples,
  start: number,
  end: number,
  idleS: number,
  options: ParseRunsOptions,
): readonly number[] {
  const edges = new Set<number>();
  const times = samples.columns.time!.subarray(start, end);
  if (times.every((time, i) => i === 0 || time > times[i - 1])) {
    for (const { beforeIndex, startS, endS } of samplingOf(times).gaps)
      if (endS - startS >= idleS) edges.add(start + beforeIndex + 1);
  }
  const run = runFrom(partOfSamples(samples, start, end), options);
  // Samples out of order are left out of a run, and its indices are no longer those of the log.
  if (run.timeS.length !== end - start) return [...edges].sort((a, b) => a - b);
  let quietStart: number | undefined;
  let hasLoad = false;
  for (const segment of loadSegments(run).segments) {
    if (segment.kind !== 'load') {
      quietStart ??= segment.startIndex;
      continue;
    }
    if (hasLoad && quietStart !== undefined) {
      const quietS = segment.startS - run.timeS[quietStart];
      if (quietS >= idleS && !hasEdgeBetween(edges, start + quietStart, start + segment.startIndex))
        edges.add(start + leadIn(run.timeS, quietStart, segment.startIndex));
    }
    hasLoad = true;
    quietStart = undefined;
  }
  return [...edges].sort((a, b) => a - b);
}

function hasEdgeBetween(edges: ReadonlySet<number>, from: number, to: number): boolean {
  for (const edge of edges) if (edge >= from && edge <= to) return true;
  return false;
}

/** The first sample of the idling that goes with the load behind it: its last minute, at most half of it. */
function leadIn(timeS: Float64Array, quietStart: number, loadStart: number): number {
  const loadS = timeS[loadStart];
  const leadS = Math.min(LEAD_S, (loadS - timeS[quietStart]) / 2);
  let index = loadStart;
  while (index > quietStart && timeS[index - 1] >= loadS - leadS) index--;
  return index;
}
