import { expect, test } from 'vitest';
import { chooseCap } from '../../toolkit/cap/choose/choose-cap.js';
import type { CapScenario } from '../../toolkit/cap/scenario/cap-scenario.js';
import { NumericalError } from '../../toolkit/errors.js';
import { seededRandom } from '../../toolkit/numerics/random.js';
import { plainCooler } from '../unit/cap/plain-cooler.js';
import { plainFanCurve, workedCurve } from '../unit/cap/worked-curve.js';

const cooler = plainCooler(
  {
    resistanceStandardErrorKPerW: 0.01,
    degreesOfFreedom: 20,
    powerExponent: 0.05,
    exponentStandardError: 0.02,
  },
  { fanSpeedRpm: 1500 },
);

const SCENARIO_COUNT = 300;
const random = seededRandom(98_400);
const between = (low: number, high: number): number => low + (high - low) * random.uniform();
const oneOf = <Value>(...values: readonly Value[]): Value =>
  values[Math.floor(values.length * random.uniform())];
const maybe = (share: number, part: Partial<CapScenario>): Partial<CapScenario> =>
  random.uniform() < share ? part : {};

/** Numbers as people do not type them, so that rounding in a message shows. */
function impossibleScenario(): CapScenario {
  const fails = oneOf('temperature', 'supply', 'throughput', 'step', 'several');
  const plain: CapScenario = {
    limitC: fails === 'temperature' || fails === 'several' ? between(36, 60) : between(68, 90),
    ambientC: oneOf<CapScenario['ambientC']>(24, { low: 19, high: 29 }, { mean: 24, standardDeviation: 2 }),
    confidence: oneOf(0.5, 0.9, 0.95, 0.99),
    stepW: oneOf(0.125, 1, 5),
    maxCapW: oneOf(95, 125),
    minCapW: between(55, 90),
    ...maybe(0.5, { enclosure: { riseK: { low: 3, high: 9 }, atPowerW: 100 } }),
    ...maybe(0.3, { limitAppliesTo: 'peak' }),
    ...maybe(0.3, { fan: { curve: plainFanCurve(), lowestRpm: 700, highestRpm: 1900 } }),
  };
  const budgetW = fails === 'supply' || fails === 'several' ? between(25, 95) : between(105, 150);
  const supply = { budgetW, restOfMachineW: between(5, 30), efficiencyFraction: between(0.8, 0.95) };
  if (fails === 'step')
    return { ...plain, stepW: 50, minCapW: between(101, 110), maxCapW: between(112, 140) };
  if (fails === 'throughput')
    return { ...plain, minThroughputPerS: between(5.6, 6.3), ...maybe(0.5, { supply }) };
  return { ...plain, ...maybe(fails === 'temperature' ? 0.2 : 1, { supply }) };
}

/** How each way out is worded, and the change that follows it. */
const WORDINGS: readonly [RegExp, (value: number, scenario: CapScenario) => Partial<CapScenario>][] = [
  [/^a limit of ([\d.]+) °C$/, (limitC) => ({ limitC })],
  [/^room air ([\d.]+) K cooler$/, (coolerK, { ambientC }) => ({ ambientC: shifted(ambientC, -coolerK) })],
  [/^a lowest cap of ([\d.]+) W$/, (minCapW) => ({ minCapW })],
  [/^a highest cap of ([\d.]+) W, if its maker allows it$/, (maxCapW) => ({ maxCapW })],
  [/^a confidence of ([\d.]+)$/, (confidence) => ({ confidence })],
  [/^a step of ([\d.]+) W$/, (stepW) => ({ stepW })],
  [/^a supply budget of ([\d.]+) W$/, (budgetW, { supply }) => ({ supply: { ...supply, budgetW } })],
  [
    /^a rest of the machine of ([\d.]+) W$/,
    (restOfMachineW, { supply }) => ({ supply: { ...supply, restOfMachineW } }),
  ],
  [/^a least throughput of ([\d.]+) per second$/, (minThroughputPerS) => ({ minThroughputPerS })],
];

function shifted(input: CapScenario['ambientC'], byK: number): CapScenario['ambientC'] {
  if (typeof input === 'number') return input + byK;
  return 'mean' in input
    ? { ...input, mean: input.mean + byK }
    : { low: input.low + byK, high: input.high + byK };
}

/** What cannot be typed into a scenario. */
const OTHER_HARDWARE = /^(a better cooler|a supply that gives more.*|runs logged at higher caps.*)$/;

/** What a way out changes; of several that go together, all. */
function changeOf(way: string, scenario: CapScenario): Partial<CapScenario> | undefined {
  if (OTHER_HARDWARE.test(way)) return undefined;
  const change: Partial<CapScenario> = {};
  for (const part of way.split(' together with ')) {
    const wording = WORDINGS.find(([text]) => text.test(part));
    if (wording === undefined) throw new Error(`unknown way out: ${part}`);
    const [text, changed] = wording;
    Object.assign(change, changed(Number(text.exec(part)![1]), scenario));
  }
  return change;
}

test('every way out that is named for an impossible scenario holds when it is followed', () => {
  const curve = workedCurve();
  const followed = new Map<string, number>();
  for (let k = 0; k < SCENARIO_COUNT; k++) {
    const scenario = impossibleScenario();
    const failure = refusalOf(scenario);
    if (failure === undefined) continue;
    expect(failure).toBeInstanceOf(NumericalError);
    const listed = failure.message.split('nearest ways out, each alone: ')[1];
    for (const way of listed.split(/, or |, (?=a |room )/)) {
      const change = changeOf(way, scenario);
      if (change === undefined) continue;
      const names = Object.keys(change).join(' and ');
      followed.set(names, (followed.get(names) ?? 0) + 1);
      expect(refusalOf({ ...scenario, ...change })?.message, `${failure.message} → ${way}`).toBeUndefined();
    }
  }
  // Not an idle test: each kind of way out was followed, single ones and such that go together.
  for (const name of ['limitC', 'ambientC', 'minCapW', 'confidence', 'stepW', 'supply', 'minThroughputPerS'])
    expect(followed.get(name), name).toBeGreaterThan(2);
  expect(followed.get('limitC and supply')).toBeGreaterThan(2);

  function refusalOf(scenario: CapScenario): Error | undefined {
    try {
      chooseCap(cooler, curve, scenario);
      return undefined;
    } catch (failure) {
      return failure as Error;
    }
  }
});
