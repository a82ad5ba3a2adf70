import { expect, test } from 'vitest';
import { chooseCap } from '../../../../toolkit/cap/choose/choose-cap.js';
import { createWhatIf, type WhatIfAnswer } from '../../../../toolkit/cap/choose/what-if.js';
import type { CapScenario } from '../../../../toolkit/cap/scenario/cap-scenario.js';
import { plainCooler } from '../plain-cooler.js';
import { plainFanCurve, workedCurve } from '../worked-curve.js';

const cooler = plainCooler(
  { resistanceStandardErrorKPerW: 0.01, degreesOfFreedom: 20 },
  { fanSpeedRpm: 1500 },
);
const scenario: CapScenario = {
  limitC: 80,
  ambientC: { low: 22, high: 28 },
  enclosure: { riseK: 6, atPowerW: 80 },
  supply: { restOfMachineW: 30, efficiencyFraction: 0.9 },
  fan: { curve: plainFanCurve(), sound: { soundLevelDb: 32, fanSpeedRpm: 1500 } },
  maxSoundLevelDb: 31,
  defaultCapW: 118,
};

function answered(answer: ReturnType<typeof createWhatIf>['answer']): WhatIfAnswer {
  if (answer.kind === 'answer') return answer;
  throw new Error(answer.message);
}

test.each<[string, Partial<CapScenario>]>([
  ['nothing changed', {}],
  ['warmer air', { ambientC: 31 }],
  ['another limit', { limitC: 70 }],
  ['more noise allowed', { maxSoundLevelDb: 36 }],
  ['an offset', { voltageOffset: { lowestMv: -40 } }],
  ['another objective', { objective: 'work-per-watt-hour' }],
  ['an option taken back', { enclosure: undefined } as Partial<CapScenario>],
  ['a fan speed that was not logged', { fan: { ...scenario.fan!, lowestRpm: 500, highestRpm: 500 } }],
  ['no cap from the maker', { defaultCapW: undefined } as Partial<CapScenario>],
])('%s gives what chooseCap gives, to the last digit', (_, change) => {
  const whatIf = createWhatIf(cooler, workedCurve(), scenario);
  const answer = answered(whatIf.update(change));
  const choice = chooseCap(cooler, workedCurve(), whatIf.scenario);
  expect(answer.powerCapW).toBe(choice.powerCapW);
  expect(answer.bindingConstraint).toBe(choice.bindingConstraint);
  expect(answer.fanSpeedRpm).toBe(choice.fan?.speedRpm);
  expect(answer.voltageOffsetMv).toBe(choice.voltageOffsetMv);
  expect(answer.supplyPowerW).toBe(choice.supplyPowerW);
  expect(answer.temperatureC).toBe(choice.steadyTemperatureC.value);
  expect(answer.throughputPerS).toBeCloseTo(choice.throughputPerS.value!, 9);
  expect(answer.frequencyMHz).toBeCloseTo(choice.frequencyMHz.value!, 6);
  expect(answer.chanceOfPassingLimit).toBe(
    choice.neighbours.find(({ powerCapW }) => powerCapW === choice.powerCapW)!.chanceOfPassingLimit,
  );
  expect(answer.estimates.frequencyMHz).toEqual(choice.frequencyMHz);
  expect(answer.estimates.throughputPerS).toEqual(choice.throughputPerS);
  expect(answer.cost).toEqual(choice.cost);
  expect(answer.extrapolated).toBe(choice.extrapolated);
  expect(answer.cautions).toEqual(choice.cautions);
});

test('changes add up, and what cannot be satisfied is an answer, not a failure', () => {
  const whatIf = createWhatIf(cooler, workedCurve(), scenario);
  const start = answered(whatIf.answer);
  const refused = whatIf.update({ minCapW: 110, limitC: 60 });
  expect(refused.kind).toBe('not-feasible');
  expect(refused.kind === 'not-feasible' && refused.message).toMatch(/no cap from 110 W up holds 60 °C/);
  const back = { minCapW: undefined, limitC: 80 } as unknown as Partial<CapScenario>;
  expect(whatIf.update(back)).toEqual(start);
  expect(whatIf.scenario).toEqual(scenario);
});

test('a change that is no scenario throws and leaves all as it was', () => {
  const whatIf = createWhatIf(cooler, workedCurve(), scenario);
  const before = whatIf.answer;
  expect(() => whatIf.update({ limitC: 176 })).toThrow(/`scenario\.limitC` must be in degrees Celsius/);
  expect(() => whatIf.update({ limit: 70 } as Partial<CapScenario>)).toThrow(
    /update: `change\.limit` must be one of .*did you mean limitC\?/,
  );
  expect(whatIf.answer).toBe(before);
  expect(whatIf.scenario).toEqual(scenario);
});

test('a cap of one’s own is answered too, beyond the limit with its chance of passing it', () => {
  const whatIf = createWhatIf(cooler, workedCurve(), scenario);
  const own = answered(whatIf.at(115));
  expect(own.powerCapW).toBe(115);
  expect(own.chanceOfPassingLimit).toBeGreaterThan(0.5);
  expect(own.temperatureC).toBeGreaterThan(answered(whatIf.answer).temperatureC);
  expect(own.fanSpeedRpm).toBe(answered(whatIf.answer).fanSpeedRpm);
});

test('a cap of one’s own goes by the fan speed and offset that are set, also where no cap holds', () => {
  const fan = { ...scenario.fan!, lowestRpm: 900, highestRpm: 900 };
  const set = { fan, voltageOffset: { lowestMv: -20, highestMv: -20 } };
  const whatIf = createWhatIf(cooler, workedCurve(), { ...scenario, ...set });
  const own = answered(whatIf.at(90));
  const refused = whatIf.update({ minThroughputPerS: 1e6 });
  expect(refused.kind).toBe('not-feasible');
  const stillOwn = answered(whatIf.at(90));
  expect(stillOwn.fanSpeedRpm).toBe(900);
  expect(stillOwn.voltageOffsetMv).toBe(-20);
  expect(stillOwn.temperatureC).toBe(own.temperatureC);
});

test('a cap of one’s own is cautioned about as chooseCap would be', () => {
  const whatIf = createWhatIf(cooler, workedCurve(), scenario);
  const [, highestW] = cooler.testedRange.powerW;
  const far = answered(whatIf.at(1.1 * highestW));
  expect(far.extrapolated).toBe(true);
  expect(far.cautions.join('\n')).toMatch(
    /Extrapolated: the cooler was logged at .* log a run at about this cap/,
  );
  expect(far.cautions.join('\n')).toMatch(
    /Stay within the makers' limits for temperature, power and voltage/,
  );
  expect(JSON.parse(JSON.stringify(far))).toEqual({ ...far });
});

test('without a curve the cap and its temperature are known, the frequency is not', () => {
  const answer = answered(createWhatIf(cooler, undefined, { limitC: 80, ambientC: 24 }).answer);
  expect(answer.frequencyMHz).toBeUndefined();
  expect(answer.powerCapW).toBeGreaterThan(50);
});
