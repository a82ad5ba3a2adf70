/**
 * Digits of agreement with the certified values of the Statistical Reference Datasets (NIST StRD): 27 nonlinear
 * regressions from both starting points and 11 linear ones, all through `leastSquares`. The fewest digits over the
 * parameters, and over their standard deviations; 11 digits are certified for nonlinear sets, 15 for linear ones. Fails
 * where a fit that calls itself converged has fewer than four digits right.
 */
import { readScriptOptions, runScript } from '../../toolkit/notebook/commands/script-options.js';
import type { LeastSquaresResult } from '../../toolkit/numerics/least-squares/least-squares.js';
import {
  fewestDigits,
  fitLinear,
  fitNonlinear,
  standardErrorsOf,
} from '../reference/fixtures/nist-digits.js';
import { certifiedFits } from '../reference/fixtures/nist-strd.js';
import { certifiedLinearFits } from '../reference/fixtures/nist-strd-linear.js';

interface Agreement {
  readonly values: number;
  readonly standardDeviations: number;
  readonly converged: boolean;
}

interface Certificate {
  readonly certified: readonly number[];
  readonly standardDeviations: readonly number[];
}

function agreement(fit: LeastSquaresResult, set: Certificate, mostDigits: number): Agreement {
  return {
    values: fewestDigits(fit.parameters, set.certified, mostDigits),
    standardDeviations: fewestDigits(standardErrorsOf(fit.estimates), set.standardDeviations, mostDigits),
    converged: fit.termination.converged,
  };
}

const cells = ({ values, standardDeviations, converged }: Agreement): string =>
  converged ? `${values.toFixed(1)} | ${standardDeviations.toFixed(1)}` : 'not converged | ';

function main(): number {
  const options = readScriptOptions(process.argv.slice(2), {
    script: 'npm run digits',
    about:
      'Digits of agreement of least squares with the certified regressions of NIST StRD, as Markdown. A few seconds.',
  });
  if (options === undefined) return 0;
  const silentlyWrong: string[] = [];
  const note = (name: string, { values, converged }: Agreement): void => {
    if (converged && values < 4) silentlyWrong.push(name);
  };

  console.log(`Node ${process.version}`);
  console.log('| nonlinear set | level | start 1: values | std dev | start 2: values | std dev |');
  console.log('|---|---|---|---|---|---|');
  for (const set of certifiedFits) {
    const [first, second] = [set.start1, set.start2].map((start) =>
      agreement(fitNonlinear(set, start), set, 11),
    );
    note(`${set.name} from start 1`, first);
    note(`${set.name} from start 2`, second);
    console.log(`| ${set.name} | ${set.difficulty} | ${cells(first)} | ${cells(second)} |`);
  }
  console.log('\n| linear set | level | values | std dev |');
  console.log('|---|---|---|---|');
  for (const set of certifiedLinearFits) {
    const found = agreement(fitLinear(set), set, 15);
    note(set.name, found);
    console.log(`| ${set.name} | ${set.difficulty} | ${cells(found)} |`);
  }
  if (silentlyWrong.length > 0) console.log(`Converged, yet wrong: ${silentlyWrong.join(', ')}`);
  return silentlyWrong.length > 0 ? 1 : 0;
}

runScript(main);
