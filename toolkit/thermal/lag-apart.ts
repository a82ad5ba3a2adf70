/** Relative distance kept between a sensor lag and the stages' time constants. */
const CLOSEST = 1e-5;

/**
 * A sensor lag moved clear of the stages' time constants: the response of two equal poles in series has no sum of two
 * exponentials, and that of two nearly equal ones differs from it by less than anyone can see.
 */
export function lagApartFrom(lagS: number, timeConstantsS: ArrayLike<number>, stageCount: number): number {
  let apartS = lagS;
  for (let k = 0; k < stageCount; k++) {
    if (Math.abs(apartS / timeConstantsS[k] - 1) < CLOSEST) apartS = timeConstantsS[k] * (1 + CLOSEST);
  }
  return apartS;
}
