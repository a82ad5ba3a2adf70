/** What is said to one wrong answer that many give, and how it is known. */
export interface KnownSlip {
  /** The wrong number, or the letter chosen. */
  readonly answer: number | string;
  /** What probably happened and where to look, without the solution. */
  readonly reply: string;
}

/** A question of the workshop whose answer is a number. */
export interface NumberQuestion {
  readonly kind: 'number';
  /** The right number and how far an answer may be from it, in `unit`. */
  readonly answer: number;
  readonly within: number;
  readonly unit: string;
  readonly slips: readonly KnownSlip[];
  /** Said to an answer that is too high or too low without a known slip. */
  readonly hint: string;
  /** Said to the right answer: why it is right. */
  readonly why: string;
}

/** A question of the workshop whose answer is one of some letters. */
export interface ChoiceQuestion {
  readonly kind: 'choice';
  readonly answer: string;
  readonly choices: readonly string[];
  readonly slips: readonly KnownSlip[];
  readonly hint: string;
  readonly why: string;
}

export type WorkshopQuestion = NumberQuestion | ChoiceQuestion;
