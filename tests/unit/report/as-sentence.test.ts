import { expect, it } from 'vitest';
import { asSentence } from '../../../toolkit/report/as-sentence.js';

it.each([
  ['log a longer run', 'Log a longer run.'],
  ['log on; or wait until the room has settled.', 'Log on; or wait until the room has settled.'],
  ['did you mean powerCapW?', 'Did you mean powerCapW?'],
  ['powerCapW is the cap; give it', 'powerCapW is the cap; give it.'],
  ["units: { power: 'mW' }", "units: { power: 'mW' }."],
])('the remedy "%s" reads "%s" where it stands alone', (remedy, sentence) => {
  expect(asSentence(remedy)).toBe(sentence);
});
