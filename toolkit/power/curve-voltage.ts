/** Share of the work per cycle that the runs at one voltage offset lost against those without. */
export interface OffsetLoss {
  readonly offsetMv: number;
  /** 0 where the check found none. */
  readonly lossFraction: number;
  readonly standardErrorFraction: number;
}

/** What a curve knows of voltage. */
export interface CurveVoltage {
  /** Voltage offset that the curve's answers hold for, mV against the maker's voltages; at most 0. */
  readonly offsetMv: number;
  /** Offset of the runs that the relation of voltage to frequency stands for, mV: the one nearest to the maker's. */
  readonly relationOffsetMv: number;
  /** Offsets that runs were logged at, mV, nearest to the maker's first. */
  readonly testedOffsetsMv: readonly number[];
  readonly testedVoltageV: readonly [low: number, high: number];
  /** Where throughput was logged: one entry per offset of `testedOffsetsMv` that could be compared. */
  readonly offsetLosses: readonly OffsetLoss[];
}

/** Factor that turns the reported frequency into the effective one, and its standard error. */
export interface EffectiveShare {
  readonly ratio: number;
  readonly standardErrorFraction: number;
}

/**
 * The effective share of the reported frequency at the curve's voltage offset.
 *
 * At an offset that was logged it is what the runs lost. Between two that were logged the loss lies anywhere from that of
 * the lesser offset to the straight line to the deeper one, since losses set in suddenly: its middle, and the standard
 * deviation of that range. Beyond the deepest one nothing is known: none is taken off, and the answers are marked
 * extrapolated.
 */
export function effectiveShare({ offsetMv, relationOffsetMv, offsetLosses }: CurveVoltage): EffectiveShare {
  const exact = offsetLosses.find((loss) => loss.offsetMv === offsetMv);
  if (exact !== undefined)
    return { ratio: 1 - exact.lossFraction, standardErrorFraction: exact.standardErrorFraction };
  const none: OffsetLoss = { offsetMv: relationOffsetMv, lossFraction: 0, standardErrorFraction: 0 };
  const lesser = offsetLosses
    .filter((loss) => loss.offsetMv > offsetMv)
    .reduce((nearest, loss) => (loss.offsetMv < nearest.offsetMv ? loss : nearest), none);
  const deeper = offsetLosses
    .filter((loss) => loss.offsetMv < offsetMv)
    .reduce<OffsetLoss | undefined>(
      (nearest, loss) => (nearest === undefined || loss.offsetMv > nearest.offsetMv ? loss : nearest),
      undefined,
    );
  if (deeper === undefined || offsetMv >= relationOffsetMv) {
    return { ratio: 1 - lesser.lossFraction, standardErrorFraction: lesser.standardErrorFraction };
  }
  const share = (lesser.offsetMv - offsetMv) / (lesser.offsetMv - deeper.offsetMv);
  const most = share * (deeper.lossFraction - lesser.lossFraction);
  return {
    ratio: 1 - lesser.lossFraction - most / 2,
    standardErrorFraction: Math.hypot(
      most / Math.sqrt(12),
      lesser.standardErrorFraction,
      share * deeper.standardErrorFraction,
    ),
  };
}
