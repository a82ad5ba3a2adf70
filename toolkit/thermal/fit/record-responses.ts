import { addScaled } from '../../numerics/columns.js';
import type { Workspace } from '../../numerics/workspace.js';
import { LOWEST_POWER_SHARE } from '../convection.js';
import { allocateFanResponse, type FanResponse, fillFanResponse } from '../fan-response.js';
import {
  allocatePoleResponse,
  fillBlockedResponse,
  fillPoleResponse,
  type PoleResponse,
} from '../pole-response.js';
import type { FitParameters } from './fit-parameters.js';
import type { FitPiece, FitRecord } from './fit-record.js';
import type { FitStructure } from './fit-structure.js';

/** From where to where a piece stands in arrays over the whole record. */
export interface Span {
  readonly begin: number;
  readonly end: number;
}

export function spanOf({ offset, stepS }: FitPiece): Span {
  return { begin: offset, end: offset + stepS.length };
}

/**
 * What a fit's model is made of, over the whole record, as filled by `respond` for one piece after the other. Arrays that
 * a structure does not need are missing.
 */
export interface RecordResponses {
  /** Fills everything of one piece at the parameters read last. */
  respond(p: number): void;
  /** Of each stage, without the sensor's lag. */
  readonly stages: readonly PoleResponse[];
  readonly lag?: PoleResponse;
  /** Whether the resistance depends on the power: ψ is not 1. */
  readonly bends: boolean;
  /** x of the slowest stage, through the lag, where convection bends. */
  readonly slowest: Float64Array;
  /** ψ − 1 = (x / P₀)^(−q) − 1, and d(x ψ − x)/dx. */
  readonly bend: Float64Array;
  readonly bendSlope: Float64Array;
  /** What the fan adds to the slowest stage: its response with the fan less that without. */
  readonly fan?: FanResponse;
  /** Share of a stage in the difference of two poles that it makes with a lag in series: τ / (τ − τₛ). */
  shareOf(stage: number): number;
  /** x of a stage as scaled responses to be added: its own, and the lag's from rest and from the start. */
  partialFractions(p: number, stage: number): [scale: number, response: Float64Array][];
}

export function createRecordResponses(
  record: FitRecord,
  structure: FitStructure,
  parameters: FitParameters,
  workspace: Workspace,
): RecordResponses {
  const { sampleCount, pieces } = record;
  const { stageCount, atPowerW } = structure;
  const slowestStage = stageCount - 1;
  const bends = structure.fitExponent || structure.powerExponent !== 0;
  const room = (needed: boolean): Float64Array => (needed ? workspace.take(sampleCount) : NOTHING);

  const stages = Array.from({ length: stageCount }, () => allocatePoleResponse(sampleCount, workspace));
  const lag = structure.sensorLag ? allocatePoleResponse(sampleCount, workspace) : undefined;
  const fan = structure.fan === true ? allocateFanResponse(sampleCount, workspace) : undefined;
  const slowest = room(bends);
  const bend = room(bends);
  const bendSlope = room(bends);
  // Pieces see their part of the arrays.
  const stageParts = stages.map((stage) => pieces.map((piece) => partOf(stage, piece)));
  const lagParts = lag === undefined ? undefined : pieces.map((piece) => partOf(lag, piece));
  const fanParts = fan === undefined ? undefined : pieces.map((piece) => partOf(fan, piece));

  const shareOf = (stage: number): number => {
    if (lag === undefined) return 1;
    const timeConstantS = parameters.timeConstantsS[stage];
    return timeConstantS / (timeConstantS - parameters.lagS());
  };
  const partialFractions = (p: number, stage: number): [number, Float64Array][] => {
    if (lag === undefined) return [[1, stages[stage].value]];
    const share = shareOf(stage);
    return [
      [share, stages[stage].value],
      [1 - share, lag.value],
      [(1 - share) * parameters.startOf(p, stage), lag.decay],
    ];
  };

  return {
    respond(p) {
      const piece = pieces[p];
      const { begin, end } = spanOf(piece);
      if (lagParts !== undefined) fillPieceResponse(piece, parameters.lagS(), 0, lagParts[p]);
      for (let k = 0; k < stageCount; k++)
        fillPieceResponse(piece, parameters.timeConstantsS[k], parameters.startOf(p, k), stageParts[k][p]);
      if (bends) {
        slowest.fill(0, begin, end);
        for (const [scale, response] of partialFractions(p, slowestStage))
          addScaled(slowest, scale, response, begin, end);
        fillBend(bend, bendSlope, slowest, atPowerW, parameters.powerExponent(), begin, end);
      }
      const slowestPart = stageParts[slowestStage][p];
      const timeConstantS = parameters.timeConstantsS[slowestStage];
      if (fanParts !== undefined && piece.logFanRatio !== undefined) {
        const { stepS, drivePowerW, logFanRatio } = piece;
        const samples = { stepS, drivePowerW, logFanRatio };
        const into = fanParts[p];
        fillFanResponse(timeConstantS, samples, parameters.startOf(p, slowestStage), parameters.fan(), into);
        // The lag is left out of the difference: a fan changes it too slowly for the sensor to matter.
        for (const name of ['value', 'sensitivity', 'decay'] as const)
          addScaled(into[name], -1, slowestPart[name], 0, stepS.length);
      }
    },
    stages,
    ...(lag === undefined ? {} : { lag }),
    bends,
    slowest,
    bend,
    bendSlope,
    ...(fan === undefined ? {} : { fan }),
    shareOf,
    partialFractions,
  };
}

const NOTHING = new Float64Array(0);

/** The part of arrays over the whole record that belongs to one piece. */
function partOf<Response extends object>(response: Response, piece: FitPiece): Response {
  const { begin, end } = spanOf(piece);
  return Object.fromEntries(
    Object.entries(response as Record<string, Float64Array>).map(([name, array]) => [
      name,
      array.subarray(begin, end),
    ]),
  ) as Response;
}

/** Response at each point of a piece: at its samples, or as the means over the samples behind each. */
export function fillPieceResponse(
  piece: FitPiece,
  timeConstantS: number,
  startW: number,
  into: PoleResponse,
): void {
  if (piece.within === undefined) fillPoleResponse(timeConstantS, piece, startW, into);
  else fillBlockedResponse(timeConstantS, piece.within, startW, into);
}

/** ψ − 1 and d(x ψ − x)/dx for ψ = (x / P₀)^(−q), constant below a small share of P₀. */
function fillBend(
  bend: Float64Array,
  bendSlope: Float64Array,
  x: Float64Array,
  atPowerW: number,
  exponent: number,
  begin: number,
  end: number,
): void {
  for (let i = begin; i < end; i++) {
    const share = x[i] / atPowerW;
    const bent = share > LOWEST_POWER_SHARE;
    // exp and log together take half the time of a power.
    const factor = Math.exp(-exponent * Math.log(bent ? share : LOWEST_POWER_SHARE));
    bend[i] = factor - 1;
    bendSlope[i] = (bent ? (1 - exponent) * factor : factor) - 1;
  }
}
