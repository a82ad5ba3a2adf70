import { addProduct, addScaled } from '../../numerics/columns.js';
import type { Workspace } from '../../numerics/workspace.js';
import { createFitParameters, type FitParameters } from './fit-parameters.js';
import type { FitPiece, FitRecord } from './fit-record.js';
import { type FitStructure, linearCountOf, type ParameterLayout } from './fit-structure.js';
import { createRecordResponses, type RecordResponses, spanOf } from './record-responses.js';

/**
 * The model of one record, for the rise of the measured temperature over the air as the die sees it:
 *
 *   rise(t) = m · ( Σₖ rₖ xₖ(t) + rₙ d(t) + (R xₙ(t) + rₙ d(t)) · (ψ(xₙ(t)) − 1) ),   R = Σₖ rₖ − rₑ,   ψ(x) = (x / P₀)^(−q)
 *
 * xₖ is the unit-gain response of pole k (through the sensor lag, if there is one) to the measured power, m the mount's
 * factor, P₀ the power at which R is stated; d is what the fan adds to the slowest stage (`fillFanResponse`), rₑ the part
 * of the resistance that is an enclosure's and does not bend, each where there is one. ψ puts the fall of the resistance
 * with power where it belongs physically: on the outermost, slowest stage. In steady state
 * rise = P · (R(n) · (P / P₀)^(−q) + rₑ).
 *
 * Here it stands at the parameters read and the resistances set last. Its derivatives are in `resistance-columns.ts` and
 * `nonlinear-columns.ts`.
 */
export interface RecordModel {
  readonly structure: FitStructure;
  readonly parameters: FitParameters;
  readonly responses: RecordResponses;
  /** Of the stages, then rₑ where there is an enclosure. */
  readonly resistancesKPerW: Float64Array;
  setResistances(resistancesKPerW: Float64Array): void;
  /** R: all that bends. */
  bendingKPerW(): number;
}

export function createRecordModel(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  workspace: Workspace,
): RecordModel {
  const parameters = createFitParameters(record, structure, layout);
  const responses = createRecordResponses(record, structure, parameters, workspace);
  const resistancesKPerW = new Float64Array(linearCountOf(structure));
  let bendingKPerW = 0;
  return {
    structure,
    parameters,
    responses,
    resistancesKPerW,
    setResistances(resistances) {
      resistancesKPerW.set(resistances);
      bendingKPerW = 0;
      for (let k = 0; k < resistances.length; k++)
        bendingKPerW += k < structure.stageCount ? resistances[k] : -resistances[k];
    },
    bendingKPerW: () => bendingKPerW,
  };
}

/** Adds the modelled rise of piece p, K, without weights: residuals are wanted of samples that have none. */
export function addModelledRise(into: Float64Array, model: RecordModel, piece: FitPiece, p: number): void {
  const { structure, parameters, responses, resistancesKPerW } = model;
  const { begin, end } = spanOf(piece);
  const factor = parameters.mountFactorOf(piece);
  const { bends, bend, slowest, fan } = responses;
  for (let k = 0; k < structure.stageCount; k++) {
    for (const [scale, response] of responses.partialFractions(p, k))
      addScaled(into, factor * resistancesKPerW[k] * scale, response, begin, end);
  }
  if (bends) addProduct(into, factor * model.bendingKPerW(), bend, slowest, begin, end);
  if (fan !== undefined) {
    const scale = factor * resistancesKPerW[structure.stageCount - 1];
    addScaled(into, scale, fan.value, begin, end);
    if (bends) addProduct(into, scale, bend, fan.value, begin, end);
  }
}
