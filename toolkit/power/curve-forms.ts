import type { PowerCurveForm } from './power-curve.js';

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

/**
 * A relation f(P, T) with its inverse and its gradient. Parameters travel in the order of `parameters`.
 *
 * To add a form: write it here, give its starting values in `starting-values.ts` and its name in `PowerCurveForm`.
 */
export interface CurveForm {
  readonly form: PowerCurveForm;
  readonly parameters: readonly FormParameter[];
  /** Distinct power levels needed before the form can be fitted. */
  readonly powerLevelsNeeded: number;
  readonly dependsOnTemperature: boolean;
  /** Frequency, MHz, for `p` in natural units. */
  frequencyMHz(p: ArrayLike<number>, reference: ReferencePoint, powerW: number, temperatureC: number): number;
  /** Power, W; NaN where no power gives this frequency. */
  powerW(p: ArrayLike<number>, reference: ReferencePoint, frequencyMHz: number, temperatureC: number): number;
  /** Writes ∂f/∂p into `out`. */
  gradient(
    p: ArrayLike<number>,
    reference: ReferencePoint,
    powerW: number,
    temperatureC: number,
    out: Float64Array,
  ): void;
}

/** Exponent of the switching power towards low frequency, between fixed voltage (1) and the alpha-power law's 2. */
export const LOWEST_EXPONENT = 1.5;

/**
 * Electro-thermal form: P = P_base + P_leak·e^((T − T₀)/θ) + k·f·V(f)², written around the frequency f₀ at the
 * reference power P₀ and temperature T₀. With S = P − P_base − P_leak·e^((T − T₀)/θ) and S₀ = P₀ − P_base − P_leak,
 *
 * S/S₀ = x^1.5·e^((m − 1.5)·(x^γ − 1)/γ), x = f/f₀,
 *
 * so the switching power goes as f^m around f₀ (m the effective exponent: V² ∝ f^(m − 1)), and m − 1.5 itself as f^γ:
 * voltage rises gently at low frequency and ever more steeply towards the top, as voltage tables do. γ → 0 is the
 * plain k·f^m. A voltage column is not used yet.
 */
export const electroThermal: CurveForm = {
  form: 'electro-thermal',
  parameters: [
    { name: 'referenceFrequencyMHz', above: 0 },
    { name: 'frequencyExponent', above: LOWEST_EXPONENT },
    { name: 'exponentGrowth', above: 0 },
    { name: 'basePowerW', above: 0 },
    { name: 'leakagePowerW', above: 0 },
    { name: 'leakageScaleK', above: 0 },
  ],
  powerLevelsNeeded: 1,
  dependsOnTemperature: true,
  frequencyMHz(p, reference, powerW, temperatureC) {
    const growth = Math.exp((temperatureC - reference.temperatureC) / p[5]!);
    const switching = switchingPower(powerW - p[3]! - p[4]! * growth, powerW);
    return p[0]! * Math.exp(logFrequencyRatio(p, Math.log(switching / referenceSwitching(p, reference))));
  },
  powerW(p, reference, frequencyMHz, temperatureC) {
    const growth = Math.exp((temperatureC - reference.temperatureC) / p[5]!);
    const u = Math.log(frequencyMHz / p[0]!);
    const logRatio = LOWEST_EXPONENT * u + (p[1]! - LOWEST_EXPONENT) * (Math.expm1(p[2]! * u) / p[2]!);
    return p[3]! + p[4]! * growth + referenceSwitching(p, reference) * Math.exp(logRatio);
  },
  gradient(p, reference, powerW, temperatureC, out) {
    const excessK = temperatureC - reference.temperatureC;
    const growth = Math.exp(excessK / p[5]!);
    const switching = switchingPower(powerW - p[3]! - p[4]! * growth, powerW);
    const atReference = referenceSwitching(p, reference);
    const u = logFrequencyRatio(p, Math.log(switching / atReference));
    const rise = Math.exp(p[2]! * u);
    const frequency = p[0]! * Math.exp(u);
    const perLogSwitching = frequency / (LOWEST_EXPONENT + (p[1]! - LOWEST_EXPONENT) * rise);
    out[0] = frequency / p[0]!;
    out[1] = (-perLogSwitching * Math.expm1(p[2]! * u)) / p[2]!;
    out[2] =
      (-perLogSwitching * (p[1]! - LOWEST_EXPONENT) * (p[2]! * u * rise - Math.expm1(p[2]! * u))) /
      p[2]! ** 2;
    out[3] = perLogSwitching * (1 / atReference - 1 / switching);
    out[4] = perLogSwitching * (1 / atReference - growth / switching);
    out[5] = (perLogSwitching * p[4]! * growth * excessK) / (switching * p[5]! * p[5]!);
  },
};

/** Power law f = f₀·(P/P₀)^β. Knows no temperature. */
export const powerLaw: CurveForm = {
  form: 'power-law',
  parameters: [{ name: 'referenceFrequencyMHz', above: 0 }, { name: 'powerExponent' }],
  powerLevelsNeeded: 2,
  dependsOnTemperature: false,
  frequencyMHz: (p, reference, powerW) => p[0]! * (powerW / reference.powerW) ** p[1]!,
  powerW: (p, reference, frequencyMHz) => reference.powerW * (frequencyMHz / p[0]!) ** (1 / p[1]!),
  gradient(p, reference, powerW, _temperatureC, out) {
    const ratio = powerW / reference.powerW;
    out[0] = ratio ** p[1]!;
    out[1] = p[0]! * out[0]! * Math.log(ratio);
  },
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
  frequencyMHz(p, reference, powerW) {
    const offset = powerW - reference.powerW;
    return p[0]! + offset * (p[1]! + offset * p[2]!);
  },
  powerW(p, reference, frequencyMHz) {
    // The branch on which frequency rises with power, in the form that survives a vanishing curvature.
    const rise = frequencyMHz - p[0]!;
    return reference.powerW + (2 * rise) / (p[1]! + Math.sqrt(p[1]! ** 2 + 4 * p[2]! * rise));
  },
  gradient(_p, reference, powerW, _temperatureC, out) {
    const offset = powerW - reference.powerW;
    out[0] = 1;
    out[1] = offset;
    out[2] = offset * offset;
  },
};

/** All forms by name. */
export const curveForms: Readonly<Record<PowerCurveForm, CurveForm>> = {
  'electro-thermal': electroThermal,
  'power-law': powerLaw,
  polynomial,
};

function referenceSwitching(p: ArrayLike<number>, reference: ReferencePoint): number {
  return switchingPower(reference.powerW - p[3]! - p[4]!, reference.powerW);
}

/**
 * u = ln(f/f₀) with 1.5·u + (m − 1.5)·(e^(γu) − 1)/γ = L. The left side is convex and rises, and lies on or above its tangent
 * m·u: Newton's method from u = L/m comes down to the root without overshooting.
 */
function logFrequencyRatio(p: ArrayLike<number>, logSwitchingRatio: number): number {
  const steepness = p[1]! - LOWEST_EXPONENT;
  const growth = p[2]!;
  let u = Math.min(logSwitchingRatio / p[1]!, 300 / growth);
  for (let iteration = 0; iteration < 100; iteration++) {
    const rise = Math.expm1(growth * u);
    const step =
      (LOWEST_EXPONENT * u + (steepness * rise) / growth - logSwitchingRatio) /
      (LOWEST_EXPONENT + steepness * (rise + 1));
    u -= step;
    if (Math.abs(step) <= 1e-13 * (1 + Math.abs(u))) break;
  }
  return u;
}

/** Keeps the switching power positive: where base and leakage use up all power, frequency tends to zero. */
function switchingPower(powerW: number, totalPowerW: number): number {
  const floor = 1e-3 * totalPowerW;
  return powerW > floor ? powerW : floor * Math.exp(Math.max(-30, powerW / floor - 1));
}
