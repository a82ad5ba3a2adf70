import { requireKind } from '../errors.js';
import { formatNumber } from '../numerics/format-estimate.js';
import type { RunSlowdown, SlowdownCheck } from '../runs/slowdown/slowdown.js';
import { megahertz } from '../runs/slowdown/slowdown-words.js';
import type { Figure, Trace } from './figure.js';
import { shortened } from './figure-text.js';
import { lightPalette } from './palette.js';
import { panelFigure, roomAround } from './panels.js';
import { light } from './thinned.js';

const { ink, quiet, blue, red, paper } = lightPalette;
const longestName = 30;
const rowHeightPx = 44;

/**
 * What runs report and what they work like: one row per run, an open circle at the reported frequency, a filled mark with
 * its 95 % interval at the frequency at which the reference does the same work.
 *
 * Runs that lost work have a diamond and stand on top; the others a circle.
 *
 * @param check - what `checkSlowdown` returned
 * @returns a figure with one row per run
 * @throws ArgumentError if it is no result of `checkSlowdown`
 * @example
 * const run = (label: string, frequencyMHz: number, workPerCycle: number) => {
 *   const timeS = Array.from({ length: 400 }, (_, i) => i);
 *   return makeRun({
 *     timeS, powerW: timeS.map(() => 95), temperatureC: timeS.map((t) => 70 - 30 * Math.exp(-t / 60)),
 *     frequencyMHz: timeS.map(() => frequencyMHz),
 *     throughputPerS: timeS.map((t) => workPerCycle * frequencyMHz * (1 + 0.004 * Math.sin(1.7 * t))),
 *   }, { label, conditions: { powerCapW: 95 } });
 * };
 * const check = checkSlowdown([run('as delivered', 3900, 0.0016), run('lowered', 4050, 0.00147)]);
 * figureOfSlowdown(check).layout.meta?.title; // => "Run 'lowered' reports 4050 MHz, works like 3721 MHz"
 */
export function figureOfSlowdown(check: SlowdownCheck): Figure {
  requireKind(check, 'slowdown-check', {
    caller: 'figureOfSlowdown',
    argument: 'check',
    remedy: 'make one with checkSlowdown',
  });
  // Rows are counted from the bottom: the largest loss comes last.
  const rows = [...check.runs].sort((a, b) => lossOf(a) - lossOf(b));
  const intervals = rows.map(effectiveInterval);
  const seen = [
    check.reference.frequencyMHz,
    ...rows.flatMap(({ reportedMHz, effectiveMHz }) => [reportedMHz, effectiveMHz]),
    ...intervals.flat(),
  ];
  const links: Trace[] = rows.map((run, row) => ({
    type: 'scatter',
    mode: 'lines',
    name: `${run.label}, difference`,
    x: [light(run.effectiveMHz), light(run.reportedMHz)],
    y: [row, row],
    line: {
      color: run.verdict === 'loss' ? red : quiet,
      width: 2,
      dash: run.verdict === 'loss' ? 'solid' : 'dot',
    },
    hoverinfo: 'skip',
  }));
  const reported: Trace = {
    type: 'scatter',
    mode: 'markers',
    name: 'reported',
    x: rows.map((run) => light(run.reportedMHz)),
    y: rows.map((_, row) => row),
    marker: { color: paper, size: 10, symbol: 'circle', line: { color: ink, width: 1.5 } },
    hovertemplate: 'reported: %{x:.0f} MHz<extra></extra>',
  };
  const effective: Trace = {
    type: 'scatter',
    mode: 'markers',
    name: 'works like',
    x: rows.map((run) => light(run.effectiveMHz)),
    y: rows.map((_, row) => row),
    marker: {
      color: rows.map((run) => (run.verdict === 'loss' ? red : blue)),
      size: 10,
      symbol: rows.map((run) => (run.verdict === 'loss' ? 'diamond' : 'circle')),
    },
    error_x: {
      type: 'data',
      symmetric: false,
      array: rows.map((run, row) => light(intervals[row][1] - run.effectiveMHz)),
      arrayminus: rows.map((run, row) => light(run.effectiveMHz - intervals[row][0])),
      thickness: 1.6,
      width: 5,
      color: ink,
    },
    text: rows.map(({ sentence }) => sentence),
    hovertemplate: 'works like %{x:.0f} MHz<br>%{text}<extra></extra>',
  };
  const xRange = roomAround(seen, 40, 0.12);
  return panelFigure({
    title: titleOf(rows),
    subtitle: `Open: reported frequency. Filled: frequency at which ${listed(check.reference.labels)} would do the same work, with its 95 % interval.`,
    description: check.summary,
    xTitle: 'Core frequency, MHz',
    xRange,
    heightPx: 40 + rowHeightPx * rows.length,
    panels: [
      {
        yTitle: '',
        weight: 1,
        range: [-0.6, rows.length - 0.4],
        rows: rows.map(({ label }) => shortened(label, longestName)),
        traces: [...links, reported, effective],
        labels: rows.map((run, row) => ({
          text: run.verdict === 'may-wait' ? 'slowed, or waits for memory' : shareInWords(run),
          x: (run.effectiveMHz + run.reportedMHz) / 2,
          y: row,
          color: run.verdict === 'loss' ? red : quiet,
          xanchor: 'center',
          yanchor: 'bottom',
          yshift: 7,
        })),
      },
    ],
    hovermode: 'closest',
  });
}

function titleOf(rows: readonly RunSlowdown[]): string {
  const losses = rows.filter(({ verdict }) => verdict === 'loss');
  const worst = losses.at(-1);
  if (worst !== undefined) {
    const more = losses.length === 1 ? '' : `; ${losses.length - 1} more lost work`;
    return `Run '${shortened(worst.label)}' reports ${megahertz(worst.reportedMHz)} MHz, works like ${megahertz(worst.effectiveMHz)} MHz${more}`;
  }
  if (rows.some(({ verdict }) => verdict === 'more-work'))
    return 'A run does more work per cycle than the reference: that may itself be slowed down';
  if (rows.some(({ verdict }) => verdict === 'may-wait'))
    return 'Less work per cycle at higher frequency: slowed down, or waiting for memory';
  return rows.length === 1 ? 'The run works as it reports' : 'All runs work as they report';
}

function lossOf({ lossFraction }: RunSlowdown): number {
  return lossFraction.value ?? 0;
}

/** The interval of the loss, carried over to the frequency. */
function effectiveInterval({
  lossFraction,
  reportedMHz,
  effectiveMHz,
}: RunSlowdown): readonly [number, number] {
  if (lossFraction.kind !== 'estimated' || lossFraction.value >= 1) return [effectiveMHz, effectiveMHz];
  const [low, high] = lossFraction.interval95;
  // ln(effective/reported) is proportional to ln(1 − loss).
  const scale =
    lossFraction.value === 0 ? 1 : Math.log(effectiveMHz / reportedMHz) / Math.log(1 - lossFraction.value);
  const at = (loss: number): number => reportedMHz * (1 - loss) ** scale;
  return [at(high), at(low)];
}

function shareInWords(run: RunSlowdown): string {
  const percent = Math.round(1000 * lossOf(run)) / 10;
  if (run.verdict === 'no-loss') return 'no difference beyond noise';
  return percent > 0 ? `${formatNumber(percent, '%')} less work` : `${formatNumber(-percent, '%')} more work`;
}

function listed(labels: readonly string[]): string {
  const [first = 'the reference', ...rest] = labels;
  return rest.length === 0 ? shortened(first, longestName) : `the ${labels.length} reference runs`;
}
