import { ArgumentError } from '../errors.js';
import type { Estimate } from '../numerics/estimate.js';
import { formatEstimate, formatNumber } from '../numerics/format-estimate.js';
import { nameOfCurve } from '../power/name-of-curve.js';
import type { PowerCurve } from '../power/power-curve.js';
import { frequencyAt } from '../power/predict/frequency-at.js';
import { throughputAt } from '../power/predict/throughput-at.js';
import { coursesPanel, frequencyOfPoint, isHeldByCap, pointTraces } from './curve-courses.js';
import type { Figure, Trace } from './figure.js';
import { shortened } from './figure-text.js';
import { lightPalette } from './palette.js';
import { bandOutline, type Panel, panelFigure, roomAround } from './panels.js';
import { light } from './thinned.js';

const { blue, blueBand } = lightPalette;
const stepCount = 60;

/**
 * Frequency against package power at two or three temperatures, each with its 95 % band, and the steady points
 * the curve was fitted to; below it work per second, where throughput was logged.
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
  const temperatures = drawnTemperatures(curve);
  const frequency = coursesPanel(curve, xRange, temperatures, {
    yTitle: 'Frequency, MHz',
    at: (at) => frequencyAt(curve, at),
    ofPoint: (point) => frequencyOfPoint(curve, point),
    hover: '%{y:.0f} MHz',
    leastHeight: 50,
    weight: curve.throughput === undefined ? 1 : 3,
  });
  const work =
    curve.throughput === undefined
      ? []
      : [
          coursesPanel(curve, xRange, temperatures, {
            yTitle: 'Work, 1/s',
            at: (at) => throughputAt(curve, at),
            ofPoint: (point) => point.throughputPerS,
            hover: '%{y:.3~g} 1/s',
            leastHeight: 0,
            weight: 2,
          }),
        ];
  return panelFigure({
    title: slopesInWords(curve),
    subtitle: `${originInWords(curve)} Shaded: 95 % interval.${openPointsInWords(curve)}${offsetInWords(curve)}`,
    description: `${curve.points.length} steady points from ${formatNumber(lowW)} to ${formatNumber(highW, 'W')}.`,
    xTitle: 'Package power, W',
    xRange,
    heightPx: work.length === 0 ? 360 : 540,
    panels: [frequency, ...work],
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
      [
        ...curve.points.map((point) => frequencyOfPoint(curve, point)),
        ...(lines.length > 0 ? outline.y : []),
      ],
      50,
    ),
    traces: [
      ...lines,
      ...pointTraces(
        curve,
        (point) => point.temperatureC,
        (point) => frequencyOfPoint(curve, point),
        '%{x:.1f} °C: %{y:.0f} MHz',
      ),
    ],
  };
  return panelFigure({
    title,
    subtitle: `${originInWords(curve)} One power alone was logged: frequency is drawn against temperature.${openPointsInWords(curve)}${offsetInWords(curve)}`,
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

function openPointsInWords(curve: PowerCurve): string {
  return curve.points.every(isHeldByCap) ? '' : ' Open points were not held by the cap.';
}

/** At which voltage the curve stands, where that is not the maker's or where points of another one are drawn. */
function offsetInWords({ voltage, points }: PowerCurve): string {
  const offsetMv = voltage?.offsetMv ?? 0;
  const share = voltage?.offsetLosses.find((loss) => loss.offsetMv === offsetMv)?.lossFraction ?? 0;
  const lost =
    share > 0
      ? ` Effective frequencies: ${formatNumber(Math.round(1000 * share) / 10, '%')} below the reported.`
      : '';
  const here = offsetMv === 0 ? '' : ` Core voltage ${formatNumber(-offsetMv, 'mV')} below the maker's.`;
  const untested =
    voltage === undefined || voltage.testedOffsetsMv.includes(offsetMv)
      ? ''
      : ' No run was logged there: extrapolated.';
  const others = points.some((point) => (point.voltageOffsetMv ?? 0) !== offsetMv);
  return `${here}${untested}${lost}${others ? ' Diamonds: reported, at another voltage.' : ''}`;
}

function originInWords(curve: PowerCurve): string {
  const name = nameOfCurve(curve) ?? `From ${curve.runLabels.length} runs`;
  const workload = curve.workload === undefined ? '' : `, ${shortened(curve.workload)}`;
  return name === '' ? '' : `${shortened(name)}${workload}.`;
}

/** What a watt and a kelvin change, and about which power: the curve bends. */
function slopesInWords(curve: PowerCurve): string {
  const perWatt = curve.frequencyPerPowerMHzPerW;
  const aboutW = curve.parameters['referencePowerW'];
  const perKelvin = curve.frequencyPerTemperatureMHzPerK;
  const power =
    perWatt.value === undefined
      ? 'What one watt changes is not identifiable'
      : `${aboutW === undefined ? 'One' : `Near ${formatNumber(aboutW, 'W')} one`} watt less costs ${formatEstimate(perWatt, 'MHz')}`;
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
