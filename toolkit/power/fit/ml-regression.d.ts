/** The two regressions used from this package, which ships without types. Only `starting-values.ts` imports it. */
declare module 'ml-regression' {
  export class PowerRegression {
    constructor(x: number[], y: number[]);
    readonly A: number;
    readonly B: number;
  }
  export class PolynomialRegression {
    constructor(x: number[], y: number[], degree: number);
    readonly coefficients: readonly number[];
    predict(x: number): number;
  }
}
