import { ArgumentError } from '../../errors.js';
import { requireRun } from '../../runs/require-run.js';
import type { Run } from '../../runs/run.js';
import { airAtDie } from '../air-at-die.js';
import type { CoolerModel } from '../cooler-model.js';
import { requireStages } from '../require-stages.js';
import { simulateTemperature } from '../simulate.js';
import { gapEdges, intakeAirOf } from './fit-record.js';

/** A model held against one of the runs it was fitted from; all arrays have the run's length. */
export interface CoolerFit {
  readonly runLabel: string;
  readonly timeS: Float64Array;
  readonly measuredC: Float64Array;
  readonly modelledC: Float64Array;
  /** Measured minus modelled, K. */
  readonly residualK: Float64Array;
}

/**
 * The fitted temperature of one run, with residuals, from the start the fit found for it.
 *
 * @param model - from `fitCooler`
 * @param run - one of the runs the model was fitted from
 * @throws ArgumentError if the run is not among them
 * @example
 * const timeS = Array.from({ length: 600 }, (_, i) => i);
 * const run = makeRun(
 *   { timeS, powerW: timeS.map((t) => (t === 0 ? 0 : 80)), temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))) },
 *   { label: 'step', conditions: { ambientC: 22 } },
 * );
 * fitOf(fitCooler(run, { powerExponent: 0 }), run).residualK[60]; // => 0 within 1e-4
 */
export function fitOf(model: CoolerModel, run: Run): CoolerFit {
  const caller = 'fitOf';
  const { airTimeConstantS } = requireStages(model, caller);
  requireRun(run, caller);
  const starts = model.starts.filter((start) => start.runLabel === run.label);
  if (starts.length === 0) {
    throw new ArgumentError({
      caller,
      argument: 'run',
      expected: `one of the runs the model was fitted from (${model.runLabels.join(', ')})`,
      received: run.label,
    });
  }
  const fittedAirC = starts[0].ambientC;
  const ambientC =
    fittedAirC === undefined
      ? airAtDie(run.timeS, intakeAirOf(run, caller), airTimeConstantS)
      : new Float64Array(run.timeS.length).fill(fittedAirC);
  const fanSpeedRpm =
    model.fanCurve === undefined ? undefined : (run.fanSpeedRpm ?? run.conditions.fanSpeedRpm);
  const edges = gapEdges(run.timeS);
  const modelledC = Float64Array.from(run.temperatureC);
  for (let e = 0; e + 1 < edges.length; e++) {
    const [first, end] = [edges[e], edges[e + 1]];
    const start = starts.find((candidate) => candidate.firstIndex === first);
    // A single sample between two gaps took no part in the fit.
    if (start === undefined) continue;
    const riseK = simulateTemperature(model, {
      timeS: run.timeS.subarray(first, end),
      powerW: run.powerW.subarray(first, end),
      ambientC: 0,
      startPowerW: start.startPowerW.length === 1 ? start.startPowerW[0] : start.startPowerW,
      powerSample: run.powerSample,
      ...(fanSpeedRpm === undefined
        ? {}
        : { fanSpeedRpm: typeof fanSpeedRpm === 'number' ? fanSpeedRpm : fanSpeedRpm.subarray(first, end) }),
    });
    for (let i = first; i < end; i++) {
      modelledC[i] = ambientC[i] + start.mountFactor * riseK[i - first];
    }
  }
  return {
    runLabel: run.label,
    timeS: run.timeS.slice(),
    measuredC: run.temperatureC.slice(),
    modelledC,
    residualK: run.temperatureC.map((measured, i) => measured - modelledC[i]),
  };
}
