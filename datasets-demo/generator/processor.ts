/**
 * A processor's package power:
 * P = base + leakage · V · exp((T − T_reference) / scale) + switching · activity · f · V(f)².
 */
export interface Processor {
  readonly baseW: number;
  /** At 1 V and the reference temperature. */
  readonly leakageWPerV: number;
  readonly leakageReferenceC: number;
  /** Leakage grows by the factor e over this difference. */
  readonly leakageScaleK: number;
  /** At full activity, per gigahertz and square volt. */
  readonly switchingWPerGHzV2: number;
  /** Supply voltage: the floor up to `floorMHz`, then a parabola. */
  readonly voltage: {
    readonly floorV: number;
    readonly floorMHz: number;
    readonly slopeVPerGHz: number;
    readonly curvatureVPerGHz2: number;
  };
  readonly idleMHz: number;
  /** Switching activity when there is nothing to do. */
  readonly idleActivity: number;
  /** Highest frequency with all cores at work. */
  readonly highestMHz: number;
  readonly stepMHz: number;
  /** The processor's own temperature limit. */
  readonly limitC: number;
  /** Work done per second and megahertz. */
  readonly throughputPerSPerMHz: number;
}

/** Supply voltage at a frequency. */
export function voltageV(processor: Processor, frequencyMHz: number): number {
  const { floorV, floorMHz, slopeVPerGHz, curvatureVPerGHz2 } = processor.voltage;
  const above = Math.max(0, frequencyMHz - floorMHz) / 1000;
  return floorV + slopeVPerGHz * above + curvatureVPerGHz2 * above * above;
}

/** Package power at a frequency, an activity (1 = all cores busy) and a die temperature. */
export function packagePowerW(
  processor: Processor,
  at: { readonly frequencyMHz: number; readonly activity: number; readonly temperatureC: number },
): number {
  const { baseW, leakageWPerV, leakageReferenceC, leakageScaleK, switchingWPerGHzV2 } = processor;
  const v = voltageV(processor, at.frequencyMHz);
  const leakageW = leakageWPerV * v * Math.exp((at.temperatureC - leakageReferenceC) / leakageScaleK);
  return baseW + leakageW + (switchingWPerGHzV2 * at.activity * at.frequencyMHz * v * v) / 1000;
}

/** Frequency, not rounded to steps, at which full load draws a power; never above the highest. */
export function frequencyAtPowerMHz(
  processor: Processor,
  at: { readonly powerW: number; readonly temperatureC: number },
): number {
  let low = 0;
  let high = processor.highestMHz;
  for (let round = 0; round < 60; round += 1) {
    const frequencyMHz = (low + high) / 2;
    const drawnW = packagePowerW(processor, { frequencyMHz, activity: 1, temperatureC: at.temperatureC });
    if (drawnW > at.powerW) high = frequencyMHz;
    else low = frequencyMHz;
  }
  return (low + high) / 2;
}

/** The same processor with its voltage lowered by hand, and losing a share of its work behind the reported frequency. */
export function undervolted(
  processor: Processor,
  { offsetMv, lostFraction }: { readonly offsetMv: number; readonly lostFraction: number },
): Processor {
  return {
    ...processor,
    voltage: { ...processor.voltage, floorV: processor.voltage.floorV + offsetMv / 1000 },
    throughputPerSPerMHz: processor.throughputPerSPerMHz * (1 - lostFraction),
  };
}
