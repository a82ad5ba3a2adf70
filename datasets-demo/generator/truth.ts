import { demoRuns } from './demo-runs.js';
import { type LinearStage, linearStages } from './linear-stages.js';
import type { RigLog } from './logger.js';
import { coolers, drawer, drawerName, type Mount, stageProcessor } from './scenario.js';
import { powerAtLimitW, type SteadyTruth, steadyTruth } from './steady-truth.js';
import { enclosureRiseK, steadyTemperatures, type ThermalNetwork } from './thermal-network.js';

/** Air in which the steady states of the truth are stated. */
const bench = { roomAirC: 23 };
/** The decision the demo is about. */
const show = { roomAirC: 26, limitC: 85 };
const capsW = [118, 95, 72];

/** What is true of one cooler in one mounting. */
export interface CoolerTruth {
  readonly cooler: string;
  readonly mount: Mount;
  /** Exponent p of R_last ∝ ΔT^−p. */
  readonly convectionExponent: number;
  /** Total, die to intake air, at 95 W. */
  readonly thermalResistanceAt95WKPerW: number;
  /** Exponent q of the total resistance, R ∝ P^−q, between 72 and 118 W. */
  readonly powerExponent: number;
  /** Response of the die to a small step in power about 95 W; sums to the slope, not to the total. */
  readonly stagesAt95W: readonly LinearStage[];
  /** Full load on the open bench in constant air. */
  readonly steady: readonly SteadyTruth[];
  /** In the drawer, the room and at the limit of the show. */
  readonly inDrawer: {
    readonly highestPowerW: number;
    readonly riseK: number;
    readonly frequencyMHz: number;
  };
}

/** What was true during one run, at the end of its load (mean over its last two minutes) and throughout. */
export interface RunTruth {
  readonly file: string;
  readonly seed: number;
  readonly cooler: string;
  readonly mount: Mount;
  readonly powerCapW: number;
  readonly rowCount: number;
  readonly meanRoomAirC: number;
  readonly endOfLoad: {
    readonly dieTemperatureC: number;
    readonly intakeAirC: number;
    readonly roomAirC: number;
    readonly frequencyMHz: number;
  };
}

/** The truth behind the demo, written to `truth.json`. */
export interface DemoTruth {
  readonly about: string;
  readonly bench: { readonly roomAirC: number };
  readonly show: {
    readonly roomAirC: number;
    readonly limitC: number;
    readonly enclosure: string;
    /** What the drawer adds to the intake air for every watt of all heat, and at 95 W of package power. */
    readonly drawerKPerW: number;
    readonly otherHeatW: number;
    readonly riseAt95WK: number;
  };
  readonly coolers: readonly CoolerTruth[];
  readonly runs: readonly RunTruth[];
}

/** Truth of every cooler and mounting, without noise. */
export function coolerTruths(): CoolerTruth[] {
  return coolers.flatMap((cooler) =>
    Object.entries(cooler.contactKPerW).map(([mount, contactKPerW]) => {
      const network = cooler.network(contactKPerW);
      const inDrawer = { ...network, enclosure: drawer };
      const highestPowerW = powerAtLimitW(inDrawer, show);
      const rig = { network, processor: stageProcessor };
      return {
        cooler: cooler.name,
        mount: mount as Mount,
        convectionExponent: network.convection.exponent,
        thermalResistanceAt95WKPerW: resistanceKPerW(network, 95),
        powerExponent:
          Math.log(resistanceKPerW(network, 72) / resistanceKPerW(network, 118)) / Math.log(118 / 72),
        stagesAt95W: linearStages(network, 95),
        steady: capsW.map((powerCapW) => steadyTruth(rig, { powerCapW, roomAirC: bench.roomAirC })),
        inDrawer: {
          highestPowerW,
          riseK: enclosureRiseK(drawer, highestPowerW),
          frequencyMHz: steadyTruth(
            { network: inDrawer, processor: stageProcessor },
            { powerCapW: highestPowerW, roomAirC: show.roomAirC },
          ).frequencyMHz,
        },
      };
    }),
  );
}

/** The whole truth, given the simulated logs of `demoRuns` in order. */
export function demoTruth(logs: readonly RigLog[]): DemoTruth {
  return {
    about: 'Invented. Written by generate.ts; steady states are computed without noise in constant air.',
    bench,
    show: {
      ...show,
      enclosure: drawerName,
      drawerKPerW: enclosureRiseK({ ...drawer, otherHeatW: 0 }, 1),
      otherHeatW: drawer.otherHeatW,
      riseAt95WK: enclosureRiseK(drawer, 95),
    },
    coolers: coolerTruths(),
    runs: demoRuns.map((run, index) => {
      const log = logs[index];
      const [leadIn, load] = run.parameters.phases;
      const loadEndS = leadIn.durationS + load.durationS;
      const atEnd = (values: Float64Array): number =>
        mean(values.filter((_, row) => log.timeS[row] > loadEndS - 120 && log.timeS[row] < loadEndS));
      return {
        file: `${run.name}.csv`,
        seed: run.seed,
        cooler: run.cooler.name,
        mount: run.mount,
        powerCapW: run.powerCapW,
        rowCount: log.timeS.length,
        meanRoomAirC: mean(log.truth.roomAirC),
        endOfLoad: {
          dieTemperatureC: atEnd(log.truth.dieTemperatureC),
          intakeAirC: atEnd(log.truth.intakeAirC),
          roomAirC: atEnd(log.truth.roomAirC),
          frequencyMHz: atEnd(log.truth.frequencyMHz),
        },
      };
    }),
  };
}

/** The tables of the README: coolers on the bench, then in the drawer. */
export function truthTables(truths: readonly CoolerTruth[]): string {
  const steadyCell = ({ temperatureC, frequencyMHz, powerW, limitedBy }: SteadyTruth): string => {
    const held = limitedBy === 'temperature' ? `, held at ${powerW.toFixed(1)} W` : '';
    return `${temperatureC.toFixed(1)} °C, ${frequencyMHz.toFixed(0)} MHz${held}`;
  };
  const benchTable = markdownTable(
    [
      'cooler',
      'mount',
      'R at 95 W, K/W',
      'convection exponent p',
      'R ∝ P^−q, q',
      ...capsW.map((w) => `cap ${w} W`),
    ],
    truths.map((truth) => [
      truth.cooler,
      truth.mount,
      truth.thermalResistanceAt95WKPerW.toFixed(4),
      truth.convectionExponent.toFixed(2),
      truth.powerExponent.toFixed(4),
      ...truth.steady.map(steadyCell),
    ]),
  );
  const stageTable = markdownTable(
    ['cooler', 'mount', 'stages: time constant, s: resistance, K/W'],
    truths.map(({ cooler, mount, stagesAt95W }) => [
      cooler,
      mount,
      stagesAt95W
        .map((stage) => `${stage.timeConstantS.toPrecision(3)}: ${stage.resistanceKPerW.toFixed(4)}`)
        .join(', '),
    ]),
  );
  const drawerTable = markdownTable(
    ['cooler', 'mount', 'highest power, W', 'drawer rise, K', 'frequency, MHz'],
    truths.map(({ cooler, mount, inDrawer }) => [
      cooler,
      mount,
      inDrawer.highestPowerW.toFixed(1),
      inDrawer.riseK.toFixed(1),
      inDrawer.frequencyMHz.toFixed(0),
    ]),
  );
  return [
    `Open bench, air constant at ${bench.roomAirC} °C, full load, no noise:`,
    benchTable,
    'Response of the die to a small step in power about 95 W (the stages sum to the slope of temperature against\npower, a little below R; the slowest, small one is the board):',
    stageTable,
    `In the drawer, room ${show.roomAirC} °C, die at ${show.limitC} °C:`,
    drawerTable,
  ].join('\n\n');
}

/** A table whose columns line up. */
function markdownTable(header: readonly string[], body: readonly (readonly string[])[]): string {
  const widths = header.map((cell, column) =>
    Math.max(cell.length, ...body.map((row) => row[column].length)),
  );
  const rule = widths.map((width) => '-'.repeat(width));
  return [header, rule, ...body]
    .map((row) => `| ${row.map((cell, column) => cell.padEnd(widths[column])).join(' | ')} |`)
    .join('\n');
}

function resistanceKPerW(network: ThermalNetwork, powerW: number): number {
  return steadyTemperatures(network, powerW, 0)[0] / powerW;
}

function mean(values: Float64Array): number {
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
