import { describe, expect, it } from 'vitest';
import { figureOfCycles } from '../../../toolkit/figures/figure-of-cycles.js';
import { countCycles } from '../../../toolkit/wear/count-cycles.js';

const timeS = [0, 600, 1200, 1800, 2400, 3000, 3600];
const act = (label: string, temperatureC: readonly number[]) =>
  countCycles({ label, timeS, temperatureC }, { history: 'repeating' });
const uncapped = act('default cap', [30, 88, 60, 85, 62, 84, 30]);
const capped = act('cap of 92 W', [30, 74, 52, 72, 54, 71, 30]);

describe('figureOfCycles', () => {
  it('draws one stem and one point for each range, in cycles an hour where durations are known', () => {
    const figure = figureOfCycles(uncapped);
    expect(figure.data.map(({ mode }) => mode)).toEqual(['lines', 'markers']);
    expect(figure.data[1]).toMatchObject({ x: [58, 25, 22], y: [1, 1, 1] });
    expect(figure.layout.yaxis?.title?.text).toBe('Cycles, 1/h');
    expect(figure.layout.xaxis?.title?.text).toBe('Temperature range of the cycle, K');
    expect(figure.layout.meta.title).toBe('The largest temperature cycle of default cap spans 58 K');
    expect(JSON.parse(JSON.stringify(figure))).toEqual(figure);
  });

  it('draws several with colours, shapes and names of their own', () => {
    const figure = figureOfCycles([capped, uncapped]);
    expect(figure.layout.meta.title).toBe(
      'The largest cycle spans 58 K with default cap, 44 K with cap of 92 W',
    );
    const points = figure.data.filter(({ mode }) => mode === 'markers');
    expect(new Set(points.map(({ marker }) => marker?.symbol)).size).toBe(2);
    expect(figure.layout.annotations?.map(({ text }) => text)).toEqual(['● cap of 92 W', '◆ default cap']);
    expect(figure.layout.meta.description).toContain(uncapped.summary);
  });

  it('counts plainly where a duration is not known, and on a logarithmic scale where counts differ widely', () => {
    const many = Array.from({ length: 400 }, (_, i) => (i % 2 === 0 ? 60 : 65));
    const figure = figureOfCycles(countCycles([20, ...many, 20]));
    expect(figure.layout.yaxis?.title?.text).toBe('Cycles, number');
    expect(figure.layout.yaxis?.type).toBe('log');
  });

  it.each<[string, () => unknown, string]>([
    [
      'no count',
      () => figureOfCycles([]),
      'figureOfCycles: `counts` must be one to three cycle counts (received an array of 0); make them with countCycles',
    ],
    [
      'counts without a cycle',
      () => figureOfCycles(countCycles({ label: 'still', timeS: [0, 1], temperatureC: [20, 20] })),
      'figureOfCycles: `counts` must be at least one with a cycle (received "still")',
    ],
    [
      'something else',
      () => figureOfCycles([{ kind: 'run' } as never]),
      'figureOfCycles: `counts[0]` must be a cycle-count (received "run"); make one with countCycles',
    ],
  ])('refuses %s', (_, call, message) => {
    expect(call).toThrow(message);
  });
});
