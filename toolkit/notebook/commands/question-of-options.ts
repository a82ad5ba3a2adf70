import type { CapScenario } from '../../cap/choose/cap-choice.js';
import type { Conditions } from '../../runs/run.js';
import type { CommandOptions } from './command-options.js';
import type { YourLogs } from './your-logs-cell.js';

/** The question, as far as the options ask it. */
export function questionOf(options: CommandOptions): Partial<CapScenario> {
  const { limitC, ambientC, enclosureRiseK, confidence, stepW, defaultCapW, maxCapW } = options;
  return {
    ...(limitC === undefined ? {} : { limitC }),
    ...(ambientC === undefined ? {} : { ambientC }),
    ...(enclosureRiseK === undefined ? {} : { enclosure: { riseK: enclosureRiseK } }),
    ...(confidence === undefined ? {} : { confidence }),
    ...(stepW === undefined ? {} : { stepW }),
    ...(defaultCapW === undefined ? {} : { defaultCapW }),
    ...(maxCapW === undefined ? {} : { maxCapW }),
  };
}

/** What the options say in place of logs that do not. */
export function conditionsOf(options: CommandOptions): Conditions {
  const { cooler, processor, ambientDuringRunsC } = options;
  return {
    ...(cooler === undefined ? {} : { cooler }),
    ...(processor === undefined ? {} : { processor }),
    ...(ambientDuringRunsC === undefined ? {} : { ambientC: ambientDuringRunsC }),
  };
}

/** How the options say that logs are to be read. */
export function readingOf({ columns, units, dateOrder }: CommandOptions): YourLogs['howToRead'] {
  return {
    ...(columns === undefined ? {} : { columns }),
    ...(units === undefined ? {} : { units }),
    ...(dateOrder === undefined ? {} : { dateOrder }),
  };
}
