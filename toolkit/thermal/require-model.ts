import { ArgumentError, requireKind, requireNumber } from '../errors.js';
import type { CoolerModel } from './cooler-model.js';

const REMEDY = 'make one with fitCooler or coolerFromSteadyPoints';

/** Throws an `ArgumentError` unless the value is a cooler model whose numbers can be computed with. */
export function requireModel(
  value: unknown,
  caller: string,
  argument: string = 'model',
): asserts value is CoolerModel {
  requireKind(value, 'cooler-model', { caller, argument, remedy: REMEDY });
  requireNumbersOf(value as CoolerModel, caller, argument);
}

/** A model is plain data: one that was changed by hand or came back damaged is refused before it answers with NaN. */
function requireNumbersOf({ resistanceLaw, poles }: CoolerModel, caller: string, argument: string): void {
  const require = (name: string, value: unknown, bounds: Parameters<typeof requireNumber>[2]): void =>
    requireNumber(value, { caller, argument: `${argument}.${name}`, remedy: REMEDY }, bounds);
  const law = resistanceLaw;
  require('resistanceLaw.thermalResistanceKPerW', law.thermalResistanceKPerW, { above: 0 });
  require('resistanceLaw.atPowerW', law.atPowerW, { above: 0 });
  require('resistanceLaw.powerExponent', law.powerExponent, {});
  require('resistanceLaw.resistanceStandardErrorKPerW', law.resistanceStandardErrorKPerW, { atLeast: 0 });
  require('resistanceLaw.exponentStandardError', law.exponentStandardError, { atLeast: 0 });
  require('resistanceLaw.correlation', law.correlation, { atLeast: -1, atMost: 1 });
  require('resistanceLaw.degreesOfFreedom', law.degreesOfFreedom, { above: 0 });
  if (poles === undefined) return;
  const { timeConstantsS, resistancesKPerW, sensorLagS, airTimeConstantS } = poles;
  timeConstantsS.forEach((timeConstantS, k) => {
    require(`poles.timeConstantsS[${k}]`, timeConstantS, { above: 0 });
    require(`poles.resistancesKPerW[${k}]`, resistancesKPerW[k], { atLeast: 0 });
  });
  if (sensorLagS !== undefined) require('poles.sensorLagS', sensorLagS, { atLeast: 0 });
  require('poles.airTimeConstantS', airTimeConstantS, { atLeast: 0 });
}

/** Throws an `ArgumentError` unless the value is an array of cooler models. */
export function requireModels(value: unknown, caller: string): asserts value is readonly CoolerModel[] {
  if (!Array.isArray(value))
    throw new ArgumentError({
      caller,
      argument: 'models',
      expected: 'an array of cooler models',
      received: value,
      remedy: REMEDY,
    });
  value.forEach((model: unknown, i) => {
    requireModel(model, caller, `models[${i}]`);
  });
}
