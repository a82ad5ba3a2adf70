/** Why the iteration ended. */
export type TerminationReason =
  | 'reduction-small'
  | 'step-small'
  | 'gradient-small'
  | 'zero-residuals'
  | 'flat-direction'
  | 'no-progress'
  | 'not-finite'
  | 'evaluation-limit';

/** How an iteration ended; failure to converge is a result. */
export interface Termination {
  readonly reason: TerminationReason;
  /** True only where the conditions for a (local) minimum hold. */
  readonly converged: boolean;
  /** What happened and, where it failed, what to do. */
  readonly message: string;
}

const messages: Readonly<Record<TerminationReason, string>> = {
  'reduction-small': 'the sum of squares no longer falls',
  'step-small': 'the parameters no longer move',
  'gradient-small': 'the residuals are orthogonal to the model’s derivatives',
  'zero-residuals': 'the model meets every point within rounding',
  'flat-direction':
    'a parameter no longer has any influence on the residuals; start elsewhere, bound it or leave it out',
  'no-progress':
    'no step lowers the sum of squares although its gradient is not zero; check the derivatives and whether the residuals are smooth',
  'not-finite':
    'the derivatives are not finite; bound the parameters to where the model is defined or start elsewhere',
  'evaluation-limit': 'the limit on evaluations was reached; raise maxEvaluations or start nearer',
};

/** Whether the conditions for a minimum hold. */
export function converges(reason: TerminationReason): boolean {
  return ['reduction-small', 'step-small', 'gradient-small', 'zero-residuals'].includes(reason);
}

/** How an iteration that ended for this reason is stated. */
export function terminationOf(reason: TerminationReason): Termination {
  return { reason, converged: converges(reason), message: messages[reason] };
}
