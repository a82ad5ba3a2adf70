import { NORMAL_95 } from '../../numerics/distributions.js';
import { increasingRoot } from '../../numerics/increasing-root.js';
import type { UncertainInput } from '../scenario/cap-scenario.js';
import { centreOf } from '../scenario/uncertain-input.js';
import type { PreparedCap } from '../setting/prepared-cap.js';
import { type CoolerKnowledge, knowledgeOf, resistanceSpreadAt } from './run-information.js';

/** A cooler with what is known of it and where its cap lies. */
export interface Subject {
  readonly label: string;
  readonly prepared: PreparedCap;
  readonly knowledge: CoolerKnowledge;
  readonly powerAtLimitW: number;
  /** Rise of the die over the intake air there, K. */
  readonly dieRiseK: number;
  /** dT/dP there, die and enclosure together, K/W. */
  readonly slopeKPerW: number;
  readonly placeHalfWidthW: number;
  /** Air where the cooler has been logged, degrees Celsius. */
  readonly loggingAirC: number;
}

/** What is known of a cooler and its cap before any further run. */
export function subjectOf(
  prepared: PreparedCap,
  options: { readonly sampleS: number; readonly forNextMount: boolean },
): Subject {
  const { cooler, scenario, meanLimitC } = prepared;
  const law = cooler.resistanceLaw;
  const dieRiseK = (powerW: number): number =>
    powerW * law.thermalResistanceKPerW * (powerW / law.atPowerW) ** -law.powerExponent;
  const { enclosure } = scenario;
  const enclosureRiseK = (powerW: number): number =>
    enclosure === undefined
      ? 0
      : centreOf(enclosure.riseK) * (enclosure.atPowerW === undefined ? 1 : powerW / enclosure.atPowerW);
  const roomC = centreOf(scenario.ambientC);
  const powerAtLimitW = increasingRoot(
    (powerW) => roomC + dieRiseK(powerW) + enclosureRiseK(powerW) - meanLimitC,
    1e-6 * law.atPowerW,
    16 * law.atPowerW,
  );
  const stepW = 1e-3 * powerAtLimitW;
  const slopeKPerW =
    (dieRiseK(powerAtLimitW + stepW) +
      enclosureRiseK(powerAtLimitW + stepW) -
      dieRiseK(powerAtLimitW - stepW) -
      enclosureRiseK(powerAtLimitW - stepW)) /
    (2 * stepW);
  const scale = enclosure?.atPowerW === undefined ? 1 : powerAtLimitW / enclosure.atPowerW;
  const placeSpreadK = Math.hypot(
    standardDeviationOf(scenario.ambientC),
    enclosure === undefined ? 0 : scale * standardDeviationOf(enclosure.riseK),
  );
  return {
    label: cooler.cooler ?? cooler.label,
    prepared,
    knowledge: knowledgeOf(cooler, options),
    powerAtLimitW,
    dieRiseK: dieRiseK(powerAtLimitW),
    slopeKPerW,
    placeHalfWidthW: (NORMAL_95 * placeSpreadK) / slopeKPerW,
    loggingAirC: cooler.ambientC.value ?? roomC,
  };
}

/** Half-width of the 95 % interval of the cap from the cooler's own uncertainty, W, where this is known of it. */
export function halfWidthOf(
  { powerAtLimitW, dieRiseK, slopeKPerW }: Subject,
  knowledge: CoolerKnowledge,
): number {
  const { halfWidthFraction } = resistanceSpreadAt(knowledge, powerAtLimitW);
  return (halfWidthFraction * dieRiseK) / slopeKPerW;
}

/** Whether the limit, and not the scenario's highest cap, decides: it may lie within both half-widths of it. */
export function limitBinds(subject: Subject): boolean {
  const { ceiling } = subject.prepared;
  if (ceiling.constraint === 'tested-range') return true;
  const halfWidthW = Math.hypot(halfWidthOf(subject, subject.knowledge), subject.placeHalfWidthW);
  return subject.powerAtLimitW - halfWidthW < ceiling.powerW;
}

/** Steady temperature at a power where the cooler has been logged, degrees Celsius. */
export function expectedTemperatureC({ prepared, loggingAirC }: Subject, powerW: number): number {
  const { thermalResistanceKPerW, atPowerW, powerExponent } = prepared.cooler.resistanceLaw;
  return loggingAirC + powerW * thermalResistanceKPerW * (powerW / atPowerW) ** -powerExponent;
}

/** Upper end of the 95 % interval of that temperature, degrees Celsius. */
export function likelyHighestC(subject: Subject, powerW: number): number {
  const temperatureC = expectedTemperatureC(subject, powerW);
  const { halfWidthFraction } = resistanceSpreadAt(subject.knowledge, powerW);
  return temperatureC + halfWidthFraction * (temperatureC - subject.loggingAirC);
}

function standardDeviationOf(input: UncertainInput): number {
  if (typeof input === 'number') return 0;
  return 'low' in input ? (input.high - input.low) / Math.sqrt(12) : input.standardDeviation;
}
