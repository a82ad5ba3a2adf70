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

  it('takes letters as people write them', () => {
    expect(check('rounding the cap', ' A ').verdict).toBe('right');
  });

  it('refuses what is no answer, and a question that is not there', () => {
    expect(() => check('steady temperatur', 1)).toThrow(/did you mean "steady temperature"\?/);
    expect(() => check('steady temperature', 'b')).toThrow(/a number in °C/);
    expect(() => check('steady temperature', Number.NaN)).toThrow(/a number in °C/);
    expect(() => check('rounding the cap', 'd')).toThrow(/one of "a", "b", "c"/);
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
