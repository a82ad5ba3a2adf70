import { ArgumentError, nearestName } from '../../errors.js';
import { formatNumber } from '../../numerics/format-estimate.js';
import type { ChoiceQuestion, NumberQuestion } from './question.js';
import { WORKSHOP_QUESTIONS } from './questions.js';
import { usualSlip } from './usual-slips.js';

/** The reply to an answer; shows itself as a sentence. */
export interface CheckedAnswer {
  readonly kind: 'checked-answer';
  readonly question: string;
  /** `open`: there is no answer yet, or what was written is none. */
  readonly verdict: 'right' | 'wrong' | 'open';
  readonly reply: string;
}

/** A known slip is recognised within this share of its number. */
const SLIP_FRACTION = 0.02;

/**
 * Checks an answer to a question of the workshop and replies: why it is right, or where to look.
 *
 * A wrong answer that many give is recognised and answered by itself, and so is the right number of another sign, size or
 * unit; the solution is not told. What is no answer at all (a text, no finite number, a decimal comma) is told how to be one.
 *
 * @param question - name of the question, as the notebook gives it
 * @param answer - a number in the unit the question asks for, or the letter of a choice; leave it out for the unit
 * @param more - what follows a decimal comma; nothing else
 * @throws ArgumentError if there is no such question
 * @example
 * check('steady temperature', 68.75).verdict; // => 'right'
 * check('steady temperature', 42.75).reply; // => 'That is the rise above the air. The air has a temperature too.'
 * check('steady temperature', 68750).reply; // => 'Too large by a factor of a thousand: look at the units on the way.'
 * check('rounding the cap').verdict; // => 'open'
 */
export function check(
  question: string,
  answer?: number | string,
  ...more: readonly (number | string)[]
): CheckedAnswer {
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
        : `Put one of ${asked.choices.map((letter) => `"${letter}"`).join(', ')}, with its quotes, in the place of undefined and run the cell again.`,
    );
  if (more.length > 0)
    return reply(
      'open',
      `A comma parts two answers here. Write one${asked.kind === 'number' ? `, with a decimal point: ${answer}.${more[0]}` : ''}.`,
    );
  return asked.kind === 'number' ? checkNumber(asked, answer, reply) : checkChoice(asked, answer, reply);
}

type Reply = (verdict: CheckedAnswer['verdict'], text: string) => CheckedAnswer;

function checkNumber(asked: NumberQuestion, answer: number | string, reply: Reply): CheckedAnswer {
  const { answer: right, within, unit, slips, hint, why } = asked;
  if (typeof answer === 'string')
    return reply(
      'open',
      `"${answer}" is a text. Write a number in ${unit}, or a calculation, without quotes and without the unit.`,
    );
  if (!Number.isFinite(answer))
    return reply(
      'open',
      `This calculation gives no number (${answer}). Is something divided by 0, or a value missing? Write a number in ${unit}.`,
    );
  if (Math.abs(answer - right) <= within) return reply('right', `Right. ${why}`);
  const slip = slips.find(
    (known) =>
      typeof known.answer === 'number' &&
      Math.abs(answer - known.answer) <= SLIP_FRACTION * Math.abs(known.answer),
  );
  const said = slip?.reply ?? usualSlip(answer, asked);
  if (said !== undefined) return reply('wrong', said);
  const side = answer > right ? 'high' : 'low';
  return reply('wrong', `${formatNumber(answer, unit)} is too ${side}. ${hint}`);
}

function checkChoice(asked: ChoiceQuestion, answer: number | string, reply: Reply): CheckedAnswer {
  const { answer: right, choices, slips, hint, why } = asked;
  // People write "B", "(b)" or "b)".
  const letter = String(answer)
    .toLowerCase()
    .replace(/[^a-z]/g, '');
  if (!choices.includes(letter))
    return reply(
      'open',
      `Write one letter, in quotes: ${choices.map((choice) => `"${choice}"`).join(', ')}.`,
    );
  if (letter === right) return reply('right', `Right. ${why}`);
  return reply('wrong', slips.find((known) => known.answer === letter)?.reply ?? `Not that one. ${hint}`);
}
