import { requireNumber } from '../../toolkit/errors.js';
import { type GovernorSettings, startGovernor } from './governor.js';
import { type Logger, type RigLog, startLogger } from './logger.js';
import { type Processor, packagePowerW, voltageV } from './processor.js';
import { randomStream } from './random.js';
import { type RoomAir, startRoomAir } from './room-air.js';
import { startSensor } from './sensor.js';
import { startNetwork, steadyTemperatures, type ThermalNetwork } from './thermal-network.js';

/** A stretch of a run with one kind of work under one cap. */
export interface Phase {
  readonly durationS: number;
  readonly work: 'idle' | 'load';
  readonly powerCapW: number;
  /** False for what happened before the log was started. */
  readonly logged: boolean;
}

/** How busy the cores are under load: 1 on average, with slow fluctuations from cue to cue. */
export interface WorkloadFluctuation {
  readonly standardDeviation: number;
  readonly correlationTimeS: number;
}

/** Everything that decides one simulated run, apart from the seed. */
export interface RigParameters {
  readonly network: ThermalNetwork;
  readonly processor: Processor;
  readonly governor: GovernorSettings;
  readonly room: RoomAir;
  readonly fluctuation: WorkloadFluctuation;
  readonly fanSpeedRpm: number;
  /** In order; the run starts in equilibrium with the idle processor. */
  readonly phases: readonly Phase[];
  readonly logger: Logger;
}

/** Step of heat, air and sensors; power is constant within it. */
const controlStepS = 0.05;

/**
 * Simulates one logged run of a processor under a cooler.
 *
 * Heat flows through a chain of lumps (five in the demo, the board beside them, the air and the walls of the
 * drawer around them) into air that drifts, past a last resistance that falls as it warms; leakage grows with
 * temperature; a governor holds the cap and the processor's own limit by whole frequency steps; sensors lag,
 * are noisy and round.
 *
 * @param parameters - all of them explicit, in the units of their names
 * @param seed - any integer; the same parameters and seed always give the same log
 * @returns the log and the undisturbed truth at the same instants
 * @throws ArgumentError if a heat capacity, resistance, period or duration is not positive
 */
export function simulateRig(parameters: RigParameters, seed: number): RigLog {
  checkTimes(parameters);
  const { network, processor, phases, fluctuation } = parameters;

  const airAt = startRoomAir(parameters.room, randomStream(seed, 'room'));
  let roomAirC = airAt(0);
  const heat = startNetwork(network, idleTemperatures(parameters, roomAirC));
  const die = heat.temperatureC;
  const governor = startGovernor(processor, parameters.governor, controlStepS);
  const { temperature, air } = parameters.logger;
  const temperatureNoise = randomStream(seed, 'temperature');
  const thermometer = startSensor(temperature, die[0], controlStepS, temperatureNoise);
  const watchedAirC = (): number => (air.place === 'room' ? roomAirC : heat.intakeAirC(roomAirC));
  const airThermometer = startSensor(air, watchedAirC(), controlStepS, randomStream(seed, 'air'));
  const readings = { temperatureC: thermometer.read, ambientC: airThermometer.read };
  const logger = startLogger(parameters.logger, readings, parameters.fanSpeedRpm, seed);

  const reactionSteps = Math.max(1, Math.round(parameters.governor.reactionTimeS / controlStepS));
  const secondSteps = Math.round(1 / controlStepS);
  const workload = randomStream(seed, 'workload');
  const kept = Math.exp((-reactionSteps * controlStepS) / fluctuation.correlationTimeS);
  const fresh = fluctuation.standardDeviation * Math.sqrt(1 - kept * kept);
  let deviation = 0;
  let step = 0;
  for (const phase of phases) {
    const loaded = phase.work === 'load';
    const lastStep = step + Math.round(phase.durationS / controlStepS);
    governor.begin(phase.work);
    for (; step < lastStep; step += 1) {
      if (step > 0 && step % secondSteps === 0) roomAirC = airAt(step / secondSteps);
      if (step % reactionSteps === 0) {
        deviation = kept * deviation + fresh * workload.normal();
        governor.decide(phase.powerCapW, die[0]);
      }
      const frequencyMHz = governor.frequencyMHz();
      const activity = loaded ? Math.max(0, 1 + deviation) : processor.idleActivity;
      const dieTemperatureC = die[0];
      const powerW = packagePowerW(processor, { frequencyMHz, activity, temperatureC: dieTemperatureC });
      governor.watch(powerW);
      if (phase.logged) {
        logger.watch(controlStepS, {
          powerW,
          frequencyMHz,
          throughputPerS: loaded ? frequencyMHz * processor.throughputPerSPerMHz : 0,
          voltageV: voltageV(processor, frequencyMHz),
          dieTemperatureC,
          intakeAirC: heat.intakeAirC(roomAirC),
          roomAirC,
        });
      }
      heat.advance(controlStepS, powerW, roomAirC);
      thermometer.follow(die[0]);
      airThermometer.follow(watchedAirC());
    }
  }
  return logger.finish();
}

/** Temperatures of the idle processor after a long time; its leakage and its temperature settle together. */
function idleTemperatures({ network, processor }: RigParameters, roomAirC: number): Float64Array {
  let temperatures = steadyTemperatures(network, processor.baseW, roomAirC);
  for (let round = 0; round < 40; round += 1) {
    const idlePowerW = packagePowerW(processor, {
      frequencyMHz: processor.idleMHz,
      activity: processor.idleActivity,
      temperatureC: temperatures[0],
    });
    temperatures = steadyTemperatures(network, idlePowerW, roomAirC);
  }
  return temperatures;
}

function checkTimes({ governor, fluctuation, phases, logger }: RigParameters): void {
  const caller = 'simulateRig';
  requireNumber(phases.length, { caller, argument: 'phases.length' }, { atLeast: 1 });
  for (const [index, phase] of phases.entries()) {
    requireNumber(phase.durationS, { caller, argument: `phases[${index}].durationS` }, { above: 0 });
  }
  const correlationTimeS = fluctuation.correlationTimeS;
  requireNumber(logger.periodS, { caller, argument: 'logger.periodS' }, { atLeast: controlStepS });
  requireNumber(governor.reactionTimeS, { caller, argument: 'governor.reactionTimeS' }, { above: 0 });
  requireNumber(correlationTimeS, { caller, argument: 'fluctuation.correlationTimeS' }, { above: 0 });
}
