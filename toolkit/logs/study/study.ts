import type { Conditions, Run } from '../../runs/run.js';
import type { ConditionName } from '../conditions.js';
import type { LogIssue } from '../log-format-error.js';

/** One log of a study. */
export interface StudyLog {
  /** Name within the folder. */
  readonly file: string;
  readonly label: string;
  /** Its own conditions file; absent where there is none. */
  readonly conditionsFile?: string;
  /** Its own conditions and those common to the study; its own alone where their file has a mistake. */
  readonly conditions: Conditions;
  /** Absent where the log cannot be read; `issues` say why. */
  readonly run?: Run;
  /** Conditions that answers need and nobody has written down. */
  readonly missing: readonly ConditionName[];
  /** What is wrong with the log or its conditions file. */
  readonly issues: readonly LogIssue[];
}

/** Things written down that cannot all be true. */
export interface StudyDisagreement {
  /** Absent where the logs themselves are the matter. */
  readonly condition?: ConditionName;
  /** The runs concerned. */
  readonly labels: readonly string[];
  readonly message: string;
  readonly remedy: string;
}

/** A folder of load runs with their conditions. */
export interface Study {
  readonly kind: 'study';
  readonly folder: string;
  /** In the order of their names. */
  readonly logs: readonly StudyLog[];
  /** Those that could be read. */
  readonly runs: readonly Run[];
  readonly disagreements: readonly StudyDisagreement[];
  /** What is wrong with the folder, beside its logs. */
  readonly issues: readonly LogIssue[];
}
