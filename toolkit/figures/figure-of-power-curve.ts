import { ArgumentError } from '../errors.js';
import type { Estimate } from '../numerics/estimate.js';
import { formatEstimate, formatNumber } from '../numerics/format-estimate.js';
import { frequencyAt } from '../power/frequency-at.js';
import type { PowerCurve } from '../power/power-curve.js';
import type { Figure, Trace } from './figure.js';
import { shortened } from './figure-text.js';
import { lightPalette } from './palette.js';
import { bandOutline, type EndLabel, type Panel, panelFigure, roomAround } from './panels.js';
import { light } from './thinned.js';

const { ink, blue, red, ochre, blueBand, redBand, ochreBand, paper } = lightPalette;
const stepCount = 60;

/** Cold to hot; each with a dash of its own, so that greyscale keeps them apart. */
const courses = [
  { color: blue, band: blueBand, dash: 'solid' },
  { color: ochre, band: ochreBand, dash: 'dashdot' },
  { color: red, band: redBand, dash: 'dash' },
] as const;

/**
 * Frequency against package power at two or three temperatures, each with its 95 % band, and the steady points
 * the curve was fitted to.
 *
 * Filled points were held by the power cap; open ones by something else. Beyond the tested powers the line is
 * dotted. Where one cap alone was logged, frequency is drawn against temperature instead: there is no curve over
 * power to draw.
 *
 * @param curve - what `fitPowerCurve` or `curveFromSteadyPoints` returned
 * @returns a figure with one panel
 * @throws ArgumentError if the curve holds no points
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55, frequencyMHz: 3100 },
 *   { powerW: 90, temperatureC: 70, frequencyMHz: 3520 },
 *   { powerW: 118, temperatureC: 84, frequencyMHz: 3810 },
 * ]);
 * figureOfPowerCurve(curve).layout.yaxis?.title?.text; // => 'Frequency, MHz'
 */
export function figureOfPowerCurve(curve: PowerCurve): Figure {
  if (curve.points.length === 0) {
    throw new ArgumentError({
      caller: 'figureOfPowerCurve',
      argument: 'curve.points',
      expected: 'at least one steady point',
      received: curve.points.length,
    });
  }
  return curve.frequencyPerPowerMHzPerW.kind === 'estimated'
    ? againstPower(curve)
    : againstTemperature(curve);
}

function againstPower(curve: PowerCurve): Figure {
  const [lowW, highW] = curve.testedRange.powerW;
  const room = Math.max(2, (highW - lowW) * 0.12);
  const xRange = [Math.max(0, lowW - room), highW + room] as const;
  const powersW = Array.from(
    { length: stepCount + 1 },
    (_, i) => xRange[0] + ((xRange[1] - xRange[0]) * i) / stepCount,
  );
  const traces: Trace[] = [];
  const endLabels: EndLabel[] = [];
  const seen: number[] = curve.points.map((point) => point.frequencyMHz);
  drawnTemperatures(curve).forEach((temperatureC, index, all) => {
    const course = courses[all.length === 1 ? 0 : index === all.length - 1 ? 2 : index]!;
    const rows = powersW.flatMap((powerW) => {
      const estimate = frequencyAt(curve, { powerW, temperatureC });
      return estimate.value === undefined ? [] : [{ powerW, estimate, frequencyMHz: estimate.value }];
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
        y: part.map((row) => light(row.frequencyMHz)),
        line: { color: course.color, width: 2.2, dash, simplify: false },
        hovertemplate: `${name}, %{x:.1f} W: %{y:.0f} MHz<extra></extra>`,
      });
    }
    seen.push(...rows.map((row) => row.frequencyMHz));
    endLabels.push({ text: `at ${name}`, y: rows.at(-1)!.frequencyMHz, color: course.color });
  });
  traces.push(pointTrace(curve, (point) => point.powerW, '%{x:.1f} W'));
  const title = slopesInWords(curve);
  return panelFigure({
    title,
    subtitle: `${originInWords(curve)} Shaded: 95 % interval.${openPointsInWords(curve)}`,
    description: `${curve.points.length} steady points from ${formatNumber(lowW)} to ${formatNumber(highW, 'W')}.`,
    xTitle: 'Package power, W',
    xRange,
    heightPx: 360,
    panels: [{ yTitle: 'Frequency, MHz', weight: 1, range: roomAround(seen, 50), traces, endLabels }],
    hovermode: 'closest',
  });
}

function againstTemperature(curve: PowerCurve): Figure {
  const title = slopesInWords(curve);
  const [lowC, highC] = curve.testedRange.temperatureC;
  const [lowW, highW] = curve.testedRange.powerW;
  const powerW = (lowW + highW) / 2;
  const rows = Array.from({ length: stepCount + 1 }, (_, i) => {
    const temperatureC = lowC + ((highC - lowC) * i) / stepCount;
    return { temperatureC, estimate: frequencyAt(curve, { powerW, temperatureC }) };
  }).flatMap(({ temperatureC, estimate }) =>
    estimate.kind === 'estimated'
      ? [
          {
            temperatureC: light(temperatureC),
            frequencyMHz: light(estimate.value),
            interval: estimate.interval95,
          },
        ]
      : [],
  );
  const outline = bandOutline(
    rows.map((row) => row.temperatureC),
    rows.map((row) => light(row.interval[0])),
    rows.map((row) => light(row.interval[1])),
  );
  const lines: readonly Trace[] =
    highC > lowC && rows.length > 1
      ? [
          {
            type: 'scatter',
            mode: 'lines',
            name: '95 % band',
            ...outline,
            fill: 'toself',
            fillcolor: blueBand,
            line: { width: 0, color: blue },
            hoverinfo: 'skip',
          },
          {
            type: 'scatter',
            mode: 'lines',
            name: `at ${formatNumber(powerW, 'W')}`,
            x: rows.map((row) => row.temperatureC),
            y: rows.map((row) => row.frequencyMHz),
            line: { color: blue, width: 2.2, simplify: false },
            hovertemplate: '%{x:.1f} °C: %{y:.0f} MHz<extra></extra>',
          },
        ]
      : [];
  const panel: Panel = {
    yTitle: 'Frequency, MHz',
    weight: 1,
    range: roomAround(
      [...curve.points.map((point) => point.frequencyMHz), ...(lines.length > 0 ? outline.y : [])],
      50,
    ),
    traces: [...lines, pointTrace(curve, (point) => point.temperatureC, '%{x:.1f} °C')],
  };
  return panelFigure({
    title,
    subtitle: `${originInWords(curve)} One power alone was logged: frequency is drawn against temperature.${openPointsInWords(curve)}`,
    description: `${curve.points.length} steady points at one power.`,
    xTitle: 'Temperature, °C',
    xRange: roomAround(
      curve.points.map((point) => point.temperatureC),
      4,
    ),
    heightPx: 320,
    panels: [panel],
    hovermode: 'closest',
  });
}

/** The lowest and highest temperature tested, and the middle where that is more than 16 K of span. */
function drawnTemperatures(curve: PowerCurve): readonly number[] {
  const [low, high] = curve.testedRange.temperatureC;
  const knowsTemperature = curve.frequencyPerTemperatureMHzPerK.kind === 'estimated';
  if (!knowsTemperature || high - low < 4) return [(low + high) / 2];
  return high - low > 16 ? [low, (low + high) / 2, high] : [low, high];
}

function pointTrace(
  curve: PowerCurve,
  along: (point: PowerCurve['points'][number]) => number,
  place: string,
): Trace {
  return {
    type: 'scatter',
    mode: 'markers',
    name: 'steady points',
    x: curve.points.map((point) => light(along(point))),
    y: curve.points.map((point) => light(point.frequencyMHz)),
    marker: {
      color: curve.points.map((point) => (isHeldByCap(point) ? ink : paper)),
      size: 8,
      symbol: 'circle',
      line: { color: ink, width: 1.5 },
    },
    text: curve.points.map(
      (point) => `${formatNumber(point.powerW, 'W')}, ${formatNumber(point.temperatureC, '°C')}`,
    ),
    hovertemplate: `${place}: %{y:.0f} MHz<br>%{text}<extra></extra>`,
  };
}

function isHeldByCap(point: PowerCurve['points'][number]): boolean {
  return point.limitedBy === 'cap' || point.limitedBy === 'unknown';
}

function openPointsInWords(curve: PowerCurve): string {
  return curve.points.every(isHeldByCap) ? '' : ' Open points were not held by the cap.';
}

function originInWords(curve: PowerCurve): string {
  const name = curve.processor ?? curve.label;
  const workload = curve.workload === undefined ? '' : `, ${shortened(curve.workload)}`;
  return name === '' ? '' : `${shortened(name)}${workload}.`;
}

function slopesInWords(curve: PowerCurve): string {
  const perWatt = curve.frequencyPerPowerMHzPerW;
  const perKelvin = curve.frequencyPerTemperatureMHzPerK;
  const power =
    perWatt.value === undefined
      ? 'What one watt changes is not identifiable'
      : `One watt less costs ${formatEstimate(perWatt, 'MHz')}`;
  if (perKelvin.value === undefined) return `${power}; what one kelvin changes is not identifiable`;
  const loses = perKelvin.value <= 0;
  return `${power}; one kelvin more ${loses ? 'costs' : 'gains'} ${formatEstimate(loses ? negated(perKelvin) : perKelvin, 'MHz')}`;
}

function negated(estimate: Estimate): Estimate {
  if (estimate.kind === 'unavailable')
    return estimate.value === undefined ? estimate : { ...estimate, value: -estimate.value };
  const [low, high] = estimate.interval95;
  return { ...estimate, value: -estimate.value, interval95: [-high, -low] };
}
