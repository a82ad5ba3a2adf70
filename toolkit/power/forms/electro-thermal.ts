import type { BoundForm, BoundVoltage, CurveForm, FormParameter, ReferencePoint } from './curve-form.js';
import { frequencySearch } from './frequency-search.js';
import { type ShapeCorrection, shapeCorrection } from './shape-correction.js';
import { LOWEST_EXPONENT, voltageShape } from './voltage-shape.js';

/** Parameters of the electro-thermal form before the voltage's and the correction's. */
const PHYSICAL_PARAMETERS: readonly FormParameter[] = [
  { name: 'referenceFrequencyMHz', above: 0 },
  { name: 'frequencyExponent', above: LOWEST_EXPONENT },
  { name: 'exponentGrowth', above: 0 },
  { name: 'basePowerW', above: 0 },
  { name: 'leakagePowerW', above: 0 },
  { name: 'leakageScaleK', above: 0 },
];

/** Where voltage is logged: that at f₀, and how much of an offset that was set reaches the cores. */
const VOLTAGE_PARAMETERS: readonly FormParameter[] = [
  { name: 'referenceVoltageV', above: 0 },
  { name: 'offsetEffectRatio', above: 0 },
];

/** An offset takes at most all but this share of the voltage: below, the form has lost its meaning. */
const LEAST_VOLTAGE_RATIO = 0.2;

/**
 * Electro-thermal form: base power, leakage and switching,
 *
 * P = P_base + P_leak·r·e^((T − T₀)/θ) + S₀·x·r², x = f/f₀, S₀ = P₀ − P_base − P_leak,
 *
 * around the frequency f₀ at the reference power P₀ and temperature T₀. r is the core voltage relative to that at f₀:
 * r = v(f) (`voltageShape`), around f₀ the switching power then goes as f^m. With a voltage offset o set by hand,
 * r = v(f) + ε·o/V₀, where V₀ is the voltage at f₀ and ε the share of the offset that reaches the cores.
 *
 * @param knotsMHz - where the correction of the voltage's shape has its knots
 * @param withVoltage - whether V₀ and ε are among the parameters
 */
export function electroThermal(knotsMHz: readonly number[], withVoltage: boolean = false): CurveForm {
  const correction = shapeCorrection(knotsMHz);
  return {
    form: 'electro-thermal',
    parameters: [
      ...PHYSICAL_PARAMETERS,
      ...(withVoltage ? VOLTAGE_PARAMETERS : []),
      ...knotsMHz.map((_, k) => ({ name: `knot${k + 1}CorrectionRatio` })),
    ],
    powerLevelsNeeded: 1,
    dependsOnTemperature: true,
    ...(knotsMHz.length > 0 && { correction }),
    bind: (parameters, reference, offsetV = 0) =>
      bindElectroThermal({ correction, withVoltage, p: parameters, reference, offsetV }),
  };
}

function bindElectroThermal(form: {
  readonly correction: ShapeCorrection;
  readonly withVoltage: boolean;
  readonly p: ArrayLike<number>;
  readonly reference: ReferencePoint;
  readonly offsetV: number;
}): BoundForm {
  const { correction, withVoltage, p, reference, offsetV } = form;
  const [referenceMHz, exponent, growth, basePowerW, leakagePowerW, leakageScaleK] = Array.from(
    { length: PHYSICAL_PARAMETERS.length },
    (_, j) => p[j],
  ) as [number, number, number, number, number, number];
  const voltageAtIndex = PHYSICAL_PARAMETERS.length;
  const knotsAtIndex = voltageAtIndex + (withVoltage ? VOLTAGE_PARAMETERS.length : 0);
  const referenceV = withVoltage ? p[voltageAtIndex] : 1;
  const offsetEffectRatio = withVoltage ? p[voltageAtIndex + 1] : 1;
  const shift = (offsetEffectRatio * offsetV) / referenceV;
  const knotCount = correction.knotsMHz.length;
  const shape = voltageShape(
    correction,
    Array.from({ length: knotCount }, (_, k) => p[knotsAtIndex + k]),
    { referenceMHz, exponent, growth },
  );
  // Base and leakage that use up all power leave no switching power: the fit turns back from a small rest.
  const referenceSwitchingW = Math.max(
    reference.powerW - basePowerW - leakagePowerW,
    1e-3 * reference.powerW,
  );
  const leakageAt = (temperatureC: number): number =>
    leakagePowerW * Math.exp((temperatureC - reference.temperatureC) / leakageScaleK);

  /** Power and its parts at u = ln(f/f₀), for a leakage stated at the reference voltage. */
  const powerAt = (u: number, leakageAtReferenceVoltageW: number) => {
    const { ratio, perU, etaSlope } = shape.at(u);
    const offsetCounts = ratio + shift > LEAST_VOLTAGE_RATIO * ratio;
    const r = offsetCounts ? ratio + shift : LEAST_VOLTAGE_RATIO * ratio;
    const leakageW = leakageAtReferenceVoltageW * r;
    const switchingW = referenceSwitchingW * Math.exp(u) * r * r;
    const perVoltageW = leakageAtReferenceVoltageW + (2 * switchingW) / r;
    const perLogSquaredVoltageW = perVoltageW * 0.5 * (offsetCounts ? ratio : r);
    return {
      powerW: basePowerW + leakageW + switchingW,
      leakageW,
      switchingW,
      /** ∂P/∂u. */
      slopeW: switchingW + perLogSquaredVoltageW * perU,
      perLogSquaredVoltageW,
      /** ∂P with respect to the offset, relative to the reference voltage. */
      perShiftW: offsetCounts ? perVoltageW : 0,
      etaSlope,
    };
  };
  const solve = frequencySearch(powerAt);

  const gradient: BoundForm['gradient'] = (powerW, temperatureC, out) => {
    const excessK = temperatureC - reference.temperatureC;
    const u = solve(powerW, leakageAt(temperatureC));
    const at = powerAt(u, leakageAt(temperatureC));
    const frequencyMHz = referenceMHz * Math.exp(u);
    const perPower = frequencyMHz / at.slopeW;
    const { perExponent, perGrowth, perKnot } = shape.derivatives(u);
    const perShape = -perPower * at.perLogSquaredVoltageW;
    const switchingRatio = at.switchingW / referenceSwitchingW;
    out[0] =
      frequencyMHz / referenceMHz + (perShape * (at.etaSlope - shape.etaSlopeAtReference)) / referenceMHz;
    out[1] = perShape * perExponent;
    out[2] = perShape * perGrowth;
    out[3] = -perPower * (1 - switchingRatio);
    out[4] = -perPower * (at.leakageW / leakagePowerW - switchingRatio);
    out[5] = (perPower * at.leakageW * excessK) / leakageScaleK ** 2;
    if (withVoltage) {
      out[voltageAtIndex] = (perPower * at.perShiftW * shift) / referenceV;
      out[voltageAtIndex + 1] = (-perPower * at.perShiftW * offsetV) / referenceV;
    }
    for (let k = 0; k < knotCount; k++) out[knotsAtIndex + k] = perShape * perKnot[k];
  };

  const voltage: BoundVoltage = {
    voltageV: (frequencyMHz) => referenceV * (shape.at(Math.log(frequencyMHz / referenceMHz)).ratio + shift),
    slopeVPerMHz(frequencyMHz) {
      const { ratio, perU } = shape.at(Math.log(frequencyMHz / referenceMHz));
      return (referenceV * ratio * perU) / (2 * frequencyMHz);
    },
    gradient(frequencyMHz, out) {
      const u = Math.log(frequencyMHz / referenceMHz);
      const { ratio } = shape.at(u);
      const { perLogReference, perExponent, perGrowth, perKnot } = shape.derivatives(u);
      const perShapeV = (referenceV * ratio) / 2;
      out.fill(0);
      out[0] = (perShapeV * perLogReference) / referenceMHz;
      out[1] = perShapeV * perExponent;
      out[2] = perShapeV * perGrowth;
      out[voltageAtIndex] = ratio;
      out[voltageAtIndex + 1] = offsetV;
      for (let k = 0; k < knotCount; k++) out[knotsAtIndex + k] = perShapeV * perKnot[k];
    },
    frequencyAtMHz(powerW, temperatureC, voltageV) {
      const r = voltageV / referenceV;
      return (
        (referenceMHz * (powerW - basePowerW - leakageAt(temperatureC) * r)) / (referenceSwitchingW * r * r)
      );
    },
    gradientAt(powerW, temperatureC, voltageV, out) {
      const r = voltageV / referenceV;
      const leakageW = leakageAt(temperatureC) * r;
      const perPower = referenceMHz / (referenceSwitchingW * r * r);
      const frequencyMHz = perPower * (powerW - basePowerW - leakageW);
      out.fill(0);
      out[0] = frequencyMHz / referenceMHz;
      out[3] = -perPower + frequencyMHz / referenceSwitchingW;
      out[4] = (-perPower * leakageW) / leakagePowerW + frequencyMHz / referenceSwitchingW;
      out[5] = (perPower * leakageW * (temperatureC - reference.temperatureC)) / leakageScaleK ** 2;
      out[voltageAtIndex] = (perPower * leakageW + 2 * frequencyMHz) / referenceV;
    },
  };

  return {
    frequencyMHz: (powerW, temperatureC) => referenceMHz * Math.exp(solve(powerW, leakageAt(temperatureC))),
    powerW: (frequencyMHz, temperatureC) =>
      powerAt(Math.log(frequencyMHz / referenceMHz), leakageAt(temperatureC)).powerW,
    gradient,
    openVariance(powerW, temperatureC) {
      const u = solve(powerW, leakageAt(temperatureC));
      const { perLogSquaredVoltageW, slopeW } = powerAt(u, leakageAt(temperatureC));
      const perCorrection = (referenceMHz * Math.exp(u) * perLogSquaredVoltageW) / slopeW;
      return shape.openFraction(u) * perCorrection ** 2;
    },
    leakageSlopeWPerK: (frequencyMHz, temperatureC) =>
      powerAt(Math.log(frequencyMHz / referenceMHz), leakageAt(temperatureC)).leakageW / leakageScaleK,
    ...(withVoltage && { voltage }),
  };
}
