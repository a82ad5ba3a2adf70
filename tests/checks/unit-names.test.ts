import { describe, expect, it } from 'vitest';
import { typeScriptFiles } from './repository.js';
import { mismatchedSuffixes, numericFields, suffixOf } from './unit-names.js';

/** Files whose fields carry no unit of ours, and why. */
const FILES_WITHOUT_UNITS: Readonly<Record<string, string>> = {
  'toolkit/numerics/': 'computes in whatever unit the caller has',
  'toolkit/figures/figure.ts': 'the names of Plotly’s figure format',
  'toolkit/runs/conditions-schema.ts': 'the names of JSON Schema',
  'toolkit/report/tables/frame.ts': 'the names of a data frame',
};

/** Public numeric fields without a unit in their name, each with the reason; reviewed one by one. */
const PLAIN_NUMBERS: Readonly<Record<string, string>> = {
  adjustedPValue: 'probability',
  aicc: 'corrected Akaike criterion, a plain number',
  chanceOfPassingLimit: 'probability',
  clock: 'header or position in the log, from 0',
  column: 'position in the log, 1-based',
  columns: 'headers or positions in the log, from 0',
  confidence: 'probability',
  correlation: 'between −1 and 1',
  count: 'number of things',
  date: 'header or position in the log, from 0',
  degreesOfFreedom: 'plain number',
  exponentStandardError: 'of an exponent',
  high: 'bound in the unit of the field that holds it',
  likely: 'in the unit of the field that holds it',
  line: 'position in the log, 1-based',
  lineNumbers: 'positions in the log, 1-based',
  lines: 'positions in the log, 1-based',
  low: 'bound in the unit of the field that holds it',
  matrix: 'covariance in the units of the parameters named beside it',
  mean: 'in the unit of the field that holds it',
  mountFactor: 'ratio of resistances',
  objective: 'in the unit of the objective, named beside it',
  places: 'positions in a ranking, 1-based',
  powerShares: 'shares of the power',
  pValue: 'probability',
  reached: 'in the unit of the objective, named beside it',
  rows: 'cells of a table, units in its head',
  samplesPerIndependentSample: 'ratio of counts',
  seed: 'of random numbers',
  standardDeviation: 'in the unit of the field that holds it',
  weight: 'Akaike weight, a share',
};

const isReviewed = (field: string): boolean => field in PLAIN_NUMBERS || field.endsWith('Index');

describe('names of public numbers', () => {
  const fields = numericFields().filter(
    ({ path }) => !Object.keys(FILES_WITHOUT_UNITS).some((start) => path.startsWith(start)),
  );

  it('carry their unit, Count, Fraction or Ratio, or stand in the reviewed list', () => {
    expect(fields.length).toBeGreaterThan(100);
    const bare = fields.filter(({ field }) => suffixOf(field) === undefined && !isReviewed(field));
    expect(
      bare.map(
        ({ name, path, line }) =>
          `${path}:${line} ${name} has no unit in its name; take one of toolkit/units/suffixes.ts, or have it reviewed here`,
      ),
    ).toEqual([]);
  });

  it('need every entry of the reviewed list', () => {
    const used = new Set(fields.map(({ field }) => field));
    expect(Object.keys(PLAIN_NUMBERS).filter((field) => !used.has(field))).toEqual([]);
  });
});

describe('units in assignments', () => {
  it('agree wherever one name is given to another', () => {
    const files = typeScriptFiles('toolkit', 'tests', 'datasets-demo');
    expect(files.flatMap(mismatchedSuffixes)).toEqual([]);
  });
});

describe('the check of units', () => {
  it.each([
    ['powerCapW', 'W'],
    ['thermalResistanceKPerW', 'KPerW'],
    ['heatCapacityJPerK', 'JPerK'],
    ['frequencyPerPowerMHzPerW', 'MHzPerW'],
    ['throughputPerS', 'PerS'],
    ['timeS', 'S'],
    ['drawCount', 'Count'],
    ['gain2K', 'K'],
    ['NaN', undefined],
    ['URL', undefined],
    ['label', undefined],
    ['powerCapMw', undefined],
    ['W', undefined],
  ])('reads the suffix of %s as %s', (name, suffix) => {
    expect(suffixOf(name)).toBe(suffix);
  });

  // Assembled, so that this file does not hold what it forbids.
  const assignment = (to: string, from: string) => [
    `const a = { ${to}: ${from} };`,
    `const ${to} = b.${from};`,
    `c.${to} = ${from}!;`,
    `const { ${from}: ${to} } = d;`,
    `const { ${to} = ${from} } = d;`,
    `${to} += e.${from}[0];`,
  ];

  it.each(assignment('powerW', 'energyJ'))('flags %s', (text) => {
    expect(mismatchedSuffixes({ path: 'x.ts', text: `\n${text}` })).toEqual([
      'x.ts:2 powerW takes energyJ: power, W, from energy, J',
    ]);
  });

  it.each([
    ...assignment('powerW', 'capW'),
    'const timeS = delayMs / 1000;',
    'temperatureC += jumpK;',
    'const a = { powerW: readPowerW(energyJ) };',
    'const a = { powerW: watts };',
  ])('lets %s pass', (text) => {
    expect(mismatchedSuffixes({ path: 'x.ts', text })).toEqual([]);
  });
});
