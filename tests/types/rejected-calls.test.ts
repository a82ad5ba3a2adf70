import { describe, expect, it } from 'vitest';
import { compileTexts } from '../checks/compile-texts.js';

/** Values of the right types, so that only the call itself can be wrong. */
const PREAMBLE = [
  "import * as kpw from '../../toolkit/node.js';",
  'declare const run: kpw.Run, runs: readonly kpw.Run[], cooler: kpw.CoolerModel, curve: kpw.PowerCurve;',
  'declare const estimate: kpw.Estimate, choice: kpw.CapChoice;',
  'const timeS = [0, 1], temperatureC = [30, 31], powerW = [50, 50];',
].join(' ');

/** Calls as a person should write them. */
const ACCEPTED: readonly string[] = [
  "kpw.makeRun({ timeS, temperatureC, powerW }, { label: 'x', conditions: { powerCapW: 65 } });",
  "kpw.makeRun({ timeS: new Float64Array(2), temperatureC, powerW }, { label: 'x', powerSample: 'instant' });",
  'kpw.loadSegments(run, { idleBelowW: 20 });',
  'kpw.steadyWindow(run, { windowS: 60 });',
  "kpw.groupRuns(runs, 'cooler');",
  'kpw.fitCooler(runs);',
  'kpw.fitPowerCurve(runs);',
  'kpw.steadyTemperature(cooler, { powerW: 65, ambientC: 22 });',
  'kpw.frequencyAt(curve, { powerW: 65, temperatureC: 60 });',
  'kpw.powerAt(curve, { frequencyMHz: 3900, temperatureC: 60 });',
  'kpw.chooseCap(cooler, curve, { limitC: 85, ambientC: { low: 18, high: 26 }, enclosure: { riseK: 8 } });',
  "if (estimate.kind === 'estimated') estimate.value.toFixed(1);",
];

/** Calls that must not compile, each with what the compiler must say. */
const REJECTED: readonly (readonly [call: string, message: RegExp])[] = [
  // Another unit under the same quantity.
  ["kpw.makeRun({ timeS, temperatureC, powerMw: powerW }, { label: 'x' });", /'powerMw' does not exist/],
  [
    "kpw.makeRun({ timeS, temperatureC, powerW }, { label: 'x', conditions: { powerCapMw: 65000 } });",
    /'powerCapMw' does not exist|did you mean.*'powerCapW'/i,
  ],
  ['kpw.steadyWindow(run, { windowMs: 60000 });', /'windowMs' does not exist|did you mean.*'windowS'/i],
  [
    'kpw.steadyTemperature(cooler, { powerW: 65, ambientK: 295 });',
    /'ambientK' does not exist|did you mean.*'ambientC'/i,
  ],
  [
    'kpw.steadyTemperature(cooler, { powerMw: 65000, ambientC: 22 });',
    /'powerMw' does not exist|did you mean.*'powerW'/i,
  ],
  [
    'kpw.frequencyAt(curve, { powerW: 65, temperatureK: 333 });',
    /'temperatureK' does not exist|did you mean.*'temperatureC'/i,
  ],
  [
    'kpw.powerAt(curve, { frequencyGHz: 3.9, temperatureC: 60 });',
    /'frequencyGHz' does not exist|did you mean.*'frequencyMHz'/i,
  ],
  [
    'kpw.chooseCap(cooler, curve, { limitK: 358, ambientC: 22 });',
    /'limitK' does not exist|did you mean.*'limitC'/i,
  ],
  [
    'kpw.chooseCap(cooler, curve, { limitC: 85, ambientC: 22, enclosure: { riseC: 8 } });',
    /'riseC' does not exist|did you mean.*'riseK'/i,
  ],
  // Quantities without their names.
  ['kpw.steadyTemperature(cooler, 65, 22);', /Expected 2 arguments, but got 3/],
  [
    'kpw.chooseCap(cooler, curve, 85);',
    /Type '?.*85'? has no properties in common|not assignable to parameter of type 'CapScenario'/,
  ],
  // What is needed and missing.
  ["kpw.makeRun({ timeS, temperatureC }, { label: 'x' });", /'powerW' is missing/],
  ['kpw.makeRun({ timeS, temperatureC, powerW });', /Expected 2 arguments, but got 1/],
  ['kpw.chooseCap(cooler, curve, { ambientC: 22 });', /'limitC' is missing/],
  ['kpw.chooseCap(cooler, curve, { limitC: 85 });', /'ambientC' is missing/],
  ['kpw.frequencyAt(curve, { powerW: 65 });', /'temperatureC' is missing/],
  // Words that are none of those allowed.
  [
    "kpw.makeRun({ timeS, temperatureC, powerW }, { label: 'x', powerSample: 'mean' });",
    /'"mean"' is not assignable to type 'PowerSample/,
  ],
  [
    "kpw.chooseCap(cooler, curve, { limitC: 85, ambientC: 22, limitAppliesTo: 'max' });",
    /'"max"' is not assignable/,
  ],
  ["kpw.groupRuns(runs, 'fan');", /'"fan"' is not assignable to parameter of type 'keyof Conditions'/],
  // A model where another belongs.
  [
    'kpw.chooseCap(curve, cooler, { limitC: 85, ambientC: 22 });',
    /'PowerCurve' is not assignable to parameter of type 'CoolerModel'/,
  ],
  ['kpw.steadyWindow(runs);', /not assignable to parameter of type 'Run'/],
  // An uncertain number used before asking whether it is known.
  ['estimate.standardError;', /'standardError' does not exist/],
  ['choice.frequencyMHz.value.toFixed(0);', /possibly 'undefined'/],
  ['choice.powerCapW + choice.steadyTemperatureC;', /Operator '\+' cannot be applied/],
  // A result changed after the fact.
  ['choice.powerCapW = 100;', /'powerCapW' because it is a read-only property/],
  ['run.findings.push();', /'push' does not exist on type 'readonly Finding\[\]'/],
];

const texts = [...ACCEPTED, ...REJECTED.map(([call]) => call)].map((call) => `${PREAMBLE}\n${call}`);
const compiled = compileTexts(texts);

describe('what a person should write compiles:', () => {
  ACCEPTED.forEach((call, index) => {
    it(call, () => {
      expect(compiled[index]).toEqual([]);
    });
  });
});

describe('what must not be written does not compile:', () => {
  REJECTED.forEach(([call, message], index) => {
    it(call, () => {
      const problems = compiled[ACCEPTED.length + index];
      expect(problems.map(({ line }) => line)).toEqual([2]);
      expect(problems[0].message).toMatch(message);
    });
  });
});
