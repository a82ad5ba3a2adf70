import type { SettledSupply } from '../scenario/cap-scenario.js';

/**
 * Power drawn at the supply's input, W: (package and fan + rest of the machine) / efficiency; without a supply that of
 * package and fan alone.
 */
export function supplyPower(supply: SettledSupply | undefined, packageAndFanW: number): number {
  return supply === undefined
    ? packageAndFanW
    : (packageAndFanW + supply.restOfMachineW) / supply.efficiencyFraction;
}

/** The package power that uses up the supply's budget beside the rest and the fan, W; infinite without a budget. */
export function packagePowerWithin(supply: SettledSupply | undefined, fanPowerW: number): number {
  if (supply?.budgetW === undefined) return Number.POSITIVE_INFINITY;
  return supply.budgetW * supply.efficiencyFraction - supply.restOfMachineW - fanPowerW;
}
