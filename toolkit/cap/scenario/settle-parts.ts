import {
  ArgumentError,
  type KnownNames,
  NumericalError,
  requireKind,
  requireKnownNames,
  requireNumber,
} from '../../errors.js';
import { requireCurve } from '../../power/predict/require-curve.js';
import type { MeasuredEnclosure } from '../../thermal/enclosure-between.js';
import type { FanCurve } from '../../thermal/fan-curve.js';
import { requireModel } from '../../thermal/require-model.js';
import { ENCLOSURE_RISE_NAMES } from '../../thermal/steady-temperature.js';
import type {
  CapScenario,
  DutyPhase,
  EnclosureOfScenario,
  FanOfScenario,
  SettledFan,
  SettledScenario,
  SettledSupply,
  SettledWorkload,
  ShortTermOfScenario,
  SoundAtFanSpeed,
  SupplyOfScenario,
  VoltageOffsetOfScenario,
  WorkloadOfScenario,
} from './cap-scenario.js';
import { highestOf, requireUncertainInput } from './uncertain-input.js';

const DEFAULT_FAN_STEP_RPM = 50;
const DEFAULT_OFFSET_STEP_MV = 5;
/** More settable speeds than this are finer than any fan holds. */
const MOST_FAN_SPEEDS = 200;
/** A deeper offset is not meant in millivolts. */
const DEEPEST_OFFSET_MV = -500;
/** A shallower one is meant in volts. */
const SHALLOWEST_OFFSET_MV = -1;
/** Each offset is tried, with a curve of its own. */
const MOST_OFFSETS = 200;
/** No enclosure in which a machine can work warms its air by more: a temperature is meant, or another unit. */
const HIGHEST_RISE_K = 100;

const FAN_NAMES: KnownNames<FanOfScenario> = {
  curve: true,
  lowestRpm: true,
  highestRpm: true,
  stepRpm: true,
  sound: true,
  power: true,
};
const SOUND_NAMES: KnownNames<SoundAtFanSpeed> = { soundLevelDb: true, fanSpeedRpm: true };
const FAN_POWER_NAMES: KnownNames<NonNullable<FanOfScenario['power']>> = { powerW: true, fanSpeedRpm: true };
const SUPPLY_NAMES: KnownNames<SupplyOfScenario> = {
  budgetW: true,
  restOfMachineW: true,
  efficiencyFraction: true,
};
const OFFSET_NAMES: KnownNames<VoltageOffsetOfScenario> = { lowestMv: true, highestMv: true, stepMv: true };
const WORKLOAD_NAMES: KnownNames<WorkloadOfScenario> = {
  label: true,
  cooler: true,
  curve: true,
  demandW: true,
  shareFraction: true,
};
const PHASE_NAMES: KnownNames<DutyPhase> = { label: true, durationS: true, demandW: true };
const SHORT_TERM_NAMES: KnownNames<ShortTermOfScenario> = {
  windowS: true,
  startPowerW: true,
  maxCapW: true,
};

/** An enclosure as its rise, stated or measured. */
export function settleEnclosure(
  enclosure: CapScenario['enclosure'],
  caller: string,
): EnclosureOfScenario | undefined {
  if (enclosure === undefined) return undefined;
  const argument = 'scenario.enclosure';
  if ((enclosure as Partial<MeasuredEnclosure>)?.kind === 'measured-enclosure') {
    const { scenario } = enclosure as Partial<MeasuredEnclosure>;
    return settleRise(
      scenario,
      `${argument}.scenario`,
      'take what enclosureBetween returned as it is',
      caller,
    );
  }
  return settleRise(
    enclosure,
    argument,
    'leave it out for an open bench, or give what enclosureBetween returned',
    caller,
  );
}

function settleRise(
  enclosure: unknown,
  argument: string,
  remedy: string,
  caller: string,
): EnclosureOfScenario {
  requireKnownNames(enclosure, ENCLOSURE_RISE_NAMES, { caller, argument, remedy });
  const { riseK, atPowerW } = enclosure as EnclosureOfScenario;
  requireUncertainInput(
    riseK,
    {
      caller,
      argument: `${argument}.riseK`,
      remedy: 'an enclosure warms the intake air by 0 K or more',
    },
    { atLeast: 0 },
  );
  if (highestOf(riseK) > HIGHEST_RISE_K)
    throw new ArgumentError({
      caller,
      argument: `${argument}.riseK`,
      expected: `a rise of at most ${HIGHEST_RISE_K} K`,
      received: highestOf(riseK),
      remedy: 'give the difference between the air at the intake and the room, not a temperature',
    });
  if (atPowerW !== undefined)
    requireNumber(atPowerW, { caller, argument: `${argument}.atPowerW` }, { above: 0 });
  return atPowerW === undefined ? { riseK } : { riseK, atPowerW };
}

/** A supply with its defaults; nothing else is said by an empty one. */
export function settleSupply(
  supply: SupplyOfScenario | undefined,
  caller: string,
): SettledSupply | undefined {
  if (supply === undefined) return undefined;
  const argument = 'scenario.supply';
  requireKnownNames(supply, SUPPLY_NAMES, { caller, argument });
  const { budgetW, restOfMachineW = 0, efficiencyFraction = 1 } = supply;
  if (budgetW !== undefined)
    requireNumber(budgetW, { caller, argument: `${argument}.budgetW` }, { above: 0 });
  requireNumber(restOfMachineW, { caller, argument: `${argument}.restOfMachineW` }, { atLeast: 0 });
  requireNumber(
    efficiencyFraction,
    { caller, argument: `${argument}.efficiencyFraction`, remedy: 'write 88 % as 0.88' },
    { above: 0, atMost: 1 },
  );
  return { ...(budgetW === undefined ? {} : { budgetW }), restOfMachineW, efficiencyFraction };
}

/**
 * A fan with its bounds, the sound level among them.
 *
 * @param curve - the scenario's, or the cooler's own
 * @throws NumericalError where the slowest speed is louder than allowed
 */
export function settleFan(
  fan: FanOfScenario | undefined,
  curve: FanCurve | undefined,
  maxSoundLevelDb: number | undefined,
  caller: string,
): SettledFan | undefined {
  requireSoundLevel(maxSoundLevelDb, fan, caller);
  if (fan === undefined) return undefined;
  const argument = 'scenario.fan';
  requireKnownNames(fan, FAN_NAMES, { caller, argument });
  requireKind(curve, 'fan-curve', {
    caller,
    argument: `${argument}.curve`,
    remedy:
      'make one with fitFanCurve from models at two fan speeds or more, or fit the cooler to runs at several',
  });
  const [testedLow, testedHigh] = (curve as FanCurve).testedRange.fanSpeedRpm;
  const {
    lowestRpm = testedLow,
    highestRpm = testedHigh,
    stepRpm = DEFAULT_FAN_STEP_RPM,
    sound,
    power,
  } = fan;
  requireNumber(lowestRpm, { caller, argument: `${argument}.lowestRpm` }, { above: 0 });
  requireNumber(highestRpm, { caller, argument: `${argument}.highestRpm` }, { atLeast: lowestRpm });
  requireNumber(
    stepRpm,
    {
      caller,
      argument: `${argument}.stepRpm`,
      remedy: `at most ${MOST_FAN_SPEEDS} speeds can be told apart`,
    },
    { above: 0, atLeast: (highestRpm - lowestRpm) / MOST_FAN_SPEEDS },
  );
  if (power !== undefined) {
    requireKnownNames(power, FAN_POWER_NAMES, { caller, argument: `${argument}.power` });
    requireNumber(power.powerW, { caller, argument: `${argument}.power.powerW` }, { atLeast: 0 });
    requireNumber(power.fanSpeedRpm, { caller, argument: `${argument}.power.fanSpeedRpm` }, { above: 0 });
  }
  const quietRpm = quietestBound(fan, maxSoundLevelDb, lowestRpm, caller);
  return {
    lowestRpm,
    highestRpm: Math.min(highestRpm, quietRpm),
    stepRpm,
    ...(sound === undefined ? {} : { sound }),
    ...(power === undefined ? {} : { power }),
  };
}

function requireSoundLevel(
  maxSoundLevelDb: number | undefined,
  fan: FanOfScenario | undefined,
  caller: string,
): void {
  if (maxSoundLevelDb === undefined) return;
  const argument = 'scenario.maxSoundLevelDb';
  requireNumber(maxSoundLevelDb, { caller, argument }, { atLeast: 0, atMost: 140 });
  if (fan?.sound !== undefined) return;
  throw new ArgumentError({
    caller,
    argument,
    expected: 'given together with `fan.curve` and `fan.sound`: one sound level and its fan speed',
    received: maxSoundLevelDb,
    remedy: 'measure the sound level at one fan speed, or leave the bound out',
  });
}

/** The highest speed within the sound level, by L = L₀ + 50·log₁₀(n/n₀); infinite without a bound. */
function quietestBound(
  { sound }: FanOfScenario,
  maxSoundLevelDb: number | undefined,
  lowestRpm: number,
  caller: string,
): number {
  if (sound === undefined) return Number.POSITIVE_INFINITY;
  const argument = 'scenario.fan.sound';
  requireKnownNames(sound, SOUND_NAMES, { caller, argument });
  requireNumber(sound.soundLevelDb, { caller, argument: `${argument}.soundLevelDb` });
  requireNumber(sound.fanSpeedRpm, { caller, argument: `${argument}.fanSpeedRpm` }, { above: 0 });
  if (maxSoundLevelDb === undefined) return Number.POSITIVE_INFINITY;
  const quietRpm = sound.fanSpeedRpm * 10 ** ((maxSoundLevelDb - sound.soundLevelDb) / 50);
  if (quietRpm >= lowestRpm * (1 - 1e-9)) return quietRpm;
  const lowestDb = sound.soundLevelDb + 50 * Math.log10(lowestRpm / sound.fanSpeedRpm);
  throw new NumericalError(
    `${caller}: the sound level fails: at its lowest speed, ${Math.round(lowestRpm)} rpm, the fan makes ${lowestDb.toFixed(1)} dB, ${(lowestDb - maxSoundLevelDb).toFixed(1)} dB above the ${maxSoundLevelDb} dB allowed; ` +
      `nearest ways out, each alone: a sound level of ${(Math.ceil(lowestDb * 10) / 10).toFixed(1)} dB, a lowest speed of ${Math.floor(quietRpm)} rpm, or another fan`,
  );
}

/** The range of voltage offsets with its defaults. */
export function settleVoltageOffset(
  offset: VoltageOffsetOfScenario | undefined,
  caller: string,
): SettledScenario['voltageOffset'] {
  if (offset === undefined) return undefined;
  const argument = 'scenario.voltageOffset';
  requireKnownNames(offset, OFFSET_NAMES, { caller, argument });
  const { lowestMv, highestMv = 0, stepMv = DEFAULT_OFFSET_STEP_MV } = offset;
  requireNumber(
    lowestMv,
    {
      caller,
      argument: `${argument}.lowestMv`,
      remedy: 'give the deepest offset that was shown to run stably, in millivolts, below 0',
    },
    { atLeast: DEEPEST_OFFSET_MV, atMost: 0 },
  );
  requireNumber(highestMv, { caller, argument: `${argument}.highestMv` }, { atLeast: lowestMv, atMost: 0 });
  for (const [name, value] of Object.entries({ lowestMv, highestMv }))
    if (value < 0 && value > SHALLOWEST_OFFSET_MV)
      throw new ArgumentError({
        caller,
        argument: `${argument}.${name}`,
        expected: `in millivolts, 0 or ${SHALLOWEST_OFFSET_MV} and below`,
        received: value,
        remedy: `${value} looks like volts: ${value} V are ${Number((1000 * value).toPrecision(6))} mV`,
      });
  requireNumber(
    stepMv,
    {
      caller,
      argument: `${argument}.stepMv`,
      remedy: `at most ${MOST_OFFSETS} offsets are tried, a millivolt or more apart`,
    },
    { above: 0, atLeast: Math.max(-SHALLOWEST_OFFSET_MV, (highestMv - lowestMv) / MOST_OFFSETS) },
  );
  return { lowestMv, highestMv, stepMv };
}

/** The loads without their models, with shares that sum to 1. */
export function settleWorkloads(
  workloads: readonly WorkloadOfScenario[] | undefined,
  caller: string,
): readonly SettledWorkload[] | undefined {
  if (workloads === undefined) return undefined;
  const argument = 'scenario.workloads';
  if (!Array.isArray(workloads) || workloads.length === 0)
    throw new ArgumentError({
      caller,
      argument,
      expected: 'an array of loads, each with a label',
      received: workloads,
    });
  const shares = (workloads as readonly WorkloadOfScenario[]).map((workload, i) => {
    const where = `${argument}[${i}]`;
    requireKnownNames(workload, WORKLOAD_NAMES, { caller, argument: where });
    if (typeof workload.label !== 'string' || workload.label === '')
      throw new ArgumentError({
        caller,
        argument: `${where}.label`,
        expected: 'a name',
        received: workload.label,
      });
    if (workloads.findIndex(({ label }) => label === workload.label) < i)
      throw new ArgumentError({
        caller,
        argument: `${where}.label`,
        expected: 'a name that no other load has',
        received: workload.label,
      });
    if (workload.cooler !== undefined) requireModel(workload.cooler, caller, `${where}.cooler`);
    if (workload.curve !== undefined)
      requireCurve(
        workload.curve,
        caller,
        `${where}.curve`,
        "make one with fitPowerCurve from this load's runs, or leave it out for the curve of the call",
      );
    if (workload.demandW !== undefined)
      requireNumber(workload.demandW, { caller, argument: `${where}.demandW` }, { above: 0 });
    const { shareFraction = 1 / workloads.length } = workload;
    requireNumber(shareFraction, { caller, argument: `${where}.shareFraction` }, { atLeast: 0, atMost: 1 });
    return shareFraction;
  });
  const sum = shares.reduce((total, share) => total + share, 0);
  if (Math.abs(sum - 1) > 1e-6)
    throw new ArgumentError({
      caller,
      argument: `${argument}[…].shareFraction`,
      expected: 'shares of the time that sum to 1',
      received: sum,
      remedy: 'give the share of every load, or of none',
    });
  return workloads.map(({ label, demandW }, i) => ({
    label,
    ...(demandW === undefined ? {} : { demandW }),
    shareFraction: shares[i],
  }));
}

/** Checks a cycle of loads. */
export function requireDutyCycle(phases: readonly DutyPhase[] | undefined, caller: string): void {
  if (phases === undefined) return;
  const argument = 'scenario.dutyCycle';
  if (!Array.isArray(phases) || phases.length < 2)
    throw new ArgumentError({
      caller,
      argument,
      expected: 'an array of two phases or more, each with its durationS',
      received: phases,
      remedy: 'leave it out for one load that lasts',
    });
  (phases as readonly DutyPhase[]).forEach((phase, i) => {
    const where = `${argument}[${i}]`;
    requireKnownNames(phase, PHASE_NAMES, { caller, argument: where });
    requireNumber(phase.durationS, { caller, argument: `${where}.durationS` }, { above: 0 });
    if (phase.demandW !== undefined)
      requireNumber(phase.demandW, { caller, argument: `${where}.demandW` }, { atLeast: 0 });
  });
  if ((phases as readonly DutyPhase[]).every(({ demandW }) => demandW !== undefined && demandW === 0))
    throw new ArgumentError({
      caller,
      argument,
      expected: 'a cycle with at least one phase that draws power',
      received: 'phases that all draw nothing',
    });
}

/** Checks what is asked about short stretches, and fills in its start. */
export function settleShortTerm(
  shortTerm: ShortTermOfScenario | undefined,
  caller: string,
): SettledScenario['shortTerm'] {
  if (shortTerm === undefined) return undefined;
  const argument = 'scenario.shortTerm';
  requireKnownNames(shortTerm, SHORT_TERM_NAMES, { caller, argument });
  const { windowS, startPowerW = 0, maxCapW } = shortTerm;
  requireNumber(
    windowS,
    { caller, argument: `${argument}.windowS`, remedy: 'give the time window in seconds' },
    { above: 0 },
  );
  requireNumber(startPowerW, { caller, argument: `${argument}.startPowerW` }, { atLeast: 0 });
  if (maxCapW !== undefined)
    requireNumber(maxCapW, { caller, argument: `${argument}.maxCapW` }, { above: 0 });
  return { windowS, startPowerW, ...(maxCapW === undefined ? {} : { maxCapW }) };
}
