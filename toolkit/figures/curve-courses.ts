import type { Estimate } from '../numerics/estimate.js';
import { formatNumber } from '../numerics/format-estimate.js';
import { effectiveShare } from '../power/curve-voltage.js';
import type { CurvePoint, PowerCurve } from '../power/power-curve.js';
import type { Trace } from './figure.js';
import { lightPalette } from './palette.js';
import { bandOutline, type EndLabel, type Panel, roomAround } from './panels.js';
import { light } from './thinned.js';

const { ink, blue, red, ochre, blueBand, redBand, ochreBand, paper } = lightPalette;
const stepCount = 60;

/** Cold to hot; each with a dash of its own, so that greyscale keeps them apart. */
const courses = [
  { color: blue, band: blueBand, dash: 'solid' },
  { color: ochre, band: ochreBand, dash: 'dashdot' },
  { color: red, band: redBand, dash: 'dash' },
] as const;

/** What is drawn against power. */
interface Quantity {
  readonly yTitle: string;
  readonly at: (at: { readonly powerW: number; readonly temperatureC: number }) => Estimate;
  readonly ofPoint: (point: CurvePoint) => number | undefined;
  /** How a value is shown under the pointer. */
  readonly hover: string;
  /** Least height of the panel, in the unit of the quantity. */
  readonly leastHeight: number;
  readonly weight: number;
}

/**
 * A quantity of a curve against power: one course per temperature with its 95 % band, dotted beyond the tested powers, and
 * the steady points.
 */
export function coursesPanel(
  curve: PowerCurve,
  xRange: readonly [number, number],
  temperaturesC: readonly number[],
  quantity: Quantity,
): Panel {
  const [lowW, highW] = curve.testedRange.powerW;
  const powersW = Array.from(
    { length: stepCount + 1 },
    (_, i) => xRange[0] + ((xRange[1] - xRange[0]) * i) / stepCount,
  );
  const traces: Trace[] = [];
  const endLabels: EndLabel[] = [];
  const seen: number[] = curve.points.flatMap((point) => quantity.ofPoint(point) ?? []);
  temperaturesC.forEach((temperatureC, index, all) => {
    const course = courses[all.length === 1 ? 0 : index === all.length - 1 ? 2 : index];
    const rows = powersW.flatMap((powerW) => {
      const estimate = quantity.at({ powerW, temperatureC });
      return estimate.value === undefined ? [] : [{ powerW, estimate, value: estimate.value }];
    });
    if (rows.length === 0) return;
    const withBand = rows.flatMap((row) =>
      row.estimate.kind === 'estimated' ? [{ ...row, interval: row.estimate.interval95 }] : [],
    );
    const name = formatNumber(Math.round(temperatureC), '°C');
    if (withBand.length > 1) {
      const outline = bandOutline(
        withBand.map((row) => light(row.powerW)),
        withBand.map((row) => light(row.interval[0])),
        withBand.map((row) => light(row.interval[1])),
      );
      seen.push(...outline.y);
      traces.push({
        type: 'scatter',
        mode: 'lines',
        name: `95 % band at ${name}`,
        ...outline,
        fill: 'toself',
        fillcolor: course.band,
        line: { width: 0, color: course.color },
        hoverinfo: 'skip',
      });
    }
    const tested = rows.filter((row) => row.powerW >= lowW && row.powerW <= highW);
    const below = rows.filter((row) => row.powerW <= (tested[0]?.powerW ?? highW));
    const above = rows.filter((row) => row.powerW >= (tested.at(-1)?.powerW ?? highW));
    for (const [part, dash] of [
      [below, 'dot'],
      [tested, course.dash],
      [above, 'dot'],
    ] as const) {
      if (part.length < 2) continue;
      traces.push({
        type: 'scatter',
        mode: 'lines',
        name: part === tested ? name : `${name}, beyond the tested powers`,
        x: part.map((row) => light(row.powerW)),
        y: part.map((row) => light(row.value)),
        line: { color: course.color, width: 2.2, dash, simplify: false },
        hovertemplate: `${name}, %{x:.1f} W: ${quantity.hover}<extra></extra>`,
      });
    }
    seen.push(...rows.map((row) => row.value));
    endLabels.push({ text: `at ${name}`, y: rows.at(-1)!.value, color: course.color });
  });
  traces.push(
    ...pointTraces(curve, (point) => point.powerW, quantity.ofPoint, `%{x:.1f} W: ${quantity.hover}`),
  );
  return {
    yTitle: quantity.yTitle,
    weight: quantity.weight,
    range: roomAround(seen, quantity.leastHeight),
    traces,
    endLabels,
  };
}

/** The steady points: circles at the curve's own voltage, diamonds at another. */
export function pointTraces(
  curve: PowerCurve,
  along: (point: CurvePoint) => number,
  ofPoint: (point: CurvePoint) => number | undefined,
  hover: string,
): readonly Trace[] {
  const offsetMv = curve.voltage?.offsetMv ?? 0;
  const isHere = (point: CurvePoint): boolean => (point.voltageOffsetMv ?? 0) === offsetMv;
  const traceOf = (name: string, symbol: string, points: readonly CurvePoint[]): Trace => ({
    type: 'scatter',
    mode: 'markers',
    name,
    x: points.map((point) => light(along(point))),
    y: points.map((point) => light(ofPoint(point)!)),
    marker: {
      color: points.map((point) => (isHeldByCap(point) ? ink : paper)),
      size: 8,
      symbol,
      line: { color: ink, width: 1.5 },
    },
    text: points.map(
      (point) => `${formatNumber(point.powerW, 'W')}, ${formatNumber(point.temperatureC, '°C')}`,
    ),
    hovertemplate: `${hover}<br>%{text}<extra></extra>`,
  });
  const known = curve.points.filter((point) => ofPoint(point) !== undefined);
  const here = known.filter(isHere);
  const others = known.filter((point) => !isHere(point));
  return [
    ...(here.length === 0 ? [] : [traceOf('steady points', 'circle', here)]),
    ...(others.length === 0 ? [] : [traceOf('steady points at another voltage', 'diamond', others)]),
  ];
}

/** Frequency at which a point is drawn: at the curve's own voltage what the curve counts, else what was reported. */
export function frequencyOfPoint({ voltage }: PowerCurve, point: CurvePoint): number {
  const isHere = voltage !== undefined && (point.voltageOffsetMv ?? 0) === voltage.offsetMv;
  return (isHere ? effectiveShare(voltage).ratio : 1) * point.frequencyMHz;
}

/** Whether a point was held by the cap, as far as is known. */
export function isHeldByCap(point: CurvePoint): boolean {
  return point.limitedBy === 'cap' || point.limitedBy === 'unknown';
}
