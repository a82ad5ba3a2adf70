import type { RandomStream } from './random.js';

/** Air of the room: wanders slowly about its mean, sways with the heating, and may jump. */
export interface RoomAir {
  readonly meanC: number;
  /** Standard deviation of the slow wandering; over one run it stays within about a kelvin. */
  readonly wanderingK: number;
  readonly wanderingTimeS: number;
  /** Amplitude and period of the heating's on and off. */
  readonly swayK: number;
  readonly swayPeriodS: number;
  /** Changes for good, each approached with its own time constant: a door opened, a window shut. */
  readonly changes: readonly {
    readonly atS: number;
    readonly changeK: number;
    readonly timeConstantS: number;
  }[];
}

/** Room air from second to second; call with every whole second in turn. */
export function startRoomAir(room: RoomAir, random: RandomStream): (timeS: number) => number {
  const kept = Math.exp(-1 / room.wanderingTimeS);
  const fresh = room.wanderingK * Math.sqrt(1 - kept * kept);
  const phase = 2 * Math.PI * random.uniform();
  let wanderingK = room.wanderingK * random.normal();
  return (timeS) => {
    wanderingK = kept * wanderingK + fresh * random.normal();
    let airC = room.meanC + wanderingK;
    airC += room.swayK * Math.sin(phase + (2 * Math.PI * timeS) / room.swayPeriodS);
    for (const { atS, changeK, timeConstantS } of room.changes) {
      if (timeS > atS) airC += changeK * (1 - Math.exp(-(timeS - atS) / timeConstantS));
    }
    return airC;
  };
}
