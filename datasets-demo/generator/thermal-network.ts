import { requireNumber } from '../../toolkit/errors.js';

/** One lump of the path from the die to the air. */
export interface ThermalNode {
  readonly name: string;
  readonly heatCapacityJPerK: number;
  /** To the next node; for the last node to the intake air, at the reference difference of `Convection`. */
  readonly resistanceKPerW: number;
}

/** The last resistance falls as the fins warm: R = R_reference · (ΔT / ΔT_reference)^−exponent. */
export interface Convection {
  readonly exponent: number;
  readonly referenceDifferenceK: number;
}

/** The small share of heat that leaves through the board below the processor. */
export interface BoardPath {
  readonly fromDieKPerW: number;
  readonly heatCapacityJPerK: number;
  readonly toAirKPerW: number;
}

/** A box around the computer: its air is the cooler's intake air, and warms. */
export interface Enclosure {
  /** Air and the light parts that follow it at once. */
  readonly airHeatCapacityJPerK: number;
  /** Air exchange through the vents, as a resistance to the room. */
  readonly ventKPerW: number;
  readonly airToWallKPerW: number;
  readonly wallHeatCapacityJPerK: number;
  readonly wallToRoomKPerW: number;
  /** Heat of everything but the processor: memory, storage, power supply. */
  readonly otherHeatW: number;
}

/** Lumped heat capacities from the die outward, the board beside them and, if closed in, the box around them. */
export interface ThermalNetwork {
  /** Die first, fins or radiator last. */
  readonly nodes: readonly ThermalNode[];
  readonly convection: Convection;
  readonly board: BoardPath;
  readonly enclosure?: Enclosure;
}

/** A network in motion: temperatures in place, advanced step by step. */
export interface NetworkState {
  /** Degrees Celsius: the nodes in order, the board, then (if there is a box) its air and its wall. */
  readonly temperatureC: Float64Array;
  readonly intakeAirC: (roomAirC: number) => number;
  /** Advances by `stepS` at constant heat and room air. */
  readonly advance: (stepS: number, heatW: number, roomAirC: number) => void;
}

/** Below this difference convection is taken as constant, so that a cold cooler has a finite resistance. */
const smallestDifferenceK = 1;

/** Resistance of the last node to the air at a temperature difference. */
export function convectionKPerW(network: ThermalNetwork, differenceK: number): number {
  const { exponent, referenceDifferenceK } = network.convection;
  const reference = network.nodes[network.nodes.length - 1].resistanceKPerW;
  return reference * (Math.max(differenceK, smallestDifferenceK) / referenceDifferenceK) ** -exponent;
}

/** Steady temperatures at a constant heat flow rate, in the order of `NetworkState.temperatureC`. */
export function steadyTemperatures(network: ThermalNetwork, heatW: number, roomAirC: number): Float64Array {
  const { nodes, board, enclosure } = network;
  const airC = roomAirC + enclosureRiseK(enclosure, heatW);
  const inner = nodes.slice(0, -1).reduce((sum, node) => sum + node.resistanceKPerW, 0);
  const throughBoard = board.fromDieKPerW + board.toAirKPerW;
  let last = nodes[nodes.length - 1].resistanceKPerW;
  let throughCoolerW = heatW;
  // A contraction with factor `exponent`, well below 1.
  for (let round = 0; round < 60; round += 1) {
    throughCoolerW = (heatW * throughBoard) / (throughBoard + inner + last);
    last = convectionKPerW(network, throughCoolerW * last);
  }
  const temperatureC = new Float64Array(nodes.length + (enclosure === undefined ? 1 : 3));
  let level = airC + throughCoolerW * last;
  for (let index = nodes.length - 1; index >= 0; index -= 1) {
    if (index < nodes.length - 1) level += throughCoolerW * nodes[index].resistanceKPerW;
    temperatureC[index] = level;
  }
  temperatureC[nodes.length] = airC + (heatW - throughCoolerW) * board.toAirKPerW;
  if (enclosure !== undefined) {
    const { airToWallKPerW, wallToRoomKPerW } = enclosure;
    temperatureC[nodes.length + 1] = airC;
    temperatureC[nodes.length + 2] =
      roomAirC + ((airC - roomAirC) * wallToRoomKPerW) / (airToWallKPerW + wallToRoomKPerW);
  }
  return temperatureC;
}

/** Steady rise of the intake air over the room: the whole heat leaves through vents and walls side by side. */
export function enclosureRiseK(enclosure: Enclosure | undefined, heatW: number): number {
  if (enclosure === undefined) return 0;
  const conductanceWPerK =
    1 / enclosure.ventKPerW + 1 / (enclosure.airToWallKPerW + enclosure.wallToRoomKPerW);
  return (heatW + enclosure.otherHeatW) / conductanceWPerK;
}

/** Starts the network at given temperatures; integrated by the classical fourth-order Runge-Kutta rule. */
export function startNetwork(network: ThermalNetwork, startC: Float64Array): NetworkState {
  checkNetwork(network);
  const { nodes, board, enclosure } = network;
  const count = nodes.length;
  const size = startC.length;
  const boardAt = count;
  const airAt = count + 1;
  const wallAt = count + 2;
  const capacity = Float64Array.from(nodes, (node) => node.heatCapacityJPerK);
  const onward = Float64Array.from(nodes, (node) => 1 / node.resistanceKPerW);
  const { exponent, referenceDifferenceK } = network.convection;
  const temperatureC = Float64Array.from(startC);
  const intakeAirC = (roomAirC: number): number => (enclosure === undefined ? roomAirC : temperatureC[airAt]);

  // Convection is held within a step: the fins move by millikelvins in it, and a power is dear.
  let toAirWPerK = 0;
  const holdConvection = (roomAirC: number): void => {
    const differenceK = temperatureC[count - 1] - intakeAirC(roomAirC);
    const better = (Math.max(differenceK, smallestDifferenceK) / referenceDifferenceK) ** exponent;
    toAirWPerK = onward[count - 1] * better;
  };

  const slope = (at: Float64Array, heatW: number, roomAirC: number, into: Float64Array): void => {
    const airC = enclosure === undefined ? roomAirC : at[airAt];
    const toBoardW = (at[0] - at[boardAt]) / board.fromDieKPerW;
    let arrivingW = heatW - toBoardW;
    for (let index = 0; index < count - 1; index += 1) {
      const leavingW = (at[index] - at[index + 1]) * onward[index];
      into[index] = (arrivingW - leavingW) / capacity[index];
      arrivingW = leavingW;
    }
    const toAirW = (at[count - 1] - airC) * toAirWPerK;
    into[count - 1] = (arrivingW - toAirW) / capacity[count - 1];
    const boardToAirW = (at[boardAt] - airC) / board.toAirKPerW;
    into[boardAt] = (toBoardW - boardToAirW) / board.heatCapacityJPerK;
    if (enclosure === undefined) return;
    const toWallW = (airC - at[wallAt]) / enclosure.airToWallKPerW;
    const ventedW = (airC - roomAirC) / enclosure.ventKPerW;
    into[airAt] =
      (toAirW + boardToAirW + enclosure.otherHeatW - toWallW - ventedW) / enclosure.airHeatCapacityJPerK;
    into[wallAt] =
      (toWallW - (at[wallAt] - roomAirC) / enclosure.wallToRoomKPerW) / enclosure.wallHeatCapacityJPerK;
  };

  const k1 = new Float64Array(size);
  const k2 = new Float64Array(size);
  const k3 = new Float64Array(size);
  const k4 = new Float64Array(size);
  const trial = new Float64Array(size);
  const reach = (k: Float64Array, stepS: number): Float64Array => {
    for (let index = 0; index < size; index += 1) trial[index] = temperatureC[index] + stepS * k[index];
    return trial;
  };
  const longestStepS = 0.5 * shortestTimeConstantS(network);

  const advance = (stepS: number, heatW: number, roomAirC: number): void => {
    const parts = Math.max(1, Math.ceil(stepS / longestStepS));
    const h = stepS / parts;
    for (let part = 0; part < parts; part += 1) {
      holdConvection(roomAirC);
      slope(temperatureC, heatW, roomAirC, k1);
      slope(reach(k1, h / 2), heatW, roomAirC, k2);
      slope(reach(k2, h / 2), heatW, roomAirC, k3);
      slope(reach(k3, h), heatW, roomAirC, k4);
      for (let index = 0; index < size; index += 1) {
        temperatureC[index] =
          temperatureC[index] + (h / 6) * (k1[index] + 2 * k2[index] + 2 * k3[index] + k4[index]);
      }
    }
  };
  return { temperatureC, intakeAirC, advance };
}

/** A lower bound for the fastest pole: heat capacity over all conductances that meet at a node. */
function shortestTimeConstantS(network: ThermalNetwork): number {
  const { nodes, board, enclosure } = network;
  const conductance = nodes.map((node) => 1 / node.resistanceKPerW);
  const constants = nodes.map(
    (node, index) => node.heatCapacityJPerK / (conductance[index] + (conductance[index - 1] ?? 0)),
  );
  constants.push(board.heatCapacityJPerK / (1 / board.fromDieKPerW + 1 / board.toAirKPerW));
  if (enclosure !== undefined) {
    const { airHeatCapacityJPerK, ventKPerW, airToWallKPerW, wallHeatCapacityJPerK, wallToRoomKPerW } =
      enclosure;
    constants.push(
      airHeatCapacityJPerK / (1 / ventKPerW + 1 / airToWallKPerW + conductance[nodes.length - 1]),
      wallHeatCapacityJPerK / (1 / airToWallKPerW + 1 / wallToRoomKPerW),
    );
  }
  return Math.min(...constants);
}

function checkNetwork({ nodes, convection, board, enclosure }: ThermalNetwork): void {
  const caller = 'simulateRig';
  requireNumber(nodes.length, { caller, argument: 'network.nodes.length' }, { atLeast: 2 });
  for (const [index, node] of nodes.entries()) {
    const argument = `network.nodes[${index}]`;
    requireNumber(
      node.heatCapacityJPerK,
      { caller, argument: `${argument}.heatCapacityJPerK` },
      { above: 0 },
    );
    requireNumber(node.resistanceKPerW, { caller, argument: `${argument}.resistanceKPerW` }, { above: 0 });
  }
  const bounds = { atLeast: 0, atMost: 0.5 };
  requireNumber(convection.exponent, { caller, argument: 'network.convection.exponent' }, bounds);
  for (const [argument, part] of Object.entries({ board, enclosure: enclosure ?? {} })) {
    for (const [key, value] of Object.entries(part)) {
      const above = key === 'otherHeatW' ? { atLeast: 0 } : { above: 0 };
      requireNumber(value, { caller, argument: `network.${argument}.${key}` }, above);
    }
  }
}
