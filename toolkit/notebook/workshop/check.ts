import { ArgumentError, nearestName } from '../../errors.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import type { ChoiceQuestion, NumberQuestion } from './question.js';
import { WORKSHOP_QUESTIONS } from './questions.js';

/** The reply to an answer; shows itself as a sentence. */
export interface CheckedAnswer {
  readonly kind: 'checked-answer';
  readonly question: string;
  /** `open`: nothing was answered yet. */
  readonly verdict: 'right' | 'wrong' | 'open';
  readonly reply: string;
}

/** A known slip is recognised within this share of its number. */
const SLIP_FRACTION = 0.02;

/**
 * Checks an answer to a question of the workshop and replies: why it is right, or where to look.
 *
 * A wrong answer that many give is recognised and answered by itself; the solution is not told.
 *
 * @param question - name of the question, as the notebook gives it
 * @param answer - a number in the unit the question asks for, or the letter of a choice; leave it out for the unit
 * @throws ArgumentError if there is no such question, or the answer is of another kind than the question
 * @example
 * check('steady temperature', 68.75).verdict; // => 'right'
 * check('steady temperature', 42.75).reply; // => 'That is the rise above the air. The air has a temperature too.'
 * check('rounding the cap').verdict; // => 'open'
 */
export function check(question: string, answer?: number | string): CheckedAnswer {
  const asked = WORKSHOP_QUESTIONS[question];
  if (asked === undefined) {
    const names = Object.keys(WORKSHOP_QUESTIONS);
    const nearest = nearestName(question, names);
    throw new ArgumentError({
      caller: 'check',
      argument: 'question',
      expected: 'the name of a question of the workshop',
      received: question,
      remedy: nearest === undefined ? `the names are: ${names.join('; ')}` : `did you mean "${nearest}"?`,
    });
  }
  const reply = (verdict: CheckedAnswer['verdict'], text: string): CheckedAnswer => ({
    kind: 'checked-answer',
    question,
    verdict,
    reply: text,
  });
  if (answer === undefined)
    return reply(
      'open',
      asked.kind === 'number'
        ? `Put a number in ${asked.unit} in the place of undefined and run the cell again.`
        : `Put one of ${asked.choices.map((letter) => `"${letter}"`).join(', ')} in the place of undefined and run the cell again.`,
    );
  return asked.kind === 'number'
    ? checkNumber(asked, answer, question, reply)
    : checkChoice(asked, answer, question, reply);
}

type Reply = (verdict: CheckedAnswer['verdict'], text: string) => CheckedAnswer;

function checkNumber(
  { answer: right, within, unit, slips, hint, why }: NumberQuestion,
  answer: number | string,
  question: string,
  reply: Reply,
): CheckedAnswer {
  if (typeof answer !== 'number' || !Number.isFinite(answer))
    throw new ArgumentError({
      caller: 'check',
      argument: 'answer',
      expected: `a number in ${unit} for "${question}"`,
      received: answer,
    });
  if (Math.abs(answer - right) <= within) return reply('right', `Right. ${why}`);
  const slip = slips.find(
    (known) =>
      typeof known.answer === 'number' &&
      Math.abs(answer - known.answer) <= SLIP_FRACTION * Math.abs(known.answer),
  );
  if (slip !== undefined) return reply('wrong', slip.reply);
  const side = answer > right ? 'high' : 'low';
  return reply('wrong', `${formatNumber(answer, unit)} is too ${side}. ${hint}`);
}

function checkChoice(
  { answer: right, choices, slips, hint, why }: ChoiceQuestion,
  answer: number | string,
  question: string,
  reply: Reply,
): CheckedAnswer {
  const letter = typeof answer === 'string' ? answer.trim().toLowerCase() : answer;
  if (typeof letter !== 'string' || !choices.includes(letter))
    throw new ArgumentError({
      caller: 'check',
      argument: 'answer',
      expected: `one of ${choices.map((choice) => `"${choice}"`).join(', ')} for "${question}"`,
      received: answer,
    });
  if (letter === right) return reply('right', `Right. ${why}`);
  return reply('wrong', slips.find((known) => known.answer === letter)?.reply ?? `Not that one. ${hint}`);
}
