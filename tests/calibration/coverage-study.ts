// Do stated intervals hold the truth, and are they narrow? Rigs of the demo's generator, whose physics is richer than
// the model that is fitted: five nodes and a board, convection that improves with temperature, drifting air, coarse
// lagging sensors. `npm run calibrate` asks 400 of them, `npm test` fewer.
import { randomRig } from '../../datasets-demo/generator/random-rig.js';
import { type RigParameters, simulateRig } from '../../datasets-demo/generator/rig.js';
import { steadyTruth } from '../../datasets-demo/generator/steady-truth.js';
import { steadyTemperatures } from '../../datasets-demo/generator/thermal-network.js';
import { binomialInterval95 } from '../../toolkit/numerics/binomial-interval.js';
import type { Estimate } from '../../toolkit/numerics/estimate.js';
import { requireValue } from '../../toolkit/numerics/estimates.js';
import { makeRun } from '../../toolkit/runs/make-run.js';
import type { Run, RunSamples } from '../../toolkit/runs/run.js';
import type { CoolerModel } from '../../toolkit/thermal/cooler-model.js';
import { fitCooler } from '../../toolkit/thermal/fit/fit-cooler.js';
import { forecastSteady } from '../../toolkit/thermal/forecast/forecast-steady.js';
import { steadyTemperature } from '../../toolkit/thermal/steady-temperature.js';

/** One rig of the study: its physics follows from its kind and seed alone. */
export interface StudyRig {
  readonly kind: 'air' | 'liquid';
  readonly seed: number;
}

/** What is asked of each rig, in the order of the table. */
export const QUESTIONS = [
  'steady, two caps → the cap between',
  'steady, two caps → a cap above',
  'steady, two caps → a cap below',
  'steady, three caps → between them',
  'steady, 300 s at the higher cap beside the lower',
  'steady, 600 s at the higher cap beside the lower',
  'steady, 300 s at the lower cap beside the higher',
  'steady, lower cap → higher cap',
  'steady, higher cap → lower cap',
  'steady, lower cap → same cap',
  'steady, higher cap → same cap',
  'resistance, two caps',
  'resistance, lower cap',
  'resistance, higher cap',
  'forecast after 8 of 25 minutes',
  'mean of the last two of 8 minutes',
] as const;

export type Question = (typeof QUESTIONS)[number];

/** One answer held against the truth; in K for temperatures, in % of the truth for resistances. */
export interface Answer extends StudyRig {
  readonly question: Question;
  /** Estimate minus truth; absent where no estimate was given. */
  readonly departure?: number;
  /** Half the width of the 95 % interval; absent, as `covered`, where the answer has none. */
  readonly halfWidth?: number;
  readonly covered?: boolean;
}

/** One line of the table. */
export interface CoverageRow {
  readonly kind: StudyRig['kind'] | 'both';
  readonly question: Question;
  readonly unit: 'K' | '%';
  readonly answerCount: number;
  /** Rigs for which no answer was given. */
  readonly refusedCount: number;
  readonly coveredCount: number;
  /** Of the share covered: exact binomial 95 % interval. */
  readonly coverage95: readonly [low: number, high: number];
  /** NaN, as `halfWidth90`, for a question whose answers have no interval. */
  readonly halfWidthMedian: number;
  readonly halfWidth90: number;
  /** Mean of estimate minus truth. */
  readonly bias: number;
  readonly departureMedian: number;
  readonly departure90: number;
}

/** Lower and upper cap of the two runs of each kind, W. */
export const STUDY_CAPS_W: Readonly<Record<StudyRig['kind'], readonly [low: number, high: number]>> = {
  air: [60, 90],
  liquid: [80, 118],
};
/** Air in which steady temperatures are asked for, degrees Celsius. */
const ROOM_AIR_C = 23;
/** How far beyond the logged caps is asked. */
const BEYOND_RATIO = 1.2;
const LEAD_IN_S = 60;
const FORECAST_AFTER_S = 480;

/** Rigs of alternating kind with consecutive seeds. */
export function studyRigs(count: number, firstSeed: number): StudyRig[] {
  return Array.from({ length: count }, (_, n) => ({
    kind: n % 2 === 0 ? 'air' : 'liquid',
    seed: firstSeed + n,
  }));
}

/** Logs one rig at both caps, fits, forecasts, and holds every answer against the rig's own physics. */
export function answersOfRig({ kind, seed }: StudyRig): Answer[] {
  const [low, high] = STUDY_CAPS_W[kind];
  const between = (low + high) / 2;
  const [lowRun, highRun, betweenRun] = [low, high, between].map((powerCapW, c) => {
    const rigAtCap = randomRig({ kind, powerCapW, leadInS: LEAD_IN_S }, seed);
    const { truth: _, ...log } = simulateRig(rigAtCap, 10 * seed + c);
    return makeRun(log, { label: `${powerCapW} W` });
  });
  const rig = randomRig({ kind, powerCapW: low }, seed);
  const both = fitCooler([lowRun, highRun]);
  const fromThree = fitCooler([lowRun, betweenRun, highRun]);
  /** A whole run beside a second one that was broken off so long into its load. */
  const besides = (long: Run, short: Run, loadS: number): CoolerModel =>
    fitCooler([long, firstPart(short, LEAD_IN_S + loadS)]);
  const fromLow = fitCooler(lowRun);
  const fromHigh = fitCooler(highRun);
  const answer = (question: Question, estimate: Estimate | undefined, truth: number): Answer => {
    if (estimate?.kind !== 'estimated') return { kind, seed, question };
    const [least, most] = estimate.interval95;
    const scale = unitOf(question) === 'K' ? 1 : 100 / truth;
    return {
      kind,
      seed,
      question,
      departure: scale * (estimate.value - truth),
      halfWidth: (scale * (most - least)) / 2,
      covered: least <= truth && truth <= most,
    };
  };
  const steady = (question: Question, model: CoolerModel, powerCapW: number): Answer => {
    const truth = steadyTruth(rig, { powerCapW, roomAirC: ROOM_AIR_C });
    const estimate = steadyTemperature(model, { powerW: truth.powerW, ambientC: ROOM_AIR_C });
    return answer(question, estimate, truth.temperatureC);
  };
  const resistance = (question: Question, model: CoolerModel): Answer => {
    const { atPowerW } = model.resistanceLaw;
    const riseK = settledC(rig, atPowerW, ROOM_AIR_C) - ROOM_AIR_C;
    return answer(question, model.thermalResistanceKPerW, riseK / atPowerW);
  };
  const forecast = forecastSteady(firstPart(highRun, LEAD_IN_S + FORECAST_AFTER_S));
  const settles = forecast.kind === 'forecast' ? settledC(rig, forecast.powerW, forecast.ambientC) : 0;
  return [
    steady('steady, two caps → the cap between', both, between),
    steady('steady, two caps → a cap above', both, high * BEYOND_RATIO),
    steady('steady, two caps → a cap below', both, low / BEYOND_RATIO),
    steady('steady, three caps → between them', fromThree, (between + high) / 2),
    steady('steady, 300 s at the higher cap beside the lower', besides(lowRun, highRun, 300), high),
    steady('steady, 600 s at the higher cap beside the lower', besides(lowRun, highRun, 600), high),
    steady('steady, 300 s at the lower cap beside the higher', besides(highRun, lowRun, 300), low),
    steady('steady, lower cap → higher cap', fromLow, high),
    steady('steady, higher cap → lower cap', fromHigh, low),
    steady('steady, lower cap → same cap', fromLow, low),
    steady('steady, higher cap → same cap', fromHigh, high),
    resistance('resistance, two caps', both),
    resistance('resistance, lower cap', fromLow),
    resistance('resistance, higher cap', fromHigh),
    ...(forecast.kind === 'forecast'
      ? [
          answer('forecast after 8 of 25 minutes', forecast.steadyTemperatureC, settles),
          // What people write down instead of a forecast: held against the truth without an interval, of which it makes no claim.
          {
            kind,
            seed,
            question: 'mean of the last two of 8 minutes' as const,
            departure: requireValue(forecast.lastTwoMinutesC) - settles,
          },
        ]
      : [answer('forecast after 8 of 25 minutes', undefined, settles)]),
  ];
}

/** The table: what the answers of many rigs say of each question, by kind and of both together. */
export function coverageStudy(answers: readonly Answer[]): CoverageRow[] {
  return (['both', 'air', 'liquid'] as const).flatMap((kind) =>
    QUESTIONS.flatMap((question) => {
      const asked = answers.filter(
        (answer) => (kind === 'both' || answer.kind === kind) && answer.question === question,
      );
      const given = asked.filter((answer) => answer.departure !== undefined);
      if (given.length === 0) return [];
      const departures = given.map(({ departure = 0 }) => departure);
      const halfWidths = given.flatMap(({ halfWidth }) => (halfWidth === undefined ? [] : [halfWidth]));
      const coveredCount = given.filter(({ covered }) => covered).length;
      return {
        kind,
        question,
        unit: unitOf(question),
        answerCount: given.length,
        refusedCount: asked.length - given.length,
        coveredCount,
        coverage95: binomialInterval95(coveredCount, given.length),
        halfWidthMedian: sampleQuantile(halfWidths, 0.5),
        halfWidth90: sampleQuantile(halfWidths, 0.9),
        bias: departures.reduce((sum, departure) => sum + departure, 0) / given.length,
        departureMedian: sampleQuantile(departures.map(Math.abs), 0.5),
        departure90: sampleQuantile(departures.map(Math.abs), 0.9),
      };
    }),
  );
}

function unitOf(question: Question): CoverageRow['unit'] {
  return question.startsWith('resistance') ? '%' : 'K';
}

/** Where the die settles at a power, degrees Celsius; no limit of the processor interferes. */
function settledC({ network }: RigParameters, powerW: number, airC: number): number {
  return steadyTemperatures(network, powerW, airC)[0];
}

/** The run as it was before `endS`. */
function firstPart(run: Run, endS: number): Run {
  const end = run.timeS.findIndex((timeS) => timeS >= endS);
  const cut = (column: Float64Array | undefined): Float64Array | undefined => column?.subarray(0, end);
  const samples: RunSamples = {
    timeS: run.timeS.subarray(0, end),
    temperatureC: run.temperatureC.subarray(0, end),
    powerW: run.powerW.subarray(0, end),
  };
  const ambientC = cut(run.ambientC);
  return makeRun(ambientC === undefined ? samples : { ...samples, ambientC }, { label: run.label });
}

function sampleQuantile(values: readonly number[], share: number): number {
  if (values.length === 0) return Number.NaN;
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))];
}
