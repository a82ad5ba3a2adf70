import type { Axis, Datum } from '../../figures/figure.js';
import { plainFigureText } from './still-picture-text.js';

/** Places values of an axis on the picture, in px. */
export interface Scale {
  /** A value of the data, or `undefined` where it has no place. */
  readonly ofDatum: (value: Datum | undefined) => number | undefined;
  /** A value as labels and the range give it: a logarithm on a logarithmic axis. */
  readonly ofRange: (value: number) => number;
  readonly startPx: number;
  readonly endPx: number;
}

/** A mark on an axis. */
export interface Tick {
  readonly px: number;
  readonly text: string;
}

/** The scale of an axis between two places of the picture; a y axis starts at the bottom. */
export function scaleOf(axis: Axis, startPx: number, endPx: number): Scale {
  const [low, high] = axis.range ?? [0, 1];
  const width = high - low || 1;
  const ofRange = (value: number): number => startPx + ((value - low) / width) * (endPx - startPx);
  return {
    startPx,
    endPx,
    ofRange,
    ofDatum(value) {
      if (typeof value !== 'number') return undefined;
      const onAxis = axis.type === 'log' ? Math.log10(value) : value;
      return Number.isFinite(onAxis) ? ofRange(onAxis) : undefined;
    },
  };
}

/** The marks of an axis: those it names, or round numbers with about `leastGapPx` between them. */
export function ticksOf(axis: Axis, scale: Scale, leastGapPx: number): readonly Tick[] {
  if (axis.tickvals !== undefined)
    return axis.tickvals.flatMap((value, index) => {
      const px = scale.ofDatum(value);
      const text = axis.ticktext?.[index] ?? String(value);
      return px === undefined || !isInside(px, scale) ? [] : [{ px, text: plainFigureText(text) }];
    });
  const [low, high] = axis.range ?? [0, 1];
  const most = Math.max(2, Math.floor(Math.abs(scale.endPx - scale.startPx) / leastGapPx));
  const step = roundStep((high - low) / Math.min(axis.nticks ?? most, most));
  const decimals = Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
  const first = Math.ceil(low / step - 1e-9);
  const count = Math.floor(high / step + 1e-9) - first + 1;
  return Array.from({ length: Math.max(0, count) }, (_, i) => {
    const value = (first + i) * step;
    return { px: scale.ofRange(value), text: withMinus(value.toFixed(decimals)) };
  });
}

/** The next 1, 2 or 5 with zeros. */
function roundStep(least: number): number {
  const power = 10 ** Math.floor(Math.log10(least));
  return [1, 2, 5, 10].map((digit) => digit * power).find((step) => step >= least * (1 - 1e-9)) ?? least;
}

function withMinus(text: string): string {
  return Number(text) === 0 ? text.replace('-', '') : text.replace('-', '−');
}

function isInside(px: number, { startPx, endPx }: Scale): boolean {
  return px >= Math.min(startPx, endPx) - 0.5 && px <= Math.max(startPx, endPx) + 0.5;
}
