import { describe, expect, it } from 'vitest';
import { check } from '../../../../toolkit/notebook/workshop/check.js';
import { WORKSHOP_QUESTIONS } from '../../../../toolkit/notebook/workshop/questions.js';

const questions = Object.entries(WORKSHOP_QUESTIONS);

describe('a question of the workshop', () => {
  it.each(questions)(
    '"%s": the right answer is told why, slips are told what they are, none gets the solution',
    (name, question) => {
      expect(check(name).verdict).toBe('open');
      expect(check(name, question.answer)).toMatchObject({
        verdict: 'right',
        reply: `Right. ${question.why}`,
      });
      for (const slip of question.slips) {
        expect(check(name, slip.answer)).toMatchObject({ verdict: 'wrong', reply: slip.reply });
        expect(slip.reply).not.toContain(question.why);
      }
    },
  );

  it.each(questions.filter(([, { kind }]) => kind === 'number'))(
    '"%s": no slip lies within what counts as right',
    (_, question) => {
      if (question.kind !== 'number') throw new Error('not a number');
      for (const { answer } of question.slips)
        expect(Math.abs(Number(answer) - question.answer)).toBeGreaterThan(question.within);
    },
  );

  it('says on which side another wrong number lies, and where to look', () => {
    expect(check('steady temperature', 90).reply).toMatch(/^90 °C is too high\. Each watt/);
    expect(check('steady temperature', 60).reply).toMatch(/^60 °C is too low\. /);
  });

  it.each([
    ['time constant', 148.5 / 60, /minutes/],
    ['waiting time', 557.6 / 60, /minutes/],
    ['share after one time constant', 0.632, /per cent/],
    ['steady temperature', 341.9, /above absolute zero/],
    ['steady temperature', 155.75, /Fahrenheit/],
    ['sum of two stages', 42.75 + 273.15, /difference in kelvin/],
    ['cap by hand', -110, /sign/],
    ['cap by hand', 0.11, /small by a factor of a thousand/],
    ['cap by hand', 110_000, /large by a factor of a thousand/],
  ])('"%s": %d is told what it is', (name, answer, reply) => {
    expect(check(name, answer)).toMatchObject({ verdict: 'wrong', reply: expect.stringMatching(reply) });
  });

  it('takes letters as people write them', () => {
    for (const letter of [' A ', '(a)', 'a)', 'A.'])
      expect(check('rounding the cap', letter).verdict).toBe('right');
  });

  it('tells what is no answer how to be one', () => {
    expect(check('steady temperature', '68.75 °C')).toMatchObject({
      verdict: 'open',
      reply:
        '"68.75 °C" is a text. Write a number in °C, or a calculation, without quotes and without the unit.',
    });
    expect(check('steady temperature', Number.NaN)).toMatchObject({
      verdict: 'open',
      reply: expect.stringMatching(/^This calculation gives no number \(NaN\)\./),
    });
    expect(check('rise without loss', 1 / 0).reply).toMatch(/divided by 0/);
    expect(check('rise without loss', 3, 5).reply).toBe(
      'A comma parts two answers here. Write one, with a decimal point: 3.5.',
    );
    for (const answer of ['d', 'ab', '', 1])
      expect(check('rounding the cap', answer)).toMatchObject({
        verdict: 'open',
        reply: 'Write one letter, in quotes: "a", "b", "c".',
      });
    expect(check('rounding the cap', 'a', 'b').reply).toBe('A comma parts two answers here. Write one.');
  });

  it('refuses a question that is not there', () => {
    expect(() => check('steady temperatur', 1)).toThrow(/did you mean "steady temperature"\?/);
  });
});

describe('the solutions', () => {
  // By hand, from the numbers in the texts of the questions.
  it.each([
    ['rise without loss', 3.507],
    ['steady temperature', 68.75],
    ['time constant', 148.5],
    ['share after one time constant', 63.21],
    ['waiting time', 557.6],
    ['sum of two stages', 42.75],
    ['rise after ten seconds', 15.99],
    ['cap by hand', 110],
    ['one more kelvin', 2.222],
  ])('%s is %d', (name, byHand) => {
    const question = WORKSHOP_QUESTIONS[name];
    if (question?.kind !== 'number') throw new Error('not a number');
    expect(question.answer).toBeCloseTo(byHand, byHand > 100 ? 0 : 2);
  });
});
