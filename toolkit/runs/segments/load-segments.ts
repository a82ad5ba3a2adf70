import { type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import { meanOf } from '../block-means.js';
import type { Finding } from '../finding.js';
import { requireRun } from '../require-run.js';
import type { Run } from '../run.js';
import { type CapInForce, ceilingOf, type HeldPart, heldParts, inferCap } from './load-limit.js';
import { type LoadStretches, loadStretches, type Stretch } from './load-stretches.js';
import type { LoadSegment, QuietSegment, RunSegment, SegmentSpan } from './run-segment.js';

/** How to divide a run, where its own data do not settle it. */
export interface LoadSegmentsOptions {
  /** Below this power the processor idles, W; by default found from throughput or from the levels of power. */
  readonly idleBelowW?: number;
  /** The processor's temperature limit where it is known, degrees Celsius; else a plateau is looked for. */
  readonly temperatureLimitC?: number;
}

const OPTION_NAMES: KnownNames<LoadSegmentsOptions> = { idleBelowW: true, temperatureLimitC: true };

/** A run divided into idle, load and cool-down. */
export interface LoadSegments {
  /** In order of time, without holes. */
  readonly segments: readonly RunSegment[];
  /** The cap the load was judged against, W: the stated one, or the power that was held. */
  readonly powerCapW?: number;
  readonly capSource: 'given' | 'inferred' | 'unknown';
  readonly findings: readonly Finding[];
}

/** A stretch after load that falls by more than this, K, cools down; else it idles. */
const COOLING_K = 2;

/**
 * Divides a run into idle, load and cool-down, and says of each load segment what held its power.
 *
 * Load is told from idling by throughput where it was logged (a tenth of its usual value), else by power: the
 * lower of two levels is idle if it is below half the higher one and the temperature is not near its highest.
 * A load stretch is divided where power, averaged over about 10 s, leaves the cap by 3 % (at least 2 W):
 * `cap` where it stays there; `temperature` where the temperature sits on the run's highest plateau (within
 * 1.5 K) while power falls; `frequency` where the frequency stands still at the run's highest; `demand` where
 * nothing shows. Without a stated cap, power held within 1.5 % is taken for one, and a finding says so.
 *
 * @param run - with `conditions.powerCapW` where the cap is known
 * @param options - thresholds where the run's own data do not settle them
 * @returns the segments in order, the cap they were judged against, and findings (power below or above the cap,
 *   an inferred cap, levels too close to tell)
 * @throws ArgumentError if a threshold is not a finite number
 * @example
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const loaded = (t: number) => t >= 120;
 * const run = makeRun(
 *   {
 *     timeS,
 *     temperatureC: timeS.map((t) => (loaded(t) ? 70 - 35 * Math.exp(-(t - 120) / 60) : 35)),
 *     powerW: timeS.map((t) => (loaded(t) ? 65 : 15)),
 *   },
 *   { label: 'drawer', conditions: { powerCapW: 65 } },
 * );
 * const { segments } = loadSegments(run);
 * segments.map(({ kind, startS }) => [kind, startS]); // => [['idle', 0], ['load', 120]]
 * segments[1]; // => { limitedBy: 'cap', meanPowerW: 65 }
 */
export function loadSegments(run: Run, options: LoadSegmentsOptions = {}): LoadSegments {
  requireRun(run, 'loadSegments');
  requireKnownNames(options, OPTION_NAMES, { caller: 'loadSegments', argument: 'options' });
  const { idleBelowW, temperatureLimitC } = options;
  if (idleBelowW !== undefined) {
    requireNumber(idleBelowW, { caller: 'loadSegments', argument: 'options.idleBelowW' }, { atLeast: 0 });
  }
  if (temperatureLimitC !== undefined) {
    requireNumber(temperatureLimitC, { caller: 'loadSegments', argument: 'options.temperatureLimitC' });
  }

  const divided = loadStretches(run, idleBelowW);
  const loads = divided.stretches.filter(({ loaded }) => loaded);
  const stated = run.conditions.powerCapW;
  const cap: CapInForce | undefined =
    stated === undefined ? inferCap(run, loads) : { powerCapW: stated, source: 'given' };
  const limits = {
    ...(cap === undefined ? {} : { cap }),
    ...(temperatureLimitC === undefined ? {} : { temperatureLimitC }),
    ceiling: loads.length === 0 ? { temperatureC: Number.NaN } : ceilingOf(run, loads),
  };

  const segments: RunSegment[] = [];
  const findings: Finding[] = [...levelFindings(divided), ...inferenceFindings(cap, loads.length)];
  for (const stretch of divided.stretches) {
    if (!stretch.loaded) {
      segments.push(quietSegment(run, stretch, divided.rule, segments.at(-1)));
      continue;
    }
    for (const part of heldParts(run, stretch, limits)) {
      const segment: LoadSegment = {
        kind: 'load',
        limitedBy: part.limitedBy,
        ...spanOf(run, part),
        reason: part.reason,
      };
      segments.push(segment);
      findings.push(...limitFindings(segment, part, cap));
    }
  }
  return {
    segments,
    ...(cap === undefined ? {} : { powerCapW: cap.powerCapW }),
    capSource: cap?.source ?? 'unknown',
    findings,
  };
}

function spanOf(
  run: Run,
  { startIndex, endIndex }: { readonly startIndex: number; readonly endIndex: number },
): Omit<SegmentSpan, 'reason'> {
  return {
    startIndex,
    endIndex,
    startS: run.timeS[startIndex],
    endS: run.timeS[endIndex - 1],
    meanPowerW: meanOf(run.powerW, startIndex, endIndex),
    meanTemperatureC: meanOf(run.temperatureC, startIndex, endIndex),
    ...(run.frequencyMHz === undefined
      ? {}
      : { meanFrequencyMHz: meanOf(run.frequencyMHz, startIndex, endIndex) }),
  };
}

function quietSegment(
  run: Run,
  stretch: Stretch,
  rule: string,
  before: RunSegment | undefined,
): QuietSegment {
  const { startIndex, endIndex } = stretch;
  const edge = Math.max(1, Math.floor((endIndex - startIndex) / 20));
  // From the last loaded sample, since the die has cooled a good part of the way one sample later.
  const startC = before === undefined ? run.temperatureC[startIndex] : run.temperatureC[startIndex - 1];
  const fallK = startC - meanOf(run.temperatureC, endIndex - edge, endIndex);
  const cools = before?.kind === 'load' && fallK > COOLING_K;
  return {
    kind: cools ? 'cool-down' : 'idle',
    ...spanOf(run, stretch),
    reason: cools ? `${rule}; after load, cooling by ${Number(fallK.toPrecision(3))} K` : rule,
  };
}

function levelFindings({ closeLevelsW }: LoadStretches): readonly Finding[] {
  if (closeLevelsW === undefined) return [];
  const [low, high] = closeLevelsW.map((level) => Number(level.toPrecision(3)));
  return [
    {
      code: 'close-power-levels',
      severity: 'warning',
      message: `The power moves between ${low} and ${high} W; both were taken for load, since the lower is more than half the higher.`,
      remedy: `if the processor idled at ${low} W, pass idleBelowW between the two`,
    },
  ];
}

function inferenceFindings(cap: CapInForce | undefined, loadCount: number): readonly Finding[] {
  if (loadCount === 0) {
    return [
      {
        code: 'no-load',
        severity: 'serious',
        message: 'The run holds no load that lasts 5 s.',
        remedy: 'log a run under load, or pass a lower idleBelowW',
      },
    ];
  }
  if (cap === undefined) {
    return [
      {
        code: 'cap-unknown',
        severity: 'warning',
        message: 'No power cap is stated, and the power was not held constant, so none could be inferred.',
        remedy: 'state the cap in force as conditions.powerCapW',
      },
    ];
  }
  if (cap.source === 'given') return [];
  return [
    {
      code: 'cap-inferred',
      severity: 'note',
      message: `No power cap is stated; the power was held at ${formatNumber(cap.powerCapW, 'W')}, which is taken for the cap.`,
      remedy: 'state the cap in force as conditions.powerCapW',
    },
  ];
}

/** What a load held by something else than its cap means for the person. */
const REMEDIES: Readonly<Record<HeldPart['limitedBy'], string>> = {
  temperature:
    'this cooler does not hold this cap: the temperature is the limit of the processor, so use the power drawn as the result, or log a run at a lower cap',
  frequency:
    'the processor cannot draw more at its highest frequency: the cap does not bind, so log a run at a lower cap',
  demand: 'log a workload that keeps all cores busy, or check the stated cap',
  cap: 'check which cap was in force, and state it as conditions.powerCapW',
};

function limitFindings(
  segment: LoadSegment,
  { against, limitedBy }: HeldPart,
  cap: CapInForce | undefined,
): readonly Finding[] {
  if (against === 'at') return [];
  if (against === 'unknown' && limitedBy !== 'temperature') return [];
  const from = Number(segment.startS.toPrecision(4));
  const to = Number(segment.endS.toPrecision(4));
  const rangeS: readonly [number, number] = [segment.startS, segment.endS];
  if (against === 'above') {
    return [
      {
        code: 'above-cap',
        severity: cap?.source === 'given' ? 'warning' : 'note',
        message: `From ${from} to ${to} s: ${segment.reason}.`,
        remedy:
          'a short burst above the sustained cap looks like this; if it lasts, another cap was in force: correct conditions.powerCapW',
        rangeS,
      },
    ];
  }
  return [
    {
      code: limitedBy === 'cap' ? 'held-below-cap' : `held-by-${limitedBy}`,
      severity: 'warning',
      message: `From ${from} to ${to} s: ${segment.reason}.`,
      remedy: REMEDIES[limitedBy],
      rangeS,
    },
  ];
}
