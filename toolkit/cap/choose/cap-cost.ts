import type { Estimate } from '../../numerics/estimate.js';
import { unavailable } from '../../numerics/estimates.js';
import { orderStatistic } from '../../numerics/order-statistic.js';
import { createWorkspace } from '../../numerics/workspace.js';
import type { PowerCurve } from '../../power/power-curve.js';
import type { PowerAndTemperature } from '../../power/predict/frequency-at.js';
import type { Load } from '../draws/load.js';
import { liesOutside } from '../setting/cap-reach.js';
import { knowsThroughput, type PreparedCap, type ThermalCase } from '../setting/prepared-cap.js';
import {
  frequencyOfCurve,
  fromCurveAndDraws,
  type QuantityOfCurve,
  standardErrorOfSum,
  throughputOfCurve,
  withSpread,
} from '../setting/quantity-of-curve.js';
import type { CapChoice } from './cap-choice.js';

/** What the cost is worked out from: one load, the hottest where there are several. */
export interface CostProblem {
  readonly prepared: PreparedCap;
  readonly thermal: ThermalCase;
  readonly load: Load;
  /** Without one the powers are known and what they cost is not. */
  readonly curve: PowerCurve | undefined;
  readonly defaultCapW: number;
  readonly powerCapW: number;
}

/** Power and temperature of every draw, and their means. */
interface DrawnPoints {
  readonly powersW: Float64Array;
  readonly temperaturesC: Float64Array;
  readonly meanPowerW: number;
  readonly meanTemperatureC: number;
}

/**
 * What the recommended cap costs against the default cap on the same cooler.
 *
 * In every draw the default cap sustains min(default, power at the limit, the load's own demand); the comparison is with
 * the median of these powers at the mean of the temperatures they give. The loss is a difference of two readings of one
 * curve in one room on one cooler: its uncertainty is propagated for the difference, not added up from the two.
 */
export function capCost(problem: CostProblem): NonNullable<CapChoice['cost']> {
  const { curve, defaultCapW, thermal, prepared } = problem;
  const { count } = thermal.binding;
  const atDefault = pointsAtDefault(problem);
  const { sustainedPowerW, heldCount } = atDefault;
  const common = {
    defaultCapW,
    sustainedPowerW,
    heldAtLimit: heldCount > count >>> 1,
    chanceOfPassingLimit: heldCount / count,
  };
  if (curve === undefined || !prepared.knows.frequency || sustainedPowerW === 0)
    return {
      ...common,
      frequencyMHz: missing,
      frequencyLossMHz: missing,
      lossFraction: missing,
      throughputPerS: missing,
      throughputLossFraction: missing,
    };
  workspace.release();
  const atCap = pointsAtCap(problem);
  const frequency = lossOf(frequencyOfCurve(curve), sustainedPowerW, atDefault, atCap);
  const throughput = knowsThroughput(curve)
    ? lossOf(throughputOfCurve(curve), sustainedPowerW, atDefault, atCap)
    : undefined;
  return {
    ...common,
    frequencyMHz: frequency.atDefault,
    frequencyLossMHz: frequency.loss,
    lossFraction: frequency.lossFraction,
    throughputPerS: throughput?.atDefault ?? missing,
    throughputLossFraction: throughput?.lossFraction ?? missing,
  };
}

const missing: Estimate = unavailable('not-identifiable');

/** For what no call leaves behind. */
const workspace = createWorkspace();

/** The same under the default cap, which is one for all caps that are compared with it. */
interface PointsAtDefault extends DrawnPoints {
  /** How many draws are held at the limit. */
  readonly heldCount: number;
  /** Median of the powers. */
  readonly sustainedPowerW: number;
}

/** The last ones, kept while a page moves the cap alone; their memory serves the next ones. */
let lastAtDefault:
  | (Pick<CostProblem, 'thermal' | 'load' | 'defaultCapW'> & { readonly points: PointsAtDefault })
  | undefined;
const workspaceAtDefault = createWorkspace();

/** Where each draw runs under the default cap: at it, or held at the limit, or at its own demand. */
function pointsAtDefault(problem: CostProblem): PointsAtDefault {
  const { thermal, load, defaultCapW } = problem;
  if (
    lastAtDefault?.thermal === thermal &&
    lastAtDefault.load === load &&
    lastAtDefault.defaultCapW === defaultCapW
  )
    return lastAtDefault.points;
  lastAtDefault = undefined;
  workspaceAtDefault.release();
  const points = makePointsAtDefault(problem);
  lastAtDefault = { thermal, load, defaultCapW, points };
  return points;
}

function makePointsAtDefault({ prepared, thermal, load, defaultCapW }: CostProblem): PointsAtDefault {
  const { powersAtLimitW, binding, loads } = thermal;
  const { count } = binding;
  const powersW = workspaceAtDefault.take(count);
  const temperaturesC = workspaceAtDefault.take(count);
  load.temperatures.temperaturesAt(defaultCapW, temperaturesC);
  let heldCount = 0;
  for (let i = 0; i < count; i++) {
    const held = powersAtLimitW[i] < defaultCapW;
    if (held) heldCount++;
    powersW[i] = Math.min(held ? powersAtLimitW[i] : defaultCapW, demandOf(load, i));
    // A load beside others may be cooler than the limit that holds the hottest; alone it is at the limit.
    if (held)
      temperaturesC[i] =
        loads.length > 1
          ? Math.min(temperaturesC[i], prepared.meanLimitC)
          : Math.max(prepared.meanLimitC, binding.restingC[i]);
  }
  workspace.release();
  const sorted = workspace.take(count);
  sorted.set(powersW);
  const sustainedPowerW = orderStatistic(sorted, count >>> 1);
  return { ...withMeans(powersW, temperaturesC), heldCount, sustainedPowerW };
}

function pointsAtCap({ load, powerCapW }: CostProblem): DrawnPoints {
  const { count } = load.temperatures;
  const powersW = workspace.take(count);
  const temperaturesC = workspace.take(count);
  load.temperatures.temperaturesAt(powerCapW, temperaturesC);
  for (let i = 0; i < count; i++) powersW[i] = Math.min(powerCapW, demandOf(load, i));
  return withMeans(powersW, temperaturesC);
}

function demandOf({ demand }: Load, index: number): number {
  if (demand === undefined) return Number.POSITIVE_INFINITY;
  return typeof demand === 'number' ? demand : demand.powersW[index];
}

function withMeans(powersW: Float64Array, temperaturesC: Float64Array): DrawnPoints {
  return { powersW, temperaturesC, meanPowerW: mean(powersW), meanTemperatureC: mean(temperaturesC) };
}

function mean(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i];
  return sum / values.length;
}

/** A quantity under the default cap, and what of it the recommended cap gives up. */
function lossOf(
  quantity: QuantityOfCurve,
  sustainedPowerW: number,
  atDefault: DrawnPoints,
  atCap: DrawnPoints,
): { readonly atDefault: Estimate; readonly loss: Estimate; readonly lossFraction: Estimate } {
  const { curve } = quantity;
  const defaultPoint = { powerW: sustainedPowerW, temperatureC: atDefault.meanTemperatureC };
  const capPoint = { powerW: atCap.meanPowerW, temperatureC: atCap.meanTemperatureC };
  const defaultValue = quantity.value(defaultPoint);
  const loss = defaultValue - quantity.value(capPoint);
  const fraction = loss / defaultValue;
  const spread = lossSpread(quantity, { defaultPoint, capPoint, defaultValue, fraction }, atDefault, atCap);
  const covariance = quantity.covariance([defaultPoint, capPoint]);
  const estimate = withSpread(quantity.estimate(defaultPoint), spread.ofDefault);
  const extrapolated =
    (estimate.kind === 'estimated' && estimate.extrapolated === true) ||
    liesOutside(capPoint.powerW, curve.testedRange.powerW);
  return {
    atDefault: estimate,
    loss: fromCurveAndDraws(
      curve,
      loss,
      { ofCurve: standardErrorOfSum([1, -1], covariance), ofDraws: spread.ofLoss },
      extrapolated,
    ),
    lossFraction: fromCurveAndDraws(
      curve,
      fraction,
      {
        ofCurve: standardErrorOfSum([(1 - fraction) / defaultValue, -1 / defaultValue], covariance),
        ofDraws: spread.ofFraction,
      },
      extrapolated,
    ),
  };
}

/** Standard deviations over the draws, to first order in the deviations of power and temperature from their means. */
function lossSpread(
  quantity: QuantityOfCurve,
  at: {
    readonly defaultPoint: PowerAndTemperature;
    readonly capPoint: PowerAndTemperature;
    readonly defaultValue: number;
    readonly fraction: number;
  },
  atDefault: DrawnPoints,
  atCap: DrawnPoints,
): { readonly ofDefault: number; readonly ofLoss: number; readonly ofFraction: number } {
  const ofDefault = quantity.slopes(at.defaultPoint);
  const ofCap = quantity.slopes(at.capPoint);
  const count = atDefault.powersW.length;
  let defaultSquares = 0;
  let lossSquares = 0;
  let fractionSquares = 0;
  for (let i = 0; i < count; i++) {
    const defaultChange =
      ofDefault.perPower * (atDefault.powersW[i] - atDefault.meanPowerW) +
      ofDefault.perTemperature * (atDefault.temperaturesC[i] - atDefault.meanTemperatureC);
    const capChange =
      ofCap.perPower * (atCap.powersW[i] - atCap.meanPowerW) +
      ofCap.perTemperature * (atCap.temperaturesC[i] - atCap.meanTemperatureC);
    const lost = defaultChange - capChange;
    defaultSquares += defaultChange ** 2;
    lossSquares += lost ** 2;
    fractionSquares += ((lost - at.fraction * defaultChange) / at.defaultValue) ** 2;
  }
  return {
    ofDefault: Math.sqrt(defaultSquares / count),
    ofLoss: Math.sqrt(lossSquares / count),
    ofFraction: Math.sqrt(fractionSquares / count),
  };
}
