import { randomStream } from './random.js';
import { quantised, type Sensor } from './sensor.js';

/** What writes the log, and what is wrong with it. */
export interface Logger {
  readonly periodS: number;
  /** Standard deviation of the sampling instants about the period's multiples. */
  readonly jitterS: number;
  /** Share of samples that come late, and by how much at most. */
  readonly lateShare: number;
  readonly latestS: number;
  readonly timeQuantumS: number;
  readonly temperature: Sensor;
  /** Read from an energy counter: the mean power since the sample before. */
  readonly power: { readonly noiseW: number; readonly quantumW: number };
  readonly frequency: { readonly reading: 'interval-mean' | 'instant'; readonly quantumMHz: number };
  /** Standard deviation relative to the value, and quantum in work per second. */
  readonly throughput: { readonly noiseShare: number; readonly quantumPerS: number };
  /** Core voltage, as it is sensed at the instant; not logged unless given. */
  readonly voltage?: { readonly noiseV: number; readonly quantumV: number };
  /** Thermometer in the air: in the room, or at the cooler's intake. */
  readonly air: Sensor & { readonly place: 'room' | 'intake' };
  readonly fan: { readonly noiseRpm: number; readonly quantumRpm: number };
  /** Stretches whose rows were lost, s since the first row. */
  readonly gaps: readonly { readonly atS: number; readonly durationS: number }[];
  /** Cells left empty (NaN), spread over temperature, power and frequency. */
  readonly emptyCellCount: number;
}

/** A simulated log as the logger writes it, with the undisturbed quantities beside it; all arrays have one length. */
export interface RigLog {
  /** Since the log was started, s; strictly increasing. */
  readonly timeS: Float64Array;
  readonly temperatureC: Float64Array;
  /** Mean since the sample before. */
  readonly powerW: Float64Array;
  readonly frequencyMHz: Float64Array;
  readonly throughputPerS: Float64Array;
  /** What the air thermometer shows, wherever it is. */
  readonly ambientC: Float64Array;
  readonly fanSpeedRpm: Float64Array;
  /** Where the logger senses it. */
  readonly voltageV?: Float64Array;
  /** Without sensors: the die, the air at the intake and in the room, the frequency at the instant. */
  readonly truth: {
    readonly dieTemperatureC: Float64Array;
    readonly intakeAirC: Float64Array;
    readonly roomAirC: Float64Array;
    readonly frequencyMHz: Float64Array;
  };
}

/** What the logger can see during one control step. */
export interface Instant {
  readonly powerW: number;
  readonly frequencyMHz: number;
  /** Work done per second, 0 when idle. */
  readonly throughputPerS: number;
  readonly voltageV: number;
  readonly dieTemperatureC: number;
  readonly intakeAirC: number;
  readonly roomAirC: number;
}

/** The sensors that lag; each call is one reading. */
export interface Readings {
  readonly temperatureC: () => number;
  readonly ambientC: () => number;
}

/** A logger at work. */
export interface LoggerState {
  /** Sees one control step; writes a row whenever one is due within it. */
  readonly watch: (stepS: number, now: Instant) => void;
  readonly finish: () => RigLog;
}

/** Starts a log; its first row is written at once. */
export function startLogger(
  logger: Logger,
  readings: Readings,
  fanSpeedRpm: number,
  seed: number,
): LoggerState {
  const clock = randomStream(seed, 'clock');
  const meters = randomStream(seed, 'meters');
  const voltmeter = randomStream(seed, 'voltage');
  const rows: (Record<Measured, number> & { readonly now: Instant })[] = [];
  let timeS = 0;
  let dueCount = 0;
  let dueS = 0;
  // Sums since the row before, for the interval means.
  let intervalS = 0;
  let energyJ = 0;
  let cycles = 0;
  let work = 0;

  const pass = (durationS: number, now: Instant): void => {
    timeS += durationS;
    intervalS += durationS;
    energyJ += durationS * now.powerW;
    cycles += durationS * now.frequencyMHz;
    work += durationS * now.throughputPerS;
  };

  const writeRow = (now: Instant): void => {
    const { power, frequency, throughput, fan, voltage } = logger;
    // The first row has no interval before it: the instant stands for it.
    const meanOf = (sum: number, instant: number): number => (intervalS === 0 ? instant : sum / intervalS);
    const meanW = meanOf(energyJ, now.powerW);
    const meanMHz = meanOf(cycles, now.frequencyMHz);
    const meanPerS = meanOf(work, now.throughputPerS);
    // Every meter is read for every row, lost or not, so that a gap does not change the noise after it.
    const row = {
      timeS: quantised(timeS, logger.timeQuantumS),
      temperatureC: readings.temperatureC(),
      powerW: quantised(meanW + power.noiseW * meters.normal(), power.quantumW),
      frequencyMHz: quantised(
        frequency.reading === 'instant' ? now.frequencyMHz : meanMHz,
        frequency.quantumMHz,
      ),
      throughputPerS: quantised(
        meanPerS * (1 + throughput.noiseShare * meters.normal()),
        throughput.quantumPerS,
      ),
      ambientC: readings.ambientC(),
      fanSpeedRpm: quantised(fanSpeedRpm + fan.noiseRpm * meters.normal(), fan.quantumRpm),
      voltageV:
        voltage === undefined
          ? Number.NaN
          : quantised(now.voltageV + voltage.noiseV * voltmeter.normal(), voltage.quantumV),
      now,
    };
    const nominalS = dueCount * logger.periodS;
    const lost = logger.gaps.some(({ atS, durationS }) => nominalS >= atS && nominalS < atS + durationS);
    if (!lost) rows.push(row);
    intervalS = 0;
    energyJ = 0;
    cycles = 0;
    work = 0;
  };

  const scheduleNext = (): void => {
    dueCount += 1;
    const lateS = clock.uniform() < logger.lateShare ? logger.latestS * clock.uniform() : 0;
    const wantedS = dueCount * logger.periodS + logger.jitterS * clock.normal() + lateS;
    const soonestS = timeS + Math.max(logger.timeQuantumS, 0.1 * logger.periodS);
    dueS = Math.max(wantedS, soonestS);
  };

  const watch = (stepS: number, now: Instant): void => {
    // A row falls anywhere within a step: time runs on to its instant, then to the end of the step.
    let leftS = stepS;
    while (dueS < timeS + leftS) {
      const untilS = Math.max(0, dueS - timeS);
      pass(untilS, now);
      leftS -= untilS;
      writeRow(now);
      scheduleNext();
    }
    pass(leftS, now);
  };

  const finish = (): RigLog => {
    const place = randomStream(seed, 'empty cells');
    const emptied = ['temperatureC', 'powerW', 'frequencyMHz'] as const;
    for (let cell = 0; cell < logger.emptyCellCount; cell += 1) {
      const row = rows[Math.floor(place.uniform() * rows.length)];
      row[emptied[Math.floor(place.uniform() * emptied.length)]] = Number.NaN;
    }
    const column = (name: Measured): Float64Array => Float64Array.from(rows, (row) => row[name]);
    const undisturbed = (name: keyof Instant): Float64Array =>
      Float64Array.from(rows, (row) => row.now[name]);
    return {
      timeS: column('timeS'),
      temperatureC: column('temperatureC'),
      powerW: column('powerW'),
      frequencyMHz: column('frequencyMHz'),
      throughputPerS: column('throughputPerS'),
      ambientC: column('ambientC'),
      fanSpeedRpm: column('fanSpeedRpm'),
      ...(logger.voltage !== undefined && { voltageV: column('voltageV') }),
      truth: {
        dieTemperatureC: undisturbed('dieTemperatureC'),
        intakeAirC: undisturbed('intakeAirC'),
        roomAirC: undisturbed('roomAirC'),
        frequencyMHz: undisturbed('frequencyMHz'),
      },
    };
  };
  return { watch, finish };
}

type Measured = Exclude<keyof RigLog, 'truth'>;
