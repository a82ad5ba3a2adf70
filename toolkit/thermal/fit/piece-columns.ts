import { type PiecePlaces, placesTouching } from './fit-parameters.js';
import type { FitRecord } from './fit-record.js';
import type { FitStructure, ParameterLayout } from './fit-structure.js';

/** The derivatives of the model over one piece: columns over the whole record, of which the piece has its part. */
export interface PieceColumns {
  /** Of each column's parameter, among [nonlinear, linear]. */
  readonly places: readonly number[];
  readonly columns: readonly Float64Array[];
  /** The nonlinear ones among them, by what their parameters are. */
  readonly nonlinear: NonlinearColumns;
}

/** Columns of one piece's nonlinear parameters, by what these are. */
export type NonlinearColumns = {
  readonly [Kind in NonlinearKind]: readonly Float64Array[];
} & Pick<PiecePlaces, 'mountSigns'>;

type NonlinearKind = Exclude<keyof PiecePlaces, 'mountSigns' | 'resistances'>;

/**
 * The columns of each piece. Pieces stand at different samples, so they share the arrays of their nonlinear parameters,
 * whichever these are.
 */
export function columnsOfPieces(
  record: FitRecord,
  structure: FitStructure,
  layout: ParameterLayout,
  resistanceColumns: readonly Float64Array[],
  room: () => Float64Array,
): PieceColumns[] {
  const places = record.pieces.map((_, p) => placesTouching(record, structure, layout, p));
  const nonlinearPlaces = places.map(placesInOrder);
  const shared = Array.from({ length: Math.max(...nonlinearPlaces.map((own) => own.length)) }, room);
  return places.map((own, p) => ({
    places: [...nonlinearPlaces[p], ...own.resistances],
    columns: [...shared.slice(0, nonlinearPlaces[p].length), ...resistanceColumns],
    nonlinear: handOut(shared, own),
  }));
}

/** Places of the nonlinear parameters, kind after kind. */
function placesInOrder({ stages, lag, exponent, fan, mounts, air, starts }: PiecePlaces): number[] {
  return [...stages, ...lag, ...exponent, ...fan, ...mounts, ...air, ...starts];
}

/** Hands columns out in the same order. */
function handOut(columns: readonly Float64Array[], places: PiecePlaces): NonlinearColumns {
  let next = 0;
  const take = ({ length }: readonly number[]): readonly Float64Array[] => {
    next += length;
    return columns.slice(next - length, next);
  };
  return {
    stages: take(places.stages),
    lag: take(places.lag),
    exponent: take(places.exponent),
    fan: take(places.fan),
    mounts: take(places.mounts),
    air: take(places.air),
    starts: take(places.starts),
    mountSigns: places.mountSigns,
  };
}
