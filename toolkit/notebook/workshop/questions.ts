import type { ChoiceQuestion, NumberQuestion, WorkshopQuestion } from './question.js';

// The coolers' numbers of the workshop are invented and round. Properties of aluminium: 903 J/(kg K) at 300 K
// [Bergman2011, table A.1].
const aluminiumJPerKgK = 903;
const baseKg = 0.3;
const powerW = 95;
const resistanceKPerW = 0.45;
const heatCapacityJPerK = 330;
const hallC = 26;
const timeConstantS = resistanceKPerW * heatCapacityJPerK;
const riseK = powerW * resistanceKPerW;
const limitC = 85;
const drawerK = 9.5;

const inOneStage = {
  'rise without loss': {
    kind: 'number',
    answer: (powerW * 10) / (baseKg * aluminiumJPerKgK),
    within: 0.1,
    unit: 'K',
    slips: [
      {
        answer: (powerW * 10) / aluminiumJPerKgK,
        reply: 'That is one kilogram. The base weighs less, so it warms more.',
      },
      {
        answer: powerW / (baseKg * aluminiumJPerKgK),
        reply: 'That is one second of it. How many joules arrive in ten?',
      },
      {
        answer: powerW * 10,
        reply: 'Those are the joules. How many joules does the base take for one kelvin?',
      },
    ],
    hint: 'Energy first: watts times seconds are joules. Then: how many joules does 0.30 kg of aluminium take for one kelvin?',
    why: '95 W for 10 s are 950 J; 0.30 kg × 903 J/(kg K) = 271 J for each kelvin; 950 / 271 = 3.5 K.',
  },
  'steady temperature': {
    kind: 'number',
    answer: hallC + riseK,
    within: 0.3,
    unit: '°C',
    slips: [
      { answer: riseK, reply: 'That is the rise above the air. The air has a temperature too.' },
      {
        answer: hallC + powerW / resistanceKPerW,
        reply: 'A resistance of 0.45 K/W means 0.45 K for each watt: multiply.',
      },
    ],
    hint: 'Each watt that flows through the resistance needs 0.45 K. Add the air in the end.',
    why: '95 W × 0.45 K/W = 42.75 K above the air of 26 °C: 68.75 °C.',
  },
  'time constant': {
    kind: 'number',
    answer: timeConstantS,
    within: 2,
    unit: 's',
    slips: [
      {
        answer: heatCapacityJPerK / resistanceKPerW,
        reply:
          'Look at the units: (K/W) times (J/K) leaves J/W, and a joule per watt is a second. Divided they leave no time.',
      },
    ],
    hint: 'Multiply the resistance by the heat capacity, and look at what the units leave.',
    why: '0.45 K/W × 330 J/K = 148.5 s, about two and a half minutes.',
  },
  'share after one time constant': {
    kind: 'number',
    answer: 100 * (1 - Math.exp(-1)),
    within: 1,
    unit: '%',
    slips: [
      {
        answer: 50,
        reply: 'Half is reached sooner, after 0.69 time constants. Read the curve at one whole one.',
      },
      { answer: 100, reply: 'Not yet: the curve is still climbing there. It comes close after about five.' },
      { answer: 100 * Math.exp(-1), reply: 'That is what is still missing.' },
    ],
    hint: 'Read it off the curve: the rise at t = 148 s as a share of the rise at the end.',
    why: '1 − 1/e = 63.2 %, whatever the cooler and the power are.',
  },
  'waiting time': {
    kind: 'number',
    answer: timeConstantS * Math.log(riseK),
    within: 12,
    unit: 's',
    slips: [
      {
        answer: timeConstantS * 5,
        reply: 'Five time constants leave 0.7 % of the rise, 0.3 K: that is more than asked.',
      },
      { answer: timeConstantS, reply: 'After one time constant 37 % of 42.75 K are missing, nearly 16 K.' },
    ],
    hint: 'What is missing shrinks by 1/e in each time constant: 42.75 K · e^(−t/τ) = 1 K. Solve for t, or read it off the curve.',
    why: 't = τ · ln(42.75) = 148.5 s × 3.76 = 558 s: more than nine minutes, and a liquid loop takes three times as long.',
  },
  'what one stage misses': {
    kind: 'choice',
    answer: 'b',
    choices: ['a', 'b', 'c'],
    slips: [
      {
        answer: 'a',
        reply:
          'Noise goes up and down around zero at random. What is left here keeps one sign for a while, then the other.',
      },
      {
        answer: 'c',
        reply:
          'The air is in the log and drifts by less than a kelvin in 25 minutes; the residuals are largest in the first seconds.',
      },
    ],
    hint: 'Look at when the residuals are large: in the first seconds, or all along?',
    why: 'The die and the contact weigh next to nothing and warm within seconds; one stage, busy with the fins, cannot follow. The wave in the residuals is that part.',
  },
} as const satisfies Record<string, WorkshopQuestion>;

const fastKPerW = 0.15;
const slowKPerW = 0.3;

const inMoreStages = {
  'sum of two stages': {
    kind: 'number',
    answer: powerW * (fastKPerW + slowKPerW),
    within: 0.3,
    unit: 'K',
    slips: [
      {
        answer: powerW * slowKPerW,
        reply: 'That is the slow stage alone. The same heat flows through both, one after the other.',
      },
      {
        answer: powerW * fastKPerW,
        reply: 'That is the fast stage alone. The same heat flows through both, one after the other.',
      },
      {
        answer: (powerW * fastKPerW * slowKPerW) / (fastKPerW + slowKPerW),
        reply: 'That would be two ways side by side. Here the heat goes through one, then through the other.',
      },
    ],
    hint: 'In the end the same 95 W flow through both resistances, one after the other.',
    why: '95 W × (0.15 + 0.30) K/W = 42.75 K: how fast the stages are does not matter in the end.',
  },
  'rise after ten seconds': {
    kind: 'number',
    answer: powerW * (fastKPerW * (1 - Math.exp(-10 / 2)) + slowKPerW * (1 - Math.exp(-10 / 150))),
    within: 0.6,
    unit: 'K',
    slips: [
      {
        answer: powerW * fastKPerW,
        reply:
          'Nearly: the fast stage has arrived, but the slow one has begun as well, with 10/150 of its way.',
      },
      {
        answer: powerW * (fastKPerW + slowKPerW) * (1 - Math.exp(-10 / 150)),
        reply: 'That lets everything be slow. The fast stage, 2 s, has arrived long before.',
      },
    ],
    hint: 'Stage by stage: after ten seconds, five of its time constants, the fast one has arrived; the slow one has made 1 − e^(−10/150) of its way.',
    why: '95 W × 0.15 K/W × 0.993 + 95 W × 0.30 K/W × 0.0645 = 14.2 K + 1.8 K = 16.0 K.',
  },
  'what a faster sensor would show': {
    kind: 'choice',
    answer: 'c',
    choices: ['a', 'b', 'c'],
    slips: [
      {
        answer: 'a',
        reply:
          'The steady temperature depends on the resistances alone; the sensor is there for all of them.',
      },
      {
        answer: 'b',
        reply: 'A fit shows no more than the log does. What is over between two samples can still be there.',
      },
    ],
    hint: 'A stage shows itself only to somebody who looks several times while it warms.',
    why: 'A stage of 0.1 s has arrived before the second sample: its resistance is seen, added to the next one, its time constant is not.',
  },
  'more stages fit better': {
    kind: 'choice',
    answer: 'b',
    choices: ['a', 'b', 'c'],
    slips: [
      {
        answer: 'a',
        reply:
          'The residuals shrink with every number that may be chosen, even where it follows nothing but noise.',
      },
      {
        answer: 'c',
        reply: 'Not always: the candidate with one stage leaves far more than noise.',
      },
    ],
    hint: 'What would happen to the residuals if the fourth stage followed nothing but the noise?',
    why: 'Every further number makes the residuals smaller. The criterion asks whether they shrink by more than noise alone would give.',
  },
} as const satisfies Record<string, WorkshopQuestion>;

const toDecision = {
  'cap by hand': {
    kind: 'number',
    answer: (limitC - hallC - drawerK) / resistanceKPerW,
    within: 0.6,
    unit: 'W',
    slips: [
      {
        answer: (limitC - hallC) / resistanceKPerW,
        reply: 'That is the open bench. In the drawer the intake air is 9.5 K warmer than the hall.',
      },
      {
        answer: limitC / resistanceKPerW,
        reply: 'The cooler does not start from 0 °C, but from the air it takes in.',
      },
      {
        answer: (limitC - hallC - drawerK) * resistanceKPerW,
        reply: 'Kelvin per watt: to get watts, divide the kelvins by it.',
      },
    ],
    hint: 'How many kelvin are left between the intake air in the drawer and the limit? Each watt takes 0.45 of them.',
    why: '(85 − 26 − 9.5) K / 0.45 K/W = 110 W: the cap at which the middle guess stands just at the limit.',
  },
  'chance at the cap by hand': {
    kind: 'choice',
    answer: 'b',
    choices: ['a', 'b', 'c'],
    slips: [
      { answer: 'a', reply: 'It would be, if hall, drawer and cooler were known exactly. They are not.' },
      { answer: 'c', reply: 'The middle guess is as often too low as too high.' },
    ],
    hint: 'The guess is in the middle of what is possible. How often is the truth on the wrong side of the middle?',
    why: 'Computed with middle values, the die exceeds the limit about every second time. A cap needs a margin, and the margin should come from what is not known, not from the thumb.',
  },
  'one more kelvin': {
    kind: 'number',
    answer: 1 / resistanceKPerW,
    within: 0.1,
    unit: 'W',
    slips: [
      { answer: resistanceKPerW, reply: 'That is what one more watt costs, in kelvin. Turn it round.' },
    ],
    hint: 'Each watt takes 0.45 K. How many watts does one kelvin carry?',
    why: '1 K / 0.45 K/W = 2.2 W. Two degrees less in the hall, or a vent in the drawer that takes 2 K, are worth 4.4 W.',
  },
  'rounding the cap': {
    kind: 'choice',
    answer: 'a',
    choices: ['a', 'b', 'c'],
    slips: [
      { answer: 'b', reply: 'Rounded to the nearest step it would break the promise half the time.' },
      { answer: 'c', reply: 'Rounded up it would always break the promise, a little.' },
    ],
    hint: 'The promise was: at or below the limit with the confidence asked for. Which steps keep it?',
    why: 'Down: every cap at or below the computed one keeps the promise, and none above it does.',
  },
  'twice as sure': {
    kind: 'choice',
    answer: 'c',
    choices: ['a', 'b', 'c'],
    slips: [
      { answer: 'a', reply: 'A better cooler moves the cap. How sure it is depends on what is known.' },
      { answer: 'b', reply: 'More of the same run shrinks the noise, which is the smallest part here.' },
    ],
    hint: 'Look at what the interval is made of: hall, drawer, cooler, noise. Which is the largest?',
    why: 'The widest of the unknown numbers is the rise in the drawer: measure it, and the cap gets surer and usually higher.',
  },
} as const satisfies Record<string, WorkshopQuestion>;

/** The questions of the workshop, by name. */
export const WORKSHOP_QUESTIONS: Readonly<Record<string, NumberQuestion | ChoiceQuestion>> = {
  ...inOneStage,
  ...inMoreStages,
  ...toDecision,
};
