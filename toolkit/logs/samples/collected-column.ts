import { fromOwnUnit } from '../../units/units.js';
import { type CombineRule, ROLE_RULES, type RoleColumn } from '../table/column-rules.js';
import { copyOfFault, type Fault, newFault } from './row-faults.js';

/** How the cells of a column that has a role are read, and what was wrong with them so far. */
export interface CollectedColumn extends RoleColumn {
  readonly required: boolean;
  /** Lowest value that is physically possible, in the unit of the log. */
  readonly floor: number;
  /** Whether a plain number in the cell is not yet the value: several cells make one, or times are texts. */
  isIndirect: boolean;
  readonly missing: Fault;
  readonly unreadable: Fault;
  /** Cells with thousands set apart. */
  readonly grouped: Fault;
}

/** A column of which no cell was read yet. */
export function newColumn(column: RoleColumn): CollectedColumn {
  return {
    ...column,
    required: ROLE_RULES[column.role].required,
    floor: floorOf(column),
    isIndirect: column.combined !== undefined || column.role === 'time',
    missing: newFault(),
    unreadable: newFault(),
    grouped: newFault(),
  };
}

/** A copy whose faults count on by themselves. */
export function copyOfColumn(column: CollectedColumn): CollectedColumn {
  return {
    ...column,
    missing: copyOfFault(column.missing),
    unreadable: copyOfFault(column.unreadable),
    grouped: copyOfFault(column.grouped),
  };
}

/** One number from `values[from … to − 1]`, where a column has several cells. */
export function combine(rule: CombineRule, values: ArrayLike<number>, from: number, to: number): number {
  let highest = Number.NEGATIVE_INFINITY;
  let sum = 0;
  for (let i = from; i < to; i++) {
    const value = values[i];
    sum += value;
    if (value > highest) highest = value;
  }
  return rule === 'highest' ? highest : rule === 'sum' ? sum : sum / (to - from);
}

/** Temperatures end at absolute zero, everything else but time at zero. */
function floorOf({ role, unit }: RoleColumn): number {
  if (role === 'time') return Number.NEGATIVE_INFINITY;
  return fromOwnUnit(unit.quantity === 'temperature' ? -273.15 : 0, unit);
}
