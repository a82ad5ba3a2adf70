import { bindingInWords } from '../../cap/choose/binding-in-words.js';
import type { CapChoice } from '../../cap/choose/cap-choice.js';
import { objectiveInWords } from '../../cap/setting/objective.js';
import { chancePercent } from './chance-percent.js';
import { highestCapFirst } from './highest-cap-first.js';
import { scaled } from './scaled.js';
import { plusMinusNote, type Table, type TableCell } from './table.js';

/**
 * Cap choices side by side, one row per cooler, the highest cap first: cap and what is set beside it, what binds, steady
 * temperature, objective, frequency, and what the cap costs against the default; the last three only where a power
 * curve tells them.
 *
 * @param choices - what `chooseCap` returned, one per cooler
 * @returns a table
 * @example
 * const cooler = coolerFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55 },
 *   { powerW: 90, temperatureC: 71 },
 * ]);
 * const curve = curveFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55, frequencyMHz: 3100 },
 *   { powerW: 90, temperatureC: 70, frequencyMHz: 3520 },
 *   { powerW: 118, temperatureC: 84, frequencyMHz: 3810 },
 * ]);
 * const table = tableOfChoices([chooseCap(cooler, curve, { limitC: 80, ambientC: 23 })]);
 * table.columns[1]; // => { name: 'Power cap', unit: 'W' }
 */
export function tableOfChoices(choices: readonly CapChoice[]): Table {
  const sorted = highestCapFirst(choices);
  const limits = new Set(choices.map((choice) => choice.scenario.limitC));
  const defaults = new Set(
    choices.flatMap((choice) => (choice.cost === undefined ? [] : [choice.cost.defaultCapW])),
  );
  const withFrequency = choices.some((choice) => choice.frequencyMHz.kind === 'estimated');
  const withCost = choices.some((choice) => choice.cost?.lossFraction.kind === 'estimated');
  const severalLimits = limits.size > 1;
  const withBeside = choices.some((choice) => besideInWords(choice) !== '');
  const objectives = objectivesToShow(choices);
  return {
    kind: 'table',
    columns: [
      { name: 'Cooler' },
      { name: 'Power cap', unit: 'W' },
      ...(severalLimits ? [{ name: 'Limit', unit: '°C' }] : []),
      ...(withBeside ? [{ name: 'With it' }] : []),
      { name: 'What binds' },
      { name: 'Steady temperature', unit: '°C' },
      ...objectives.map(({ name, unit }) => ({ name: capital(objectiveInWords[name]), unit })),
      ...(withFrequency ? [{ name: 'Frequency', unit: 'MHz' }] : []),
      ...(withCost
        ? [
            {
              name: defaults.size === 1 ? `Loss against ${[...defaults][0]} W` : 'Loss against the default',
              unit: '%',
            },
          ]
        : []),
      { name: 'Chance of exceeding the limit', unit: '%' },
    ],
    rows: sorted.map((choice) => [
      choice.cooler,
      choice.powerCapW,
      ...(severalLimits ? [choice.scenario.limitC] : []),
      ...(withBeside ? [besideInWords(choice)] : []),
      bindingInWords[choice.bindingConstraint],
      choice.steadyTemperatureC,
      ...objectives.map(({ name }) => (choice.objective.name === name ? choice.objective.reached : null)),
      ...(withFrequency ? [choice.frequencyMHz] : []),
      ...(withCost ? [choice.cost === undefined ? null : scaled(choice.cost.lossFraction, 100)] : []),
      chanceAt(choice),
    ]),
    notes: [
      plusMinusNote,
      ...provisionalNote(sorted),
      ...(withFrequency
        ? []
        : ['The logs do not tell the frequency at these caps, nor what they cost: see the cautions.']),
    ],
  };
}

/**
 * The caps around the chosen one and the chance that each exceeds the limit.
 *
 * @param choice - what `chooseCap` returned
 * @returns a table, the lowest cap first
 * @example
 * const cooler = coolerFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55 },
 *   { powerW: 90, temperatureC: 71 },
 * ]);
 * const curve = curveFromSteadyPoints([
 *   { powerW: 60, temperatureC: 55, frequencyMHz: 3100 },
 *   { powerW: 90, temperatureC: 70, frequencyMHz: 3520 },
 *   { powerW: 118, temperatureC: 84, frequencyMHz: 3810 },
 * ]);
 * tableOfNeighbours(chooseCap(cooler, curve, { limitC: 80, ambientC: 23 })).columns.length; // => 3
 */
export function tableOfNeighbours(choice: CapChoice): Table {
  return {
    kind: 'table',
    title: `${choice.cooler}: caps around the chosen one`,
    columns: [
      { name: 'Power cap', unit: 'W' },
      { name: 'Chance of exceeding the limit', unit: '%' },
      { name: 'Chosen' },
    ],
    rows: choice.neighbours.map((row) => [
      row.powerCapW,
      chancePercent(row.chanceOfPassingLimit),
      row.powerCapW === choice.powerCapW ? 'chosen' : '',
    ]),
  };
}

/** The objectives that the frequency's own column does not show. */
function objectivesToShow(choices: readonly CapChoice[]): readonly CapChoice['objective'][] {
  const byName = new Map(
    choices
      .filter(({ objective }) => objective.name !== 'frequency' && objective.reached.kind === 'estimated')
      .map(({ objective }) => [objective.name, objective] as const),
  );
  return [...byName.values()];
}

/** Which caps should not be set as they stand; the cautions say why. */
function provisionalNote(choices: readonly CapChoice[]): readonly string[] {
  const names = choices
    .filter(({ summary }) => summary.startsWith('Provisional'))
    .map(({ cooler }) => cooler);
  return names.length === 0 ? [] : [`Provisional: ${names.join(', ')}; see the cautions.`];
}

/** What is set beside the cap, in words. */
function besideInWords({ fan, voltageOffsetMv, shortTerm }: CapChoice): string {
  return [
    ...(fan === undefined ? [] : [`${Math.round(fan.speedRpm)} rpm`]),
    ...(voltageOffsetMv === undefined ? [] : [`${voltageOffsetMv} mV`.replace('-', '−')]),
    ...(shortTerm === undefined ? [] : [`${shortTerm.powerCapW} W for ${shortTerm.windowS} s`]),
  ].join(', ');
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

function chanceAt(choice: CapChoice): TableCell {
  const row = choice.neighbours.find((neighbour) => neighbour.powerCapW === choice.powerCapW);
  return row === undefined ? null : chancePercent(row.chanceOfPassingLimit);
}
