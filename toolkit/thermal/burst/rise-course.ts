import { LOWEST_POWER_SHARE } from '../convection.js';
import type { CoolerNumbers } from '../cooler-numbers.js';
import { lagApartFrom } from '../lag-apart.js';

/**
 * The course of the rise at a constant power, as `riseAfter` gives it, prepared once for many moments. What is missing to the
 * steady rise is a sum of exponentials, one a stage and one for the sensor's lag, and of what the bend adds:
 *
 *   left(t) = Σⱼ wⱼ e^(−t/τⱼ) + bend(P) − bend(x(t)),  x(t) = P − Σⱼ dⱼ e^(−t/τⱼ),  bend(x) = R x (g(x) − 1),
 *
 * x being what the slowest stage has made of the power, and g the factor by which the resistance falls as it warms. One course
 * follows one set of numbers after the other: a thousand draws are asked in a row, and nothing is made anew for each.
 */
export class RiseCourse {
  /** Rise once everything has settled, K. */
  steadyRiseK = 0;
  /** What is missing to it at the moment looked at, K, and how fast that falls, K/s. */
  leftK = 0;
  slopeKPerS = 0;
  /** Whether all stages go to their steady states from one side, as from one earlier power or from colder stages alone. */
  isMonotone = false;

  /** 1/τⱼ, wⱼ and dⱼ. */
  private readonly ratesPerS: Float64Array;
  private readonly weightsK: Float64Array;
  private readonly weightsW: Float64Array;
  private powerW = 0;
  private totalKPerW = 0;
  private powerExponent = 0;
  private atPowerW = 1;
  private steadyGain = 1;
  private isCold = false;
  private highestW = 0;
  private slowestKPerW = 0;

  constructor({ timeConstantsS, sensorLagS }: CoolerNumbers) {
    const count = timeConstantsS.length + (sensorLagS === undefined ? 0 : 1);
    this.ratesPerS = new Float64Array(count);
    this.weightsK = new Float64Array(count);
    this.weightsW = new Float64Array(count);
  }

  /** Turns to these numbers, of as many stages as those it was made for, and to stages that had followed `startPowersW`. */
  follow(cooler: CoolerNumbers, powerW: number, startPowersW: readonly number[]): void {
    const { ratesPerS, weightsK, weightsW } = this;
    const { timeConstantsS, resistancesKPerW, sensorLagS } = cooler;
    const count = timeConstantsS.length;
    const lagS = sensorLagS === undefined ? undefined : lagApartFrom(sensorLagS, timeConstantsS, count);
    let totalKPerW = 0;
    let ofLagK = 0;
    let ofLagW = 0;
    let isCold = true;
    let areAlike = true;
    let highestW = powerW;
    for (let k = 0; k < count; k++) {
      const timeConstantS = timeConstantsS[k];
      const resistance = resistancesKPerW[k];
      const startW = startPowersW[k];
      const toFollowW = powerW - startW;
      isCold &&= startW === 0;
      areAlike &&= startW === startPowersW[0];
      highestW = Math.max(highestW, startW);
      // A lag behind a stage by partial fractions: this share decays as the stage does, the rest as the lag.
      const ofStageW = lagS === undefined ? toFollowW : (toFollowW * timeConstantS) / (timeConstantS - lagS);
      ofLagW = toFollowW - ofStageW;
      ratesPerS[k] = 1 / timeConstantS;
      weightsK[k] = resistance * ofStageW;
      weightsW[k] = k < count - 1 ? 0 : ofStageW;
      ofLagK += resistance * ofLagW;
      totalKPerW += resistance;
    }
    if (lagS !== undefined) {
      ratesPerS[count] = 1 / lagS;
      weightsK[count] = ofLagK;
      weightsW[count] = ofLagW; // of the slowest stage, which came last
    }
    this.isCold = isCold;
    this.isMonotone = areAlike || highestW === powerW;
    this.highestW = highestW;
    this.slowestKPerW = resistancesKPerW[count - 1];
    this.powerW = powerW;
    this.totalKPerW = totalKPerW;
    this.powerExponent = cooler.powerExponent;
    this.atPowerW = cooler.atPowerW;
    this.steadyGain = this.gainAt(powerW);
    this.steadyRiseK = totalKPerW * powerW * this.steadyGain;
  }

  /** Works out `leftK` and `slopeKPerS` at a moment. */
  lookAt(elapsedS: number): void {
    const { ratesPerS, weightsK, weightsW, powerW, totalKPerW } = this;
    let leftK = 0;
    let slopeKPerS = 0;
    let leftW = 0;
    let slopeWPerS = 0;
    for (let j = 0; j < ratesPerS.length; j++) {
      const rate = ratesPerS[j];
      const decayed = Math.exp(-elapsedS * rate);
      leftK += weightsK[j] * decayed;
      slopeKPerS += weightsK[j] * rate * decayed;
      leftW += weightsW[j] * decayed;
      slopeWPerS += weightsW[j] * rate * decayed;
    }
    if (this.powerExponent !== 0) {
      const x = powerW - leftW;
      const gain = this.gainAt(x);
      leftK += totalKPerW * (powerW * (this.steadyGain - 1) - x * (gain - 1));
      slopeKPerS += this.bendSlope(x, gain) * slopeWPerS;
    }
    this.leftK = leftK;
    this.slopeKPerS = slopeKPerS;
  }

  /** Rise at the start, K: none from the temperature of the air, as most ask. */
  riseAtStart(): number {
    return this.isCold ? 0 : this.riseAt(0);
  }

  /** Rise at a moment, K. */
  riseAt(elapsedS: number): number {
    this.lookAt(elapsedS);
    return this.steadyRiseK - this.leftK;
  }

  /**
   * Whether the temperature goes to its steady state without turning back: all stages do, and the die follows the slowest
   * one although its resistance changes as it warms. d/dx of r x + bend(x) is least at the highest power there, and at the
   * lowest where the resistance rises with power.
   */
  get isOneWay(): boolean {
    if (!this.isMonotone || this.powerExponent === 0) return this.isMonotone;
    const leastAtW = this.powerExponent > 0 ? this.highestW : 0;
    const gain = leastAtW === this.powerW ? this.steadyGain : this.gainAt(leastAtW);
    return this.slowestKPerW + this.bendSlope(leastAtW, gain) >= 0;
  }

  /** g(x) = (x / P₀)^−p, constant at the lowest powers. */
  private gainAt(followedW: number): number {
    if (this.powerExponent === 0) return 1;
    // Several times as fast as a power.
    return Math.exp(-this.powerExponent * Math.log(Math.max(followedW / this.atPowerW, LOWEST_POWER_SHARE)));
  }

  /** d bend / dx, K/W. */
  private bendSlope(followedW: number, gain: number): number {
    const order = followedW > LOWEST_POWER_SHARE * this.atPowerW ? 1 - this.powerExponent : 1;
    return this.totalKPerW * (order * gain - 1);
  }
}
