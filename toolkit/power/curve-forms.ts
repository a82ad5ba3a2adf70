import type { PowerCurveForm } from './power-curve.js';
import {
  correctionAt,
  knotShares,
  openVarianceFraction,
  type ShapeCorrection,
  shapeCorrection,
  weightsOf,
} from './shape-correction.js';

/** One free parameter of a form. */
export interface FormParameter {
  /** Name in `PowerCurve.parameters`, with its unit. */
  readonly name: string;
  /** Limit it must stay above: it is then fitted as the natural logarithm of its distance from there. */
  readonly above?: number;
}

/** The fixed point a form is written around. */
export interface ReferencePoint {
  readonly powerW: number;
  readonly temperatureC: number;
}

/** A form with numbers in it. */
export interface BoundForm {
  frequencyMHz(powerW: number, temperatureC: number): number;
  /** Power, W; NaN where no power gives this frequency. */
  powerW(frequencyMHz: number, temperatureC: number): number;
  /** Writes the derivatives of the frequency with respect to the parameters into `out`. */
  gradient(powerW: number, temperatureC: number, out: Float64Array): void;
  /**
   * Variance of the frequency that a correction of unit variance leaves open because no knot is near, MHz²; 0 for
   * forms without a correction.
   */
  openVariance(powerW: number, temperatureC: number): number;
}

/**
 * A relation f(P, T). To add one: write it here, give its starting values in `starting-values.ts` and its name in
 * `PowerCurveForm`.
 */
export interface CurveForm {
  readonly form: PowerCurveForm;
  readonly parameters: readonly FormParameter[];
  /** Distinct power levels needed before the form can be fitted. */
  readonly powerLevelsNeeded: number;
  readonly dependsOnTemperature: boolean;
  /** The last parameters of a form that has one are the correction's values at its knots. */
  readonly correction?: ShapeCorrection;
  /** Puts numbers in, in the order of `parameters`. */
  bind(parameters: ArrayLike<number>, reference: ReferencePoint): BoundForm;
}

/** Exponent of the switching power towards low frequency, between fixed voltage (1) and the alpha-power law's 2. */
export const LOWEST_EXPONENT = 1.5;

/** Parameters of the electro-thermal form before the correction's. */
const PHYSICAL_PARAMETERS: readonly FormParameter[] = [
  { name: 'referenceFrequencyMHz', above: 0 },
  { name: 'frequencyExponent', above: LOWEST_EXPONENT },
  { name: 'exponentGrowth', above: 0 },
  { name: 'basePowerW', above: 0 },
  { name: 'leakagePowerW', above: 0 },
  { name: 'leakageScaleK', above: 0 },
];

/**
 * Electro-thermal form: base power, leakage and switching,
 *
 * P = P_base + P_leak·v·e^((T − T₀)/θ) + S₀·x·v², x = f/f₀, S₀ = P₀ − P_base − P_leak,
 *
 * around the frequency f₀ at the reference power P₀ and temperature T₀. v(f) is the core voltage relative to that at
 * f₀: ln v² = ½·ln x + (m − 1.5)·(x^γ − 1)/γ + η(f) − η(f₀). Around f₀ the switching power goes as f^m; voltage rises
 * gently at low frequency and ever more steeply towards the top, as voltage tables do; γ → 0 with η = 0 is the plain
 * k·f^m. η is a smooth correction of unknown shape (`ShapeCorrection`): it is what the form does not know.
 *
 * @param knotsMHz - where the correction has its knots
 */
export function electroThermal(knotsMHz: readonly number[]): CurveForm {
  const correction = shapeCorrection(knotsMHz);
  return {
    form: 'electro-thermal',
    parameters: [
      ...PHYSICAL_PARAMETERS,
      ...knotsMHz.map((_, k) => ({ name: `knot${k + 1}CorrectionRatio` })),
    ],
    powerLevelsNeeded: 1,
    dependsOnTemperature: true,
    ...(knotsMHz.length > 0 && { correction }),
    bind: (parameters, reference) => bindElectroThermal(correction, parameters, reference),
  };
}

/** Power law f = f₀·(P/P₀)^β. Knows no temperature. */
export const powerLaw: CurveForm = {
  form: 'power-law',
  parameters: [{ name: 'referenceFrequencyMHz', above: 0 }, { name: 'powerExponent' }],
  powerLevelsNeeded: 2,
  dependsOnTemperature: false,
  bind: (p, reference) => ({
    frequencyMHz: (powerW) => p[0]! * (powerW / reference.powerW) ** p[1]!,
    powerW: (frequencyMHz) => reference.powerW * (frequencyMHz / p[0]!) ** (1 / p[1]!),
    gradient(powerW, _temperatureC, out) {
      const ratio = powerW / reference.powerW;
      out[0] = ratio ** p[1]!;
      out[1] = p[0]! * out[0]! * Math.log(ratio);
    },
    openVariance: () => 0,
  }),
};

/** Second-degree polynomial f = f₀ + a·(P − P₀) + b·(P − P₀)². Knows no temperature. */
export const polynomial: CurveForm = {
  form: 'polynomial',
  parameters: [
    { name: 'referenceFrequencyMHz', above: 0 },
    { name: 'slopeMHzPerW' },
    { name: 'curvatureMHzPerW2' },
  ],
  powerLevelsNeeded: 3,
  dependsOnTemperature: false,
  bind: (p, reference) => ({
    frequencyMHz(powerW) {
      const offset = powerW - reference.powerW;
      return p[0]! + offset * (p[1]! + offset * p[2]!);
    },
    powerW(frequencyMHz) {
      // The branch on which frequency rises with power, in the form that survives a vanishing curvature.
      const rise = frequencyMHz - p[0]!;
      return reference.powerW + (2 * rise) / (p[1]! + Math.sqrt(p[1]! ** 2 + 4 * p[2]! * rise));
    },
    gradient(powerW, _temperatureC, out) {
      const offset = powerW - reference.powerW;
      out[0] = 1;
      out[1] = offset;
      out[2] = offset * offset;
    },
    openVariance: () => 0,
  }),
};

/** Frequencies from e^−5 to e^2 times the reference are searched. */
const LOWEST_LOG_RATIO = -5;
const HIGHEST_LOG_RATIO = 2;

/** Grid of u that starts the search: 0.3 to 1.8 times the reference frequency. */
const GRID_COUNT = 33;
const GRID_START = -1.2;
const GRID_STEP = 0.05625;

/** Power and its parts at u = ln(f/f₀). */
interface PowerAt {
  readonly powerW: number;
  readonly voltageRatio: number;
  readonly leakageW: number;
  readonly switchingW: number;
  /** ∂P/∂u. */
  readonly slopeW: number;
  /** Derivative of the correction η with respect to ln f. */
  readonly etaSlope: number;
}

function bindElectroThermal(
  correction: ShapeCorrection,
  p: ArrayLike<number>,
  reference: ReferencePoint,
): BoundForm {
  const [referenceMHz, exponent, growth, basePowerW, leakagePowerW, leakageScaleK] = Array.from(
    { length: PHYSICAL_PARAMETERS.length },
    (_, j) => p[j]!,
  ) as [number, number, number, number, number, number];
  const knotCount = correction.knotsMHz.length;
  const logKnots = correction.knotsMHz.map((knot) => Math.log(knot));
  const weights = weightsOf(
    correction,
    Array.from({ length: knotCount }, (_, k) => p[PHYSICAL_PARAMETERS.length + k]!),
  );
  const logReference = Math.log(referenceMHz);
  const steepness = exponent - LOWEST_EXPONENT;
  // Base and leakage that use up all power leave no switching power: the fit turns back from a small rest.
  const referenceSwitchingW = Math.max(
    reference.powerW - basePowerW - leakagePowerW,
    1e-3 * reference.powerW,
  );
  const eta = { value: 0, slope: 0 };
  correctionAt(logKnots, weights, logReference, eta);
  const { value: etaAtReference, slope: etaSlopeAtReference } = eta;
  const leakageAt = (temperatureC: number): number =>
    leakagePowerW * Math.exp((temperatureC - reference.temperatureC) / leakageScaleK);

  const powerAt = (u: number, leakageAtReferenceVoltageW: number): PowerAt => {
    const rise = Math.expm1(growth * u);
    correctionAt(logKnots, weights, logReference + u, eta);
    const logSquaredVoltage =
      (LOWEST_EXPONENT - 1) * u + (steepness * rise) / growth + eta.value - etaAtReference;
    const perU = LOWEST_EXPONENT - 1 + steepness * (rise + 1) + eta.slope;
    const voltageRatio = Math.exp(logSquaredVoltage / 2);
    const leakageW = leakageAtReferenceVoltageW * voltageRatio;
    const switchingW = referenceSwitchingW * Math.exp(u) * voltageRatio * voltageRatio;
    return {
      powerW: basePowerW + leakageW + switchingW,
      voltageRatio,
      leakageW,
      switchingW,
      slopeW: switchingW * (1 + perU) + 0.5 * leakageW * perU,
      etaSlope: eta.slope,
    };
  };

  // Voltage and switching power over a coarse grid of u: where Newton's method starts from.
  const gridVoltage = new Float64Array(GRID_COUNT);
  const gridSwitchingW = new Float64Array(GRID_COUNT);
  for (let i = 0; i < GRID_COUNT; i++) {
    const at = powerAt(GRID_START + i * GRID_STEP, 0);
    gridVoltage[i] = at.voltageRatio;
    gridSwitchingW[i] = at.switchingW;
  }
  const gridPower = (i: number, leakageW: number): number =>
    basePowerW + leakageW * gridVoltage[i]! + gridSwitchingW[i]!;
  const startFor = (powerW: number, leakageW: number): number => {
    let low = 0;
    let high = GRID_COUNT - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (gridPower(middle, leakageW) > powerW) high = middle;
      else low = middle;
    }
    const from = gridPower(low, leakageW);
    const share = (powerW - from) / (gridPower(high, leakageW) - from);
    return GRID_START + GRID_STEP * (low + Math.min(1, Math.max(0, share)));
  };

  /** u at a power, by Newton's method kept inside a shrinking bracket. */
  const solve = (powerW: number, leakageAtReferenceVoltageW: number): number => {
    let low = LOWEST_LOG_RATIO;
    let high = HIGHEST_LOG_RATIO;
    let u = startFor(powerW, leakageAtReferenceVoltageW);
    for (let iteration = 0; iteration < 100; iteration++) {
      const at = powerAt(u, leakageAtReferenceVoltageW);
      if (at.powerW > powerW) high = u;
      else low = u;
      const step = (at.powerW - powerW) / at.slopeW;
      const next = u - step;
      if (Math.abs(step) < 1e-10) return next;
      u = next >= low && next <= high ? next : (low + high) / 2;
    }
    return u;
  };

  return {
    frequencyMHz: (powerW, temperatureC) => referenceMHz * Math.exp(solve(powerW, leakageAt(temperatureC))),
    powerW: (frequencyMHz, temperatureC) =>
      powerAt(Math.log(frequencyMHz / referenceMHz), leakageAt(temperatureC)).powerW,
    gradient(powerW, temperatureC, out) {
      const excessK = temperatureC - reference.temperatureC;
      const u = solve(powerW, leakageAt(temperatureC));
      const { leakageW, switchingW, slopeW, etaSlope } = powerAt(u, leakageAt(temperatureC));
      const frequencyMHz = referenceMHz * Math.exp(u);
      const perPower = frequencyMHz / slopeW;
      const perLogSquaredVoltage = 0.5 * leakageW + switchingW;
      const rise = Math.expm1(growth * u);
      const shift = etaSlope - etaSlopeAtReference;
      const switchingRatio = switchingW / referenceSwitchingW;
      out[0] = (frequencyMHz / referenceMHz) * (1 - (perLogSquaredVoltage * shift) / slopeW);
      out[1] = (-perPower * perLogSquaredVoltage * rise) / growth;
      out[2] =
        (-perPower * perLogSquaredVoltage * steepness * (growth * u * (rise + 1) - rise)) / growth ** 2;
      out[3] = -perPower * (1 - switchingRatio);
      out[4] = -perPower * (leakageW / leakagePowerW - switchingRatio);
      out[5] = (perPower * leakageW * excessK) / leakageScaleK ** 2;
      const here = new Float64Array(knotCount);
      const there = new Float64Array(knotCount);
      knotShares(correction, logReference + u, here);
      knotShares(correction, logReference, there);
      for (let k = 0; k < knotCount; k++) {
        out[PHYSICAL_PARAMETERS.length + k] = -perPower * perLogSquaredVoltage * (here[k]! - there[k]!);
      }
    },
    openVariance(powerW, temperatureC) {
      const u = solve(powerW, leakageAt(temperatureC));
      const { leakageW, switchingW, slopeW } = powerAt(u, leakageAt(temperatureC));
      const perCorrection = (referenceMHz * Math.exp(u) * (0.5 * leakageW + switchingW)) / slopeW;
      return openVarianceFraction(correction, logReference + u) * perCorrection ** 2;
    },
  };
}

/**
 * The form of a name.
 *
 * @param knotsMHz - knots of the electro-thermal form's correction; none leaves it without
 */
export function formOf(form: PowerCurveForm, knotsMHz: readonly number[] = []): CurveForm {
  if (form === 'power-law') return powerLaw;
  return form === 'polynomial' ? polynomial : electroThermal(knotsMHz);
}
