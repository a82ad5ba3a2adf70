/** One slider with its number field. */
export interface PanelControl {
  /** The name under which the setting holds its value. */
  readonly name: string;
  readonly label: string;
  readonly unit: string;
  readonly low: number;
  readonly high: number;
  readonly step: number;
  /** To start with; exact, while the page shows it to the digits that a hand can set. */
  readonly value: number;
}

/** A panel's setting: a number for every control it has. */
export type PanelSetting = Readonly<Record<string, number>>;

/** One answer of a panel: what it is, and its number in words with uncertainty and unit. */
export interface PanelReading {
  readonly name: string;
  readonly label: string;
  readonly text: string;
  /** Said beside the number: beyond the limit, beyond what was logged. */
  readonly mark?: string;
}

/** Everything a panel says of one setting. */
export interface PanelAnswer {
  readonly readings: readonly PanelReading[];
  /** The answer in a sentence: what a screen reader says once the hand rests. */
  readonly sentence: string;
  /** What to know before setting this. */
  readonly cautions: readonly string[];
  /** An SVG drawing; empty where there is nothing to draw. */
  readonly picture: string;
  /** The setting as a cell that gives the same numbers. */
  readonly code: string;
}

/** A button that changes several controls at once. */
export interface PanelJump {
  readonly label: string;
  /** The values to set for the present setting; empty where there is nothing to jump to. */
  readonly to: (setting: PanelSetting) => PanelSetting;
}

/** What a panel is made of: the same in Node, where its first answer is written down, and in the page. */
export interface PanelModel {
  readonly title: string;
  readonly controls: readonly PanelControl[];
  /** Why controls that some would look for are not there. */
  readonly missing: readonly string[];
  readonly jumps: readonly PanelJump[];
  readonly answer: (setting: PanelSetting) => PanelAnswer;
}

/** The range of a control moved inward onto the steps from its value: a page takes only values that are on them. */
export function onItsSteps(control: PanelControl): PanelControl {
  const { low, high, step } = control;
  const value = shownValue(control, control.value);
  const stepsTo = (end: number): number => Math.floor(Math.abs(end - value) / step + 1e-9) * step;
  const round = (number: number): number => Number(number.toFixed(6));
  return { ...control, low: round(value - stepsTo(low)), high: round(value + stepsTo(high)) };
}

/** A value as its control shows it: to a hundredth of its step. */
export function shownValue({ step }: Pick<PanelControl, 'step'>, value: number): number {
  const decimals = Math.max(0, 2 - Math.floor(Math.log10(step) + 1e-9));
  return Number(value.toFixed(decimals));
}

/** The setting a panel starts with. */
export function firstSetting({ controls }: PanelModel): PanelSetting {
  return Object.fromEntries(controls.map(({ name, value }) => [name, value]));
}
