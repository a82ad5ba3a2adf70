import { formatEstimate, formatNumber } from '../../numerics/format-estimate.js';
import type { Finding } from '../../runs/finding.js';
import { ASSUMED_EXPONENT } from '../assumed-exponent.js';
import type { CoolerModel } from '../cooler-model.js';
import { type FanCurve, fanResistance } from '../fan-law.js';
import { fanSpeedsOf } from './fan-covariate.js';
import type { FittedCandidate } from './fit-candidate.js';
import type { FitRecord } from './fit-record.js';

/** Residuals averaged over this time show structure, not sensor noise, s. */
const STRUCTURE_WINDOW_S = 30;
/** Slow residuals above this matter for a decision, K. */
const STRUCTURE_LIMIT_K = 0.35;
/** Share of the final rise that may be missing at the end of the longest run before it counts as extrapolated. */
const MISSING_SHARE = 0.03;

/** The exponent that a single run's own course asks for matters from this departure on, in prior spreads … */
const BENT_SPREADS = 2.5;
/** … if it lowers the weighted sum of squares by this much, in effective samples. */
const BENT_GAIN = 9;
/** Power that stays within this share of its highest value never changes. */
const STEADY_POWER_SHARE = 0.15;

/** What the findings are drawn from. */
export interface FindingSources {
  readonly record: FitRecord;
  readonly model: CoolerModel;
  readonly candidates: readonly FittedCandidate[];
  readonly chosen: FittedCandidate;
  /** The chosen structure with its exponent fitted, where one power was logged and the exponent is assumed. */
  readonly bent: FittedCandidate | undefined;
  readonly spikeMask: Float64Array;
}

/** What a person should know about a thermal fit, each with what to do about it. */
export function fitFindings({
  record,
  model,
  candidates,
  chosen,
  bent,
  spikeMask,
}: FindingSources): Finding[] {
  return [
    ...seriousOfRuns(record),
    structuredResiduals(record, chosen, spikeMask),
    steadyStateNotReached(record, model),
    assumedExponent(model),
    bentConvection(chosen, bent),
    severalMounts(record, model),
    startsAfterGaps(record),
    inseparableStart(record),
    powerNeverChanges(record),
    warmStart(record),
    fittedAir(record, model),
    spikesLeftOut(spikeMask),
    fanSpeed(record, model),
    fanFollowsTemperature(record, model),
    blockMeans(record),
    missedStage(record, model, candidates),
    implausibleResistance(model),
    smallRise(model),
    ...(model.fanCurve?.findings ?? []),
  ].filter((finding) => finding !== undefined);
}

/** What makes a log doubtful makes every answer from it doubtful: it goes along with the model. */
function seriousOfRuns({ runs }: FitRecord): Finding[] {
  return runs.flatMap(({ label, findings }) =>
    findings
      .filter(({ severity }) => severity === 'serious')
      .map((finding) => ({ ...finding, message: `Run "${label}": ${finding.message}` })),
  );
}

function structuredResiduals(
  record: FitRecord,
  chosen: FittedCandidate,
  spikeMask: Float64Array,
): Finding | undefined {
  let worstK = 0;
  let worst: { label: string; startS: number; endS: number } | undefined;
  for (const piece of record.pieces) {
    const residualsK = chosen.residualsK
      .subarray(piece.offset, piece.offset + piece.stepS.length)
      .map((residual, i) => residual * spikeMask[piece.offset + i]);
    const run = record.runs[piece.runIndex];
    let sum = 0;
    let first = 0;
    let spanS = 0;
    for (let i = 0; i < residualsK.length; i++) {
      sum += residualsK[i];
      spanS += piece.stepS[i];
      while (spanS > STRUCTURE_WINDOW_S && first < i) {
        sum -= residualsK[first++];
        spanS -= piece.stepS[first];
      }
      const mean = Math.abs(sum / (i - first + 1));
      if (spanS > STRUCTURE_WINDOW_S / 2 && mean > worstK) {
        worstK = mean;
        worst = {
          label: run.label,
          startS: run.timeS[piece.firstIndex] + piece.elapsedS[first],
          endS: run.timeS[piece.firstIndex] + piece.elapsedS[i],
        };
      }
    }
  }
  if (worst === undefined || worstK <= STRUCTURE_LIMIT_K) return undefined;
  return {
    code: 'structured-residuals',
    severity: worstK > 3 * STRUCTURE_LIMIT_K ? 'serious' : 'warning',
    message:
      `Run "${worst.label}" departs from the model by ${formatNumber(worstK)} K over half a minute near ` +
      `${formatNumber(worst.startS / 60)} min; that is more than sensor noise. The intervals were widened for it.`,
    remedy:
      'look at the residual picture: short waves after a change of power are the limits of a lumped model, allow more ' +
      'stages; a departure that lasts points to a change of fan speed, of the air at the intake or of the load at that ' +
      'time, log that run again',
    rangeS: [worst.startS, worst.endS],
  };
}

function steadyStateNotReached(record: FitRecord, model: CoolerModel): Finding | undefined {
  if (model.poles === undefined) return undefined;
  const { timeConstantsS, resistancesKPerW } = model.poles;
  const slowestS = timeConstantsS[timeConstantsS.length - 1];
  const total = resistancesKPerW.reduce((sum, resistance) => sum + resistance, 0);
  const missing =
    (resistancesKPerW[resistancesKPerW.length - 1] / total) * Math.exp(-record.longestPieceS / slowestS);
  if (missing <= MISSING_SHARE) return undefined;
  return {
    code: 'steady-state-not-reached',
    severity: missing > 0.15 ? 'serious' : 'warning',
    message:
      `The slowest time constant is ${formatNumber(slowestS)} s and the longest run lasts ` +
      `${formatNumber(record.longestPieceS / 60)} min: ${formatNumber(100 * missing)} % of the final rise was not ` +
      'seen and comes from the model.',
    remedy: `log at least one run of ${Math.ceil((4 * slowestS) / 60)} minutes`,
  };
}

function assumedExponent(model: CoolerModel): Finding | undefined {
  const law = model.resistanceLaw;
  if (law.exponentSource === 'fitted' || law.exponentStandardError === 0) return undefined;
  return {
    code: 'assumed-power-exponent',
    severity: 'note',
    message:
      `One power only was logged (${formatNumber(law.atPowerW)} W). How the resistance changes with power is ` +
      `assumed, as for a small cooler with a steady fan: R ∝ P^−${law.powerExponent} ± ${law.exponentStandardError}; answers at ` +
      'other powers are wider for it. Without a fan it falls faster.',
    remedy: 'log a second run at a power that differs by 20 % or more',
  };
}

function bentConvection(chosen: FittedCandidate, bent: FittedCandidate | undefined): Finding | undefined {
  if (bent === undefined || bent.rejected !== undefined) return undefined;
  const departure = bent.powerExponent - ASSUMED_EXPONENT.mean;
  if (Math.abs(departure) < BENT_SPREADS * ASSUMED_EXPONENT.standardDeviation) return undefined;
  if (chosen.weightedSquares - bent.weightedSquares < BENT_GAIN) return undefined;
  return {
    code: 'convection-not-linear',
    severity: 'warning',
    message:
      `The residuals follow the temperature difference: the run's own course asks for R ∝ P^−${formatNumber(bent.powerExponent)}, ` +
      `not the assumed −${ASSUMED_EXPONENT.mean}. Natural convection on a large part of the cooler, or a fan that follows the temperature, does that.`,
    remedy: 'log a second run at another power with the fan speed fixed; then the exponent is fitted',
  };
}

function powerNeverChanges(record: FitRecord): Finding | undefined {
  const changing = record.pieces.some(({ drivePowerW, startKind }) => {
    let low = Number.POSITIVE_INFINITY;
    let high = 0;
    for (const power of drivePowerW) {
      if (power < low) low = power;
      if (power > high) high = power;
    }
    return startKind === 'inseparable' || low < high * (1 - STEADY_POWER_SHARE);
  });
  if (changing) return undefined;
  return {
    code: 'power-never-changes',
    severity: 'note',
    message:
      'The log begins with the load and its power never changes: the stages rest on the assumption that everything had ' +
      'settled before. The total resistance does not.',
    remedy: 'begin the log a minute before the load, or let it run on while the cooler cools down',
  };
}

function severalMounts(record: FitRecord, model: CoolerModel): Finding | undefined {
  if (record.mounts.length < 2) return undefined;
  const factors = model.starts.map((start) => start.mountFactor);
  const spread = 100 * (Math.max(...factors) / Math.min(...factors) - 1);
  return {
    code: 'several-mounts',
    severity: 'note',
    message:
      `The runs hold ${record.mounts.length} mounts of the cooler (${record.mounts.map((mount) => mount || 'unnamed').join(', ')}); ` +
      `their resistances differ by ${formatNumber(spread)} %. The model stands for their middle, and its interval includes the spread.`,
    count: record.mounts.length,
  };
}

function startsAfterGaps(record: FitRecord): Finding | undefined {
  if (record.gapCount === 0) return undefined;
  return {
    code: 'gap-new-start',
    severity: 'note',
    message: `The runs have ${record.gapCount} gap${record.gapCount === 1 ? '' : 's'}; each stretch after a gap was fitted with a start of its own.`,
    count: record.gapCount,
  };
}

function inseparableStart(record: FitRecord): Finding | undefined {
  const inseparable = record.pieces.filter((piece) => piece.startKind === 'inseparable');
  if (inseparable.length < record.pieces.length) return undefined;
  return {
    code: 'stages-not-identifiable',
    severity: 'warning',
    message:
      'The record begins in the middle of a load and its power never changes: stages and start cannot be told apart. ' +
      'The total resistance is given, the stages are not.',
    remedy: 'log with a minute of idle before the load, or let the log run on while the cooler cools down',
  };
}

function warmStart(record: FitRecord): Finding | undefined {
  const warm = record.pieces.filter((piece) => piece.startKind === 'free' && piece.firstIndex === 0);
  if (warm.length === 0) return undefined;
  const labels = warm.map((piece) => `"${record.runs[piece.runIndex].label}"`).join(', ');
  return {
    code: 'warm-start',
    severity: 'note',
    message: `Run ${labels} begins warm from earlier work; each stage was fitted with a start of its own.`,
    count: warm.length,
  };
}

function fittedAir(record: FitRecord, model: CoolerModel): Finding | undefined {
  if (!record.pieces.some((piece) => piece.ambientUnknown)) return undefined;
  return {
    code: 'ambient-identified',
    severity: 'warning',
    message: `The air at the intake was not logged; it was fitted: ${formatEstimate(model.ambientC, '°C')}.`,
    remedy: 'measure the air at the intake: it decides the resistance as much as the die temperature does',
  };
}

function blockMeans({ runs, blockLength, sampleCount }: FitRecord): Finding | undefined {
  if (blockLength === undefined) return undefined;
  const count = runs.reduce((sum, run) => sum + run.timeS.length, 0);
  return {
    code: 'fitted-on-block-means',
    severity: 'note',
    message:
      `The runs hold ${count} samples; they were fitted on ${sampleCount} means of up to ${blockLength} samples each, ` +
      'with every sample by itself after a change of power. The noise stated is that of the means.',
    count: sampleCount,
  };
}

function spikesLeftOut(spikeMask: Float64Array): Finding | undefined {
  const count = spikeMask.reduce((sum, kept) => sum + (kept === 0 ? 1 : 0), 0);
  if (count === 0) return undefined;
  return {
    code: 'spikes-left-out',
    severity: count > 0.01 * spikeMask.length ? 'warning' : 'note',
    message:
      count === 1
        ? 'One temperature sample that jumps away from its neighbours and back got no weight in the fit.'
        : `${count} temperature samples that jump away from their neighbours and back got no weight in the fit.`,
    count,
  };
}

function fanSpeed({ runs }: FitRecord, { fanCurve }: CoolerModel): Finding | undefined {
  const { range, varies } = fanSpeedsOf(runs);
  if (range === undefined) return undefined;
  const [low, high] = range.map(Math.round);
  if (fanCurve !== undefined) return fanSpeedFitted(fanCurve, low, high);
  if (!varies) {
    return {
      code: 'one-fan-speed',
      severity: 'note',
      message: `All runs were logged at one fan speed, ${low === high ? low : `${low} to ${high}`} rpm; the model holds for that speed.`,
      remedy: 'log a run at another fan speed to learn what the fan changes',
    };
  }
  return {
    code: 'fan-speed-changed',
    severity: 'warning',
    message: `The fan speed ranges from ${low} to ${high} rpm; the resistance is an average over it.`,
    remedy: 'fix the fan speed and log again, or fit runs of one fan speed at a time',
  };
}

function fanSpeedFitted(curve: FanCurve, low: number, high: number): Finding {
  const resistances = curve.testedRange.fanSpeedRpm.map((speed) => fanResistance(curve, speed));
  const [atLow, atHigh] = resistances.map(({ value }) => formatNumber(value));
  return {
    code: 'fan-speed-fitted',
    severity: 'note',
    message:
      `The fan speed ranges from ${low} to ${high} rpm and was fitted with the stages: the resistance falls from ${atLow} to ` +
      `${atHigh} K/W over it. The model is stated at ${Math.round(curve.referenceFanSpeedRpm)} rpm; see fanCurve for others.`,
  };
}

/** From this correlation on, fan speed and temperature rose together. */
const TOGETHER = 0.7;

/** Where one power was logged, a fan that its own temperature drives leaves the fan's part and convection's part mixed. */
function fanFollowsTemperature({ runs }: FitRecord, model: CoolerModel): Finding | undefined {
  if (model.fanCurve === undefined || model.resistanceLaw.exponentSource === 'fitted') return undefined;
  const together = runs.every(
    ({ fanSpeedRpm, temperatureC }) =>
      fanSpeedRpm !== undefined && correlationOf(fanSpeedRpm, temperatureC) > TOGETHER,
  );
  if (!together) return undefined;
  return {
    code: 'fan-follows-temperature',
    severity: 'warning',
    message:
      'The fan speed rose with the temperature, and one power only was logged: what the fan changes and what the temperature ' +
      'difference changes cannot be told apart. Answers at another fan speed are less sure than their intervals say.',
    remedy: 'log a second run at another power, or one with the fan held at another speed',
  };
}

function correlationOf(a: Float64Array, b: Float64Array): number {
  const mean = (values: Float64Array): number =>
    values.reduce((sum, value) => sum + value, 0) / values.length;
  const [meanA, meanB] = [mean(a), mean(b)];
  let [squaresA, squaresB, products] = [0, 0, 0];
  for (let i = 0; i < a.length; i++) {
    const [x, y] = [a[i] - meanA, b[i] - meanB];
    squaresA += x * x;
    squaresB += y * y;
    products += x * y;
  }
  return products / Math.max(Math.sqrt(squaresA * squaresB), Number.MIN_VALUE);
}

/** A rejected candidate stands clearly above the chosen one from this difference of the criterion on. */
const CLEARLY_BETTER = 10;

function missedStage(
  record: FitRecord,
  model: CoolerModel,
  candidates: readonly FittedCandidate[],
): Finding | undefined {
  const chosen = model.orders.find((order) => order.chosen);
  const better = candidates.filter((_, c) => {
    const { aicc } = model.orders[c];
    return chosen?.aicc !== undefined && aicc !== undefined && aicc < chosen.aicc - CLEARLY_BETTER;
  });
  const slowest = [...better.map(({ timeConstantsS }) => timeConstantsS), model.poles?.timeConstantsS ?? []];
  const slowestS = Math.max(
    ...slowest.map((timeConstantsS) => timeConstantsS[timeConstantsS.length - 1] ?? 0),
  );
  if (slowestS <= record.longestPieceS) return undefined;
  return {
    code: 'time-constant-beyond-run',
    severity: 'serious',
    message: `The slowest time constant is longer than the longest run (${formatNumber(record.longestPieceS)} s); where the temperature would settle is a guess.`,
    remedy: 'log a longer run before deciding',
  };
}

/** Thermal resistances of processor coolers lie within these bounds, K/W; outside, a unit is wrong. */
const PLAUSIBLE_RESISTANCE_K_PER_W = [0.02, 10] as const;

function implausibleResistance(model: CoolerModel): Finding | undefined {
  const { thermalResistanceKPerW } = model.resistanceLaw;
  const [low, high] = PLAUSIBLE_RESISTANCE_K_PER_W;
  if (thermalResistanceKPerW >= low && thermalResistanceKPerW <= high) return undefined;
  return {
    code: 'implausible-resistance',
    severity: 'serious',
    message: `A thermal resistance of ${formatNumber(thermalResistanceKPerW)} K/W is not that of a processor cooler (${low} to ${high} K/W).`,
    remedy: 'check the units of power and temperature in the logs',
  };
}

/** Below this rise above the air a sensor that is a kelvin off matters more than anything the fit can tell, K. */
const SMALL_RISE_K = 10;

function smallRise({ resistanceLaw, testedRange }: CoolerModel): Finding | undefined {
  const [, powerW] = testedRange.powerW;
  const { thermalResistanceKPerW, atPowerW, powerExponent } = resistanceLaw;
  const riseK = powerW * thermalResistanceKPerW * (powerW / atPowerW) ** -powerExponent;
  if (!(riseK < SMALL_RISE_K)) return undefined;
  return {
    code: 'small-rise',
    severity: 'warning',
    message:
      `The highest power logged, ${formatNumber(powerW, 'W')}, lifts the die only ${formatNumber(riseK, 'K')} above the air, as idling does: a sensor ` +
      `that is 1 K off makes the resistance ${formatNumber(100 / riseK, '%')} wrong.`,
    remedy: 'log a run under load',
  };
}
