import fc from 'fast-check';
import { expect, it } from 'vitest';
import { exactJson } from '../../toolkit/report/models/exact-json.js';
import { loadModel } from '../../toolkit/report/models/load-model.js';
import { saveModel } from '../../toolkit/report/models/save-model.js';
import { coolerModel } from '../unit/figures/puppet-theatre.js';

const finite = fc.double({ noNaN: true, noDefaultInfinity: true });
const positive = fc.double({ min: Number.MIN_VALUE, max: 1e300, noNaN: true });
const anyText = fc.string({ unit: 'binary' });

const estimate = fc.oneof(
  fc.record({
    kind: fc.constant('estimated' as const),
    value: finite,
    standardError: fc.double({ min: 0, max: 1e300, noNaN: true }),
    interval95: fc.tuple(finite, finite).map(([a, b]) => [Math.min(a, b), Math.max(a, b)] as const),
  }),
  fc.record({
    kind: fc.constant('unavailable' as const),
    reason: fc.constantFrom('fixed' as const, 'at-bound' as const, 'not-identifiable' as const),
  }),
);

it('every cooler model comes back from its file to the last bit', () => {
  const model = fc
    .record({
      label: anyText,
      cooler: anyText,
      thermalResistanceKPerW: estimate,
      stages: fc.array(fc.record({ timeConstantS: estimate, resistanceKPerW: estimate }), { maxLength: 4 }),
      ladder: fc.array(fc.record({ heatCapacityJPerK: positive, resistanceKPerW: positive }), {
        maxLength: 4,
      }),
      covariance: fc.integer({ min: 0, max: 4 }).chain((size) =>
        fc.record({
          parameters: fc.array(anyText, { minLength: size, maxLength: size }),
          matrix: fc.array(fc.array(finite, { minLength: size, maxLength: size }), {
            minLength: size,
            maxLength: size,
          }),
        }),
      ),
    })
    .map((parts) => ({ ...coolerModel(), ...parts }));
  fc.assert(
    fc.property(model, (original) => {
      // toEqual tells −0 from 0 and compares doubles bit by bit.
      expect(loadModel(saveModel(original))).toEqual(original);
    }),
    { seed: 42, numRuns: 150 },
  );
});

it('any plain data comes back from exact JSON', () => {
  const data = fc.jsonValue({ depthSize: 'small', noUnicodeString: false });
  fc.assert(
    fc.property(data, (original) => {
      const text = exactJson(original, { caller: 'test', argument: 'value' });
      expect(JSON.parse(text)).toEqual(original);
    }),
    { seed: 43, numRuns: 300 },
  );
});
