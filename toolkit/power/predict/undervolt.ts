import { ArgumentError, type KnownNames, requireKnownNames, requireNumber } from '../../errors.js';
import type { Estimate } from '../../numerics/estimate.js';
import type { Finding } from '../../runs/finding.js';
import type { CurveVoltage, OffsetLoss } from '../curve-voltage.js';
import { meanSlopes } from '../fit/mean-slopes.js';
import type { PowerCurve } from '../power-curve.js';
import { atTestedOffset } from './frequency-at.js';
import { requireCurve } from './require-curve.js';
import { unpack } from './unpack-curve.js';

/** Which voltage offset a curve is wanted for. */
export interface UndervoltOptions {
  /** Offset of the core voltage, mV against the maker's voltages: −60 for 60 mV less; 0 takes an offset back. */
  readonly offsetMv: number;
}

const OPTION_NAMES: KnownNames<UndervoltOptions> = { offsetMv: true };

/** Offsets beyond this share of the voltage are no undervolt that a processor could run at. */
const MOST_VOLTAGE_FRACTION = 0.25;
/** A shallower one is meant in volts. */
const SHALLOWEST_OFFSET_MV = -1;

/** Findings that belong to one offset: another call replaces them. */
const OWN_CODES: ReadonlySet<string> = new Set([
  'undervolt-caution',
  'offset-not-logged',
  'offset-without-throughput',
  'offset-loses-work',
]);

/**
 * The curve of the same processor at another offset of its core voltage.
 *
 * The voltage relation V(f) moves by ε·offset, and P = P_base + P_leak·r·e^((T − T₀)/θ) + S₀·x·r² with the relative voltage r
 * is solved anew for the frequency. ε, the share of a set offset that reaches the cores, is fitted where runs with
 * different `conditions.voltageOffsetMv` were logged; else it is 1 within 10 % (standard uncertainty), which every interval
 * contains. Where the runs at an offset did less work per cycle than those without, the curve's frequencies are the
 * effective ones: what the processor works like, not what it reports (see `checkSlowdown`).
 *
 * Answers at an offset at which no run was logged are marked `extrapolated`: whether the processor is stable and does its
 * work there, no model can tell.
 *
 * @param curve - an electro-thermal curve fitted to runs with a voltage column, or to points with `voltageV`
 * @param options - the offset in mV, at most 0 and above a quarter of the voltage below it
 * @returns the curve at that offset, with cautions among its findings; an offset of its own is replaced, not added to
 * @throws ArgumentError if the curve knows no voltage, if the offset is above 0 or out of reach, or if it is deeper than one
 * at which the runs already lost work
 * @example
 * const curve = curveFromSteadyPoints([
 *   { powerW: 118, temperatureC: 84, frequencyMHz: 4000, voltageV: 1.15 },
 *   { powerW: 78.4, temperatureC: 66, frequencyMHz: 3600, voltageV: 1 },
 *   { powerW: 57.5, temperatureC: 55, frequencyMHz: 3150, voltageV: 0.9 },
 * ]);
 * const lower = undervolt(curve, { offsetMv: -50 });
 * const at = { powerW: 88, temperatureC: 68 };
 * requireValue(frequencyAt(lower, at)) - requireValue(frequencyAt(curve, at)); // => 101 within 5
 * frequencyAt(lower, at); // => ({ kind: 'estimated', extrapolated: true })
 */
export function undervolt(curve: PowerCurve, options: UndervoltOptions): PowerCurve {
  const caller = 'undervolt';
  requireCurve(curve, caller);
  requireKnownNames(options, OPTION_NAMES, { caller, argument: 'options' });
  const { voltage } = curve;
  if (voltage === undefined) {
    throw new ArgumentError({
      caller,
      argument: 'curve',
      expected: 'an electro-thermal curve with voltage',
      received: curve.label,
      remedy:
        'log the core voltage in the runs (or give voltageV with steady points) and fit them again; what an undervolt gives cannot be told without it',
    });
  }
  const { offsetMv } = options;
  const lowestMv = -1000 * MOST_VOLTAGE_FRACTION * voltage.testedVoltageV[0];
  requireNumber(
    offsetMv,
    {
      caller,
      argument: 'options.offsetMv',
      remedy:
        "give it in mV against the maker's voltages, such as -60; more voltage than the maker sets is not offered",
    },
    { atLeast: Math.ceil(lowestMv), atMost: 0 },
  );
  if (offsetMv < 0 && offsetMv > SHALLOWEST_OFFSET_MV)
    throw new ArgumentError({
      caller,
      argument: 'options.offsetMv',
      expected: `in millivolts, 0 or ${SHALLOWEST_OFFSET_MV} and below`,
      received: offsetMv,
      remedy: `${offsetMv} looks like volts: ${offsetMv} V are ${Number((1000 * offsetMv).toPrecision(6))} mV`,
    });
  refuseBeyondLoss(caller, voltage, offsetMv);
  const moved: PowerCurve = {
    ...curve,
    voltage: { ...voltage, offsetMv },
    findings: [
      ...curve.findings.filter(({ code }) => !OWN_CODES.has(code)),
      ...offsetFindings({ ...voltage, offsetMv }),
    ],
  };
  return withSlopes(curve, moved);
}

/** An offset deeper than one that already lost work would be an answer from hope. */
function refuseBeyondLoss(caller: string, { offsetLosses }: CurveVoltage, offsetMv: number): void {
  const lost = offsetLosses.filter(({ lossFraction }) => lossFraction > 0);
  if (lost.length === 0) return;
  const shallowest = lost.reduce((a, b) => (b.offsetMv > a.offsetMv ? b : a));
  const deepest = lost.reduce((a, b) => (b.offsetMv < a.offsetMv ? b : a));
  if (offsetMv >= deepest.offsetMv) return;
  throw new ArgumentError({
    caller,
    argument: 'options.offsetMv',
    expected: `no deeper than ${deepest.offsetMv} mV, where the runs lost ${percent(deepest)} of their work per cycle`,
    received: offsetMv,
    remedy: `choose an offset above ${shallowest.offsetMv} mV, or log a run at this one`,
  });
}

function offsetFindings(voltage: CurveVoltage): Finding[] {
  const { offsetMv, testedOffsetsMv, offsetLosses } = voltage;
  if (offsetMv === 0) return [];
  const findings: Finding[] = [
    {
      code: 'undervolt-caution',
      severity: 'warning',
      message: `At ${offsetMv} mV the processor runs outside what its maker guarantees: crashes, wrong results and loss of data can come hours later, in the heat, or under another workload.`,
      remedy:
        'keep to the limits of the maker of the processor and the board, keep a copy of the data, and test every workload long and hot before relying on it',
    },
  ];
  const tested = testedOffsetsMv.includes(offsetMv);
  if (!tested) {
    findings.push({
      code: 'offset-not-logged',
      severity: 'warning',
      message: `No run was logged at ${offsetMv} mV (logged: ${testedOffsetsMv.map((mv) => `${mv} mV`).join(', ')}): the answer follows from the voltage alone, is marked extrapolated, and says nothing of stability or hidden slowdown.`,
      remedy: `log a run at ${offsetMv} mV with voltage and throughput, state conditions.voltageOffsetMv, and fit again`,
    });
  }
  const loss = offsetLosses.find((entry) => entry.offsetMv === offsetMv);
  if (tested && loss === undefined && offsetMv !== voltage.relationOffsetMv) {
    findings.push({
      code: 'offset-without-throughput',
      severity: 'warning',
      message: `The runs at ${offsetMv} mV log no throughput that could be compared: their frequency is no proof of work.`,
      remedy: 'log throughput in the runs with and without the offset',
    });
  }
  if (loss !== undefined && loss.lossFraction > 0) {
    findings.push({
      code: 'offset-loses-work',
      severity: 'serious',
      message: `The runs at ${offsetMv} mV lost ${percent(loss)} of their work per cycle behind the reported frequency: the curve's frequencies are the effective ones, ${percent(loss)} below the reported.`,
      remedy: 'take a smaller offset',
    });
  }
  return findings;
}

function percent({ lossFraction }: OffsetLoss): string {
  return `${(100 * lossFraction).toFixed(1)} %`;
}

/** What a watt and a kelvin change at the new offset; their relative uncertainty stays. */
function withSlopes(from: PowerCurve, to: PowerCurve): PowerCurve {
  const before = meanSlopes(unpack(from), from.testedRange.temperatureC);
  const after = meanSlopes(unpack(to), to.testedRange.temperatureC);
  const extrapolated = !atTestedOffset(to);
  return {
    ...to,
    frequencyPerPowerMHzPerW: scaledBy(
      from.frequencyPerPowerMHzPerW,
      after.perPower / before.perPower,
      extrapolated,
    ),
    frequencyPerTemperatureMHzPerK: scaledBy(
      from.frequencyPerTemperatureMHzPerK,
      after.perTemperature / before.perTemperature,
      extrapolated,
    ),
  };
}

function scaledBy(estimate: Estimate, ratio: number, extrapolated: boolean): Estimate {
  if (estimate.kind === 'unavailable') return estimate;
  const [low, high] = estimate.interval95;
  return {
    kind: 'estimated',
    value: ratio * estimate.value,
    standardError: Math.abs(ratio) * estimate.standardError,
    interval95: ratio >= 0 ? [ratio * low, ratio * high] : [ratio * high, ratio * low],
    ...(extrapolated && { extrapolated }),
  };
}
