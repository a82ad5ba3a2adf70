import type { CurveForm } from './curve-form.js';

/** Power law f = f₀·(P/P₀)^β. Knows no temperature. */
export const powerLaw: CurveForm = {
  form: 'power-law',
  parameters: [{ name: 'referenceFrequencyMHz', above: 0 }, { name: 'powerExponent' }],
  powerLevelsNeeded: 2,
  dependsOnTemperature: false,
  bind: (p, reference) => ({
    frequencyMHz: (powerW) => p[0] * (powerW / reference.powerW) ** p[1],
    powerW: (frequencyMHz) => reference.powerW * (frequencyMHz / p[0]) ** (1 / p[1]),
    gradient(powerW, _temperatureC, out) {
      const ratio = powerW / reference.powerW;
      out[0] = ratio ** p[1];
      out[1] = p[0] * out[0] * Math.log(ratio);
    },
    openVariance: () => 0,
    leakageSlopeWPerK: () => 0,
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
      return p[0] + offset * (p[1] + offset * p[2]);
    },
    powerW(frequencyMHz) {
      // The branch on which frequency rises with power, in the form that survives a vanishing curvature.
      const rise = frequencyMHz - p[0];
      return reference.powerW + (2 * rise) / (p[1] + Math.sqrt(p[1] ** 2 + 4 * p[2] * rise));
    },
    gradient(powerW, _temperatureC, out) {
      const offset = powerW - reference.powerW;
      out[0] = 1;
      out[1] = offset;
      out[2] = offset * offset;
    },
    openVariance: () => 0,
    leakageSlopeWPerK: () => 0,
  }),
};
