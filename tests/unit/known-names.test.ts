import { describe, expect, test } from 'vitest';
import { ArgumentError, nearestName } from '../../toolkit/errors.js';
import * as kpw from '../../toolkit/node.js';
import { samplesPerIndependentSample } from '../../toolkit/numerics/autocorrelation.js';
import { leastSquares } from '../../toolkit/numerics/least-squares/least-squares.js';
import { frequencyFunction } from '../../toolkit/power/predict/frequency-at.js';
import { throughputFunction } from '../../toolkit/power/predict/throughput-at.js';

const timeS = Array.from({ length: 300 }, (_, i) => i);
const columns = {
  timeS,
  powerW: timeS.map((t) => (t === 0 ? 0 : 80)),
  temperatureC: timeS.map((t) => 22 + 40 * (1 - Math.exp(-t / 60))),
};
const run = kpw.makeRun(columns, { label: 'step', conditions: { ambientC: 22, cooler: 'flat 58 mm' } });
const model = kpw.fitCooler(run, { stageCount: 1, sensorLag: false, powerExponent: 0 });
const steady = [{ powerW: 80, temperatureC: 64, ambientC: 24 }];
const bench = kpw.coolerFromSteadyPoints(steady, { enclosure: 'open bench', fanSpeedRpm: 1000 });
const drawer = kpw.coolerFromSteadyPoints(steady, { label: 'in the drawer', enclosure: 'drawer' });
const averages = [
  { powerW: 118, temperatureC: 71, frequencyMHz: 3900 },
  { powerW: 90, temperatureC: 58, frequencyMHz: 3560 },
];
const curve = kpw.curveFromSteadyPoints(averages);
const choice = kpw.chooseCap(model, curve, { limitC: 85, ambientC: 22, maxCapW: 118 });
const limit = { limitC: 70, ambientC: 22 };

/** As a notebook without types would call, and what stands behind several public functions. */
const call = {
  ...kpw,
  samplesPerIndependentSample,
  leastSquares,
  frequencyFunction,
  throughputFunction,
} as unknown as Readonly<Record<string, (...args: readonly unknown[]) => unknown>>;

async function failureOf(name: string, args: readonly unknown[]): Promise<ArgumentError> {
  try {
    await call[name](...args);
  } catch (failure) {
    expect(failure).toBeInstanceOf(ArgumentError);
    return failure as ArgumentError;
  }
  throw new Error(`${name} accepted it`);
}

/** What is called, with what, and the argument at fault; then the name that is meant, where one is near. */
type Mistyped = readonly [name: string, args: readonly unknown[], argument: string, meant?: string];

const mistyped: readonly Mistyped[] = [
  ['makeRun', [columns, { lable: 'x' }], 'options.lable', 'label'],
  ['makeRun', [{ ...columns, frequencyMhz: timeS }, { label: 'x' }], 'samples.frequencyMhz', 'frequencyMHz'],
  [
    'makeRun',
    [columns, { label: 'x', conditions: { ambient: 22 } }],
    'options.conditions.ambient',
    'ambientC',
  ],
  ['parseRun', ['', { lable: 'x' }], 'options.lable', 'label'],
  ['parseRun', ['', { conditions: { ambient: 22 } }], 'options.conditions.ambient', 'ambientC'],
  ['parseRun', ['', { columns: { tempreature: 'x' } }], 'options.columns.tempreature', 'temperature'],
  ['parseRun', ['', { units: { powr: 'W' } }], 'options.units.powr', 'power'],
  ['safeParseRun', ['', { decimals: ',' }], 'options.decimals', 'decimal'],
  ['readRun', ['no.csv', { conditionFile: false }], 'options.conditionFile', 'conditionsFile'],
  ['readRuns', [['no.csv'], { delimeter: ';' }], 'options.delimeter', 'delimiter'],
  ['loadSegments', [run, { idleBelow: 20 }], 'options.idleBelow', 'idleBelowW'],
  ['steadyWindow', [run, { windowsS: 60 }], 'options.windowsS', 'windowS'],
  ['checkSlowdown', [[run], { refrence: 'x' }], 'options.refrence', 'reference'],
  ['fitPowerCurve', [[run], { settle: 5 }], 'options.settle', 'settleS'],
  ['undervolt', [curve, { offset: -50 }], 'options.offset', 'offsetMv'],
  ['curveFromSteadyPoints', [averages, { procesor: 'x' }], 'options.procesor', 'processor'],
  ['curveFromSteadyPoints', [[averages[0], { ...averages[1], lable: 'x' }]], 'points[1].lable', 'label'],
  [
    'curveFromSteadyPoints',
    [averages, { assumptions: { leakageScale: { low: 15, high: 70 } } }],
    'options.assumptions.leakageScale',
    'leakageScaleK',
  ],
  [
    'curveFromSteadyPoints',
    [averages, { assumptions: { leakageScaleK: { low: 15, high: 70, mean: 30 } } }],
    'options.assumptions.leakageScaleK.mean',
  ],
  ['fitCooler', [run, { stages: 3 }], 'options.stages', 'stageCount'],
  ['fitCoolers', [[run], { sharedStages: 1 }], 'options.sharedStages', 'sharedStageCount'],
  ['resistanceAt', [model, 80, { fanSpeed: 900 }], 'options.fanSpeed', 'fanSpeedRpm'],
  ['coolerFromSteadyPoints', [steady, { enclosur: 'drawer' }], 'options.enclosur', 'enclosure'],
  [
    'coolerFromSteadyPoints',
    [[{ powerW: 80, temperatureC: 64, ambient: 24 }]],
    'points[0].ambient',
    'ambientC',
  ],
  [
    'steadyTemperature',
    [model, { powerW: 80, ambientC: 22, enclosur: { riseK: 30 } }],
    'scenario.enclosur',
    'enclosure',
  ],
  [
    'steadyTemperature',
    [model, { powerW: 80, ambientC: 22, enclosure: { riseK: 30, atPower: 95 } }],
    'scenario.enclosure.atPower',
    'atPowerW',
  ],
  [
    'simulateTemperature',
    [model, { timeS, powerW: 80, ambientC: 22, startPower: 10 }],
    'simulation.startPower',
    'startPowerW',
  ],
  [
    'simulateLadder',
    [
      [{ heatCapacityJPerK: 120, resistanceKPerW: 0.5 }],
      { timeS, powerW: columns.powerW, ambientC: 22, start: [30] },
    ],
    'simulation.start',
    'startC',
  ],
  ['stepResponse', [model, { timesS: [1] }], 'options.timesS', 'timeS'],
  ['burstPower', [model, { ...limit, durationS: 60, startPower: 5 }], 'scenario.startPower', 'startPowerW'],
  [
    'burstPower',
    [model, { ...limit, durationS: 60, enclosure: { rise: 8 } }],
    'scenario.enclosure.rise',
    'riseK',
  ],
  [
    'burstSchedule',
    [model, { ...limit, powerW: 120, idlePowerW: 5, period: 60 }],
    'scenario.period',
    'periodS',
  ],
  ['timeToLimit', [model, { ...limit, powerW: 120, confidance: 0.9 }], 'scenario.confidance', 'confidence'],
  [
    'timeToLimit',
    [model, { ...limit, powerW: 120, enclosure: { riseK: 8, atpowerW: 80 } }],
    'scenario.enclosure.atpowerW',
    'atPowerW',
  ],
  ['compareCoolers', [[bench, drawer], { powerW: 80, ambient: 22 }], 'options.ambient', 'ambientC'],
  ['enclosureBetween', [bench, drawer, { atPower: 80 }], 'options.atPower', 'atPowerW'],
  [
    'fitFanCurve',
    [[bench, kpw.coolerFromSteadyPoints(steady, { fanSpeedRpm: 1500 })], { atPower: 80 }],
    'options.atPower',
    'atPowerW',
  ],
  [
    'soundLevelAtFanSpeed',
    [{ soundLevelDB: 30, fanSpeedRpm: 1000 }, 2000],
    'known.soundLevelDB',
    'soundLevelDb',
  ],
  ['forecastSteady', [run, { halfWidth: 1 }], 'options.halfWidth', 'halfWidthK'],
  ['bootstrapCooler', [model, run, { counts: 20 }], 'options.counts', 'count'],
  ['bootstrapCooler', [model, run, { workerCount: 2 }], 'options.workerCount'],
  ['simulationCheck', [model, run, { power: 80 }], 'options.power', 'powerW'],
  ['bootstrapCoolerInParallel', [model, run, { worker: 2 }], 'options.worker', 'workerCount'],
  ['simulationCheckInParallel', [model, run, { workersCount: 2 }], 'options.workersCount', 'workerCount'],
  ['chooseCap', [model, curve, { ...limit, confidance: 0.9 }], 'scenario.confidance', 'confidence'],
  [
    'chooseCap',
    [model, curve, { ...limit, enclosure: { riseK: 8, atPower: 95 } }],
    'scenario.enclosure.atPower',
    'atPowerW',
  ],
  ['capFrontier', [model, curve, { ...limit, confidance: 0.9 }], 'scenario.confidance', 'confidence'],
  ['capFrontier', [model, curve, limit, { lowestCap: 40 }], 'options.lowestCap', 'lowestCapW'],
  ['shortlistCoolers', [[model], curve, { ...limit, minCap: 40 }], 'scenario.minCap', 'minCapW'],
  ['shortlistCoolers', [[model], curve, limit, { room: [] }], 'options.room', 'rooms'],
  ['planNextRuns', [model, curve, { ...limit, stepsW: 1 }], 'scenario.stepsW', 'stepW'],
  ['planNextRuns', [model, curve, limit, { duration: [600] }], 'options.duration', 'durationsS'],
  ['countCycles', [timeS, { smallestRange: 2 }], 'options.smallestRange', 'smallestRangeK'],
  ['relativeAgeing', [run, run, { rangeExponant: 2 }], 'assumptions.rangeExponant', 'rangeExponent'],
  [
    'arrheniusRatio',
    [{ temperatureC: 80, reference: 60, activationEnergyEv: 0.7 }],
    'comparison.reference',
    'referenceC',
  ],
  ['figureOfRun', [run, { segment: undefined }], 'options.segment', 'segments'],
  ['figureOfCapChoice', [choice, { places: 'in the drawer' }], 'options.places', 'place'],
  ['reportHtml', [[], { title: 'x', subtitel: 'y' }], 'options.subtitel', 'subtitle'],
  ['toFrame', [run, { danfo: {} }], 'options.danfo'],
  ['samplesPerIndependentSample', [timeS, { fitted: 2 }], 'options.fitted', 'fittedCount'],
  ['meanWithAutocorrelation', [timeS, { quantums: 1 }], 'options.quantums', 'quantum'],
  ['weightedLine', [[{ x: 0, y: 1, yStandarderror: 1 }]], 'points[0].yStandarderror', 'yStandardError'],
  ['estimated', [1, 0.1, { degreeOfFreedom: 9 }], 'options.degreeOfFreedom', 'degreesOfFreedom'],
  [
    'leastSquares',
    [() => {}, [1], { residualCount: 1, maxEvaluation: 9 }],
    'options.maxEvaluation',
    'maxEvaluations',
  ],
  [
    'leastSquares',
    [() => {}, [1], { residualCount: 1, tolerances: { steps: 1e-9 } }],
    'options.tolerances.steps',
    'step',
  ],
];

for (const [name, args, argument, meant] of mistyped) {
  test(`${name} does not take ${argument} for a name left out`, async () => {
    const failure = await failureOf(name, args);
    // The twin that does not throw for a bad log is parseRun inside.
    expect(failure).toMatchObject({ caller: name === 'safeParseRun' ? 'parseRun' : name, argument });
    expect(failure.message).toMatch(/must be one of /);
    expect(failure.remedy).toBe(meant === undefined ? undefined : `did you mean ${meant}?`);
  });
}

/** What is called, with what, the argument at fault and what it must be. */
type WrongKind = readonly [name: string, args: readonly unknown[], argument: string, expected: RegExp];

const aRun = /one run with at least two samples/;
const runs = /one run or an array of runs/;
const aModel = /a cooler-model/;
const aCurve = /a power-curve/;

const wrongKinds: readonly WrongKind[] = [
  ['loadSegments', [], 'run', aRun],
  ['steadyWindow', [undefined], 'run', aRun],
  ['steadyWindow', [run, null], 'options', /an object with windowS/],
  ['steadyWindow', [run, [60]], 'options', /an object with windowS/],
  ['forecastSteady', [{}], 'run', aRun],
  ['figureOfRun', [], 'run', aRun],
  ['figureOfFit', [undefined, model], 'run', aRun],
  ['figureOfFit', [run, undefined], 'model', aModel],
  ['figureOfCapChoice', [{}], 'choice', /a cap-choice/],
  ['fitCooler', [undefined], 'runs', runs],
  ['fitCooler', ['x'], 'runs', runs],
  ['fitCooler', [{}], 'runs', runs],
  ['fitCooler', [[1]], 'runs[0]', aRun],
  ['fitCooler', [[run, undefined]], 'runs[1]', aRun],
  ['fitCooler', [[]], 'runs', /one run or more/],
  ['fitCoolers', [{}], 'runs', runs],
  ['fitCooler', [run, 3], 'options', /an object with label/],
  ['fitOf', [model, undefined], 'run', aRun],
  ['fitPowerCurve', [[1]], 'runs[0]', aRun],
  ['checkSlowdown', ['runs'], 'runs', runs],
  ['frequencyAt', [{}, { powerW: 80, temperatureC: 60 }], 'curve', aCurve],
  ['throughputAt', [{}, { powerW: 80, temperatureC: 60 }], 'curve', aCurve],
  ['throughputFunction', [{}], 'curve', aCurve],
  ['leakageSlopeWPerK', [{}, { powerW: 80, temperatureC: 60 }], 'curve', aCurve],
  ['undervolt', [{}, { offsetMv: -50 }], 'curve', aCurve],
  ['frequencyAt', [curve], 'at', /\{ powerW, temperatureC \}/],
  ['powerAt', [undefined, { frequencyMHz: 3700, temperatureC: 60 }], 'curve', aCurve],
  ['powerAt', [curve, 3700], 'at', /\{ frequencyMHz, temperatureC \}/],
  ['frequencyFunction', [model], 'curve', aCurve],
  ['resistanceAt', [{}, 80], 'model', aModel],
  ['steadyTemperature', [{}, { powerW: 80, ambientC: 22 }], 'model', aModel],
  ['steadyTemperature', [model], 'scenario', /an object with powerW, ambientC, enclosure/],
  [
    'steadyTemperature',
    [model, { powerW: 80, ambientC: 22, enclosure: 8 }],
    'scenario.enclosure',
    /an object with riseK/,
  ],
  ['simulateTemperature', [{}, {}], 'model', aModel],
  ['simulateTemperature', [model], 'simulation', /an object with timeS/],
  ['simulateTemperature', [model, { powerW: 80, ambientC: 22 }], 'simulation.timeS', /an array of numbers/],
  ['simulateTemperature', [model, { timeS, ambientC: 22 }], 'simulation.powerW', /an array of numbers/],
  ['simulateLadder', [undefined, {}], 'ladder', /an array of rungs/],
  ['simulateLadder', [[], undefined], 'simulation', /an object with timeS/],
  ['simulateLadder', [[], { timeS, ambientC: 22 }], 'simulation.powerW', /an array of numbers/],
  ['stepResponse', [undefined, { timeS }], 'model', aModel],
  ['stepResponse', [model], 'options', /an object with timeS/],
  ['stageTable', [undefined], 'model', aModel],
  ['structureFunction', [undefined], 'model', aModel],
  ['burstPower', [model], 'scenario', /an object with limitC/],
  ['burstSchedule', [model], 'scenario', /an object with limitC/],
  ['timeToLimit', [model], 'scenario', /an object with limitC/],
  ['compareCoolers', [undefined, { powerW: 80 }], 'models', /an array of cooler models/],
  ['compareCoolers', [[bench, {}], { powerW: 80 }], 'models[1]', aModel],
  ['compareCoolers', [[bench, drawer]], 'options', /an object with powerW/],
  ['enclosureBetween', [bench], 'inEnclosure', aModel],
  ['fitFanCurve', [bench], 'models', /an array of cooler models/],
  ['resistanceAtFanSpeed', [{}, 1000], 'curve', /a fan-curve/],
  ['bootstrapCooler', [model, undefined], 'runs', runs],
  ['simulationCheck', [undefined, run], 'model', aModel],
  ['bootstrapCoolerInParallel', [model, 'x'], 'runs', runs],
  ['simulationCheckInParallel', [model, [1]], 'runs[0]', aRun],
  ['coolerFromSteadyPoints', [undefined], 'points', /one point or more/],
  ['coolerFromSteadyPoints', [[80]], 'points[0]', /an object with powerW/],
  ['chooseCap', [{}, undefined, limit], 'cooler', aModel],
  ['chooseCap', [model, {}, limit], 'curve', aCurve],
  ['chooseCap', [model, curve], 'scenario', /an object with limitC/],
  ['capFrontier', [{}, undefined, limit], 'cooler', aModel],
  ['capFrontier', [model, {}, limit], 'curve', aCurve],
  ['capFrontier', [model, curve], 'scenario', /an object with limitC/],
  ['shortlistCoolers', [model, curve, limit], 'coolers', /an array of at least one cooler model/],
  ['shortlistCoolers', [[model, {}], curve, limit], 'coolers[1]', aModel],
  ['shortlistCoolers', [[model], curve], 'scenario', /an object with limitC/],
  ['planNextRuns', [{}, curve, limit], 'coolers', aModel],
  ['planNextRuns', [model, {}, limit], 'curve', aCurve],
  ['planNextRuns', [model, curve], 'scenario', /an object with limitC/],
  ['figureOfFrontier', [choice], 'frontier', /a cap-frontier/],
  ['figureOfShortlist', [choice], 'shortlist', /a cooler-shortlist/],
  ['figureOfCycles', [[run]], 'counts[0]', /a cycle-count/],
  ['countCycles', ['x'], 'series', /a run, \{ timeS, temperatureC \}, or a list of temperatures/],
  ['relativeAgeing', [run], 'second', /a run, \{ timeS, temperatureC \}, or a list of temperatures/],
  ['relativeAgeing', [run, timeS], 'second', /with at least two samples/],
];

for (const [name, args, argument, expected] of wrongKinds) {
  test(`${name} names itself and ${argument} of a wrong kind, which must be ${expected.source}`, async () => {
    const failure = await failureOf(name, args);
    expect(failure).toMatchObject({ caller: name, argument });
    expect(failure.expected).toMatch(expected);
  });
}

describe('the name that is probably meant', () => {
  test.each([
    ['lable', 'label'],
    ['ambient', 'ambientC'],
    ['ambient_c', 'ambientC'],
    ['LIMITC', 'limitC'],
    ['enclosre', 'enclosure'],
    ['stages', 'stageCount'],
  ])('%s is near %s: two letters, their order, capitals or the unit', (name, meant) => {
    expect(nearestName(name, ['label', 'ambientC', 'limitC', 'enclosure', 'stageCount'])).toBe(meant);
  });

  test.each(['x', 'room', 'power'])('%s is near nothing, and no name is guessed', (name) => {
    expect(nearestName(name, ['label', 'ambientC', 'limitC', 'enclosure'])).toBeUndefined();
  });
});

test('a run with columns changed is as good as columns', () => {
  const warmer = kpw.makeRun(
    { ...run, temperatureC: run.temperatureC.map((value) => value + 1) },
    { label: 'warmer' },
  );
  expect(warmer.temperatureC[0]).toBe(23);
});

test('a point of a curve may be asked for as it stands, for its other names do no harm', () => {
  expect(kpw.frequencyAt(curve, curve.points[0]).kind).toBe('estimated');
});
