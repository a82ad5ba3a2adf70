/** The right number in other clothes, and what to say to it. */
interface UsualSlip {
  /** The right number as it was written down. */
  readonly written: (right: number) => number;
  /** Only for answers in this unit; otherwise for all. */
  readonly unit?: string;
  readonly reply: string;
}

/** Slips that no question has of its own: sign, thousands, minutes, per cent, another scale of temperature. */
const USUAL_SLIPS: readonly UsualSlip[] = [
  { written: (right) => -right, reply: 'The size is right, the sign is not.' },
  {
    written: (right) => right / 1000,
    reply: 'Too small by a factor of a thousand: look at the units on the way.',
  },
  {
    written: (right) => right * 1000,
    reply: 'Too large by a factor of a thousand: look at the units on the way.',
  },
  {
    written: (right) => right / 60,
    unit: 's',
    reply: 'In minutes, probably. The question asks for seconds.',
  },
  {
    written: (right) => right / 100,
    unit: '%',
    reply: 'As a share, probably. The question asks for per cent.',
  },
  {
    written: (right) => right + 273.15,
    unit: '°C',
    reply: 'In kelvin above absolute zero, probably. The question asks for °C.',
  },
  {
    written: (right) => 1.8 * right + 32,
    unit: '°C',
    reply: 'In degrees Fahrenheit, probably. The question asks for °C.',
  },
  {
    written: (right) => right + 273.15,
    unit: 'K',
    reply:
      'That counts from absolute zero. A difference in kelvin is as large as one in °C: nothing is added.',
  },
];

/**
 * What to say to an answer that is the right number in another unit, of another size or sign.
 *
 * @param answer - what was answered
 * @param question - right number, its tolerance and its unit
 * @returns the reply, or `undefined` if the answer is none of these
 */
export function usualSlip(
  answer: number,
  question: { readonly answer: number; readonly within: number; readonly unit: string },
): string | undefined {
  const { answer: right, within } = question;
  return USUAL_SLIPS.find(({ written, unit }) => {
    if (unit !== undefined && unit !== question.unit) return false;
    const tolerance = Math.abs(written(right + within) - written(right));
    return Math.abs(answer - written(right)) <= tolerance;
  })?.reply;
}
