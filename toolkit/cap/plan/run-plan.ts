import type { SettledScenario } from '../scenario/cap-scenario.js';

/** One run that could be logged next, and what it is expected to do. */
export interface PlannedRun {
  readonly cooler: string;
  readonly powerCapW: number;
  /** Of the load, s; a minute of idling before it is not counted. */
  readonly durationS: number;
  /** Whether the cooler is taken off and mounted again before it. */
  readonly remounted: boolean;
  /** Half-width of the 95 % interval of that cooler's cap before the run and, as expected, after it, W. */
  readonly halfWidthNowW: number;
  readonly halfWidthAfterW: number;
  readonly gainW: number;
  /** Steady temperature expected where the cooler has been logged, degrees Celsius. */
  readonly expectedTemperatureC: number;
}

/** How well the cap of one cooler is known. */
export interface CapKnowledge {
  readonly cooler: string;
  /** The power at the limit in the middle of room and enclosure, W: what the interval is about. */
  readonly powerAtLimitW: number;
  /** Half-width of its 95 % interval from the cooler's own uncertainty, W: what runs can narrow. */
  readonly halfWidthW: number;
  /** What the spread of room and enclosure adds by itself, W: no load run narrows it. */
  readonly placeHalfWidthW: number;
  /** False where the highest cap of the scenario lies clearly below it: then no run changes the cap. */
  readonly limitBinds: boolean;
}

/** Why no further run is worth its time. */
export interface StopLogging {
  readonly reason: 'wanted-width-reached' | 'gain-too-small' | 'limit-does-not-bind' | 'no-run-allowed';
  readonly message: string;
}

/** What to log next. Plain data: survives JSON. */
export interface RunPlan {
  readonly kind: 'run-plan';
  /** Candidates, the best first: those within 5 % of the largest gain by their duration, the others by their gain. */
  readonly candidates: readonly PlannedRun[];
  /** The runs one after the other, at most three; the first is the one to log now. Empty where `stop` says why. */
  readonly sequence: readonly PlannedRun[];
  readonly coolers: readonly CapKnowledge[];
  readonly stop?: StopLogging;
  readonly wantedHalfWidthW: number;
  readonly leastGainW: number;
  readonly assumptions: readonly string[];
  readonly summary: string;
  readonly cautions: readonly string[];
  readonly scenario: SettledScenario;
}
